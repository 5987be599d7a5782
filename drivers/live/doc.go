// Package live is the bench that keeps real time.
//
// It joins two halves: lines, which somebody drives and who says when, and a
// current meter on a port of its own. The lines come as a rig.Bench that is only
// ever asked about instants that have come, so that it need not wait: the virtual
// bench, whose simulated time then keeps step with the clock, or the lines of a
// real one. A goroutine asks it every millisecond, whether or not anybody looks, as
// the world does not stand still between two trials either. Safe and Plan reach
// it at once.
//
// For a rehearsal Speak takes the samples of the simulated motor and puts them on
// a wire, and the meter reads them off it. A sample then leaves up to a millisecond
// later than the simulated meter delivered it: the stated latency of the meter
// has to allow for the simulated one's, that millisecond and the wire, and where it
// is asked for each reading also for its interval. One that leaves later than that
// allows is a trouble.
//
// All edges keep the spans that the lines gave them. The bench needs a few
// milliseconds of lead, for the conductor's own thinking.
package live
