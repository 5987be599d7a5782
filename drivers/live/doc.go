// Package live is the bench that keeps real time: it paces whoever drives the
// lines by the clock on the wall, and takes the motor current from a real meter.
//
// Time is counted from the opening of the bench by a Clock, which the meter shares,
// so that a reading's stamp and an edge's are on one scale. Where the lines are
// those of the virtual bench, its simulated samples can be spoken on a wire as a
// meter would speak them: then a real meter driver, a real port and real bytes are
// tried without a gate controller.
package live
