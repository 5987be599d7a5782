package virtual

import "pintle/rig/signal"

// A Controller is what is put to the test on a virtual bench: the built-in model,
// or a firmware simulator. Its pins go by the names of the lines that they are
// wired to: what the bench drives is its inputs, drive-open and drive-close are
// its outputs. It lives in the bench's time and never looks beyond what it was
// told to run to.
type Controller interface {
	// Reset makes it as new: without supply, every input broken, nothing planned.
	// The shunt is its view of the motor's current from now on.
	Reset(seed uint64, shunt Shunt)

	// Plan says what an input does from now on: its present level, and its whole
	// future in place of what was said before. Now is no earlier than the instant
	// that was run to, and no edge is earlier than now. The edges are the bench's
	// own and stay as they are until the input is planned again. The supply is an
	// input.
	Plan(input signal.Line, now signal.Instant, future signal.Timeline)

	// Run goes on until the given instant, that instant included, or until an
	// output changes, whichever comes first, and says which it was and when. It
	// may be asked for an instant that it has reached already. How often it is
	// stopped on the way must not show in what it does.
	Run(until signal.Instant) (at signal.Instant, changed bool)

	// Output is the state of an output at the instant that was run to.
	Output(line signal.Line) PinState
}

// A Shunt shows the motor's current to the controller.
type Shunt interface {
	// Current at an instant, which never goes back and is not beyond the one that
	// the controller was told to run to.
	Current(at signal.Instant) signal.Current
}

// PinState is what a pin does.
type PinState uint8

// A pin without power does nothing.
const (
	HighZ PinState = 0
	Low   PinState = 1
	High  PinState = 2
)

// String is the word for reports.
func (s PinState) String() string {
	switch s {
	case HighZ:
		return "high impedance"
	case Low:
		return "low"
	case High:
		return "high"
	}
	return "unknown pin state"
}
