package motion

import (
	"fmt"
	"time"

	"pintle/rig/signal"
)

// State is what the motor does.
type State uint8

// The zero State is not a claim that the motor stands still.
const (
	Unknown State = 0
	Stopped State = 1
	Opening State = 2
	Closing State = 3
)

// String is the word used in files and reports.
func (s State) String() string {
	switch s {
	case Unknown:
		return "unknown"
	case Stopped:
		return "stopped"
	case Opening:
		return "opening"
	case Closing:
		return "closing"
	}
	return fmt.Sprintf("motor state %d", uint8(s))
}

// Moving says whether the motor runs either way.
func (s State) Moving() bool { return s == Opening || s == Closing }

// A Change is the motor's going over from one state to another.
type Change struct {
	Was, Is State
	Span    signal.Span

	// Before is the last reading but one of the old state, After the one by which
	// the new state was settled: neither is of a window in which the current was
	// going over. Levels says that there were such readings.
	Before, After signal.Current
	Levels        bool

	// Readings is how many readings after the last of the old state the one came
	// that ends the span: 1 where no reading lay between.
	Readings int
}

// Thresholds say when a current counts as a moving motor.
type Thresholds struct {
	Runs   signal.Current // at or above this magnitude a standing motor has started
	Stops  signal.Current // below this magnitude a moving motor has stopped; not above Runs
	Settle time.Duration  // how long a change must last before it counts
}
