package hands

import (
	"errors"
	"fmt"
	"time"

	"pintle/drivers/meter"
	"pintle/drivers/pi/lines"
	"pintle/rig/signal"
)

// A Wire is a line of the bench on a pin.
type Wire struct {
	Line      signal.Line
	Offset    uint32 // on the chip
	ActiveLow bool   // the low voltage closes the contact
	OpenDrain bool
	Rest      bool // the contact is closed at rest: normally closed
	Bias      lines.Bias
}

// A Guard is what the hands allow, whatever is asked of them.
type Guard struct {
	MostCurrent  signal.Current
	Runs, Stops  signal.Current // when the motor counts as driven, and as at rest
	LongestDrive time.Duration
	MeterSilence time.Duration
	Conductor    time.Duration // longest silence of the conductor while the supply is on; 0: 500 ms
}

// A Config is all that the hands are started with.
type Config struct {
	Chip    string // device file of the GPIO chip; empty: the first with one of Labels
	Labels  []string
	Outputs []Wire
	Inputs  []Wire
	Meter   *meter.Config // nil: there is none
	Guard   Guard
	Beat    time.Duration // half a period of the heartbeat; 0: UsualBeat
	Hang    time.Duration // hands that have done nothing for so long are killed; 0: 200 ms
	Spin    time.Duration // how long before an edge the hands stop sleeping; 0: 150 µs
}

// UsualBeat is half a period of the heartbeat. It is fast enough for a dead-man circuit
// that lets go within some tens of milliseconds.
const UsualBeat = 5 * time.Millisecond

// The usual figures. The spin covers what a real-time thread was seen to wake late by
// on a machine under load.
const (
	usualSpin      = 150 * time.Microsecond
	usualHang      = 200 * time.Millisecond // two hundred turns
	usualConductor = 500 * time.Millisecond
)

func (c Config) filled() Config {
	if c.Beat == 0 {
		c.Beat = UsualBeat
	}
	if c.Spin == 0 {
		c.Spin = usualSpin
	}
	if c.Hang == 0 {
		c.Hang = usualHang
	}
	if c.Guard.Conductor == 0 {
		c.Guard.Conductor = usualConductor
	}
	return c
}

// Check collects all that is wrong with the configuration.
func (c Config) Check() error {
	var errs []error
	used := map[uint32]signal.Line{}
	seen := map[signal.Line]bool{}
	for _, w := range append(append([]Wire(nil), c.Outputs...), c.Inputs...) {
		if w.Line == signal.NoLine || w.Line >= signal.LineCount {
			errs = append(errs, fmt.Errorf("there is no %v", w.Line))
		}
		if other, taken := used[w.Offset]; taken {
			errs = append(errs, fmt.Errorf("%v and %v are both on GPIO%d", other, w.Line, w.Offset))
		}
		if seen[w.Line] {
			errs = append(errs, fmt.Errorf("%v is wired twice", w.Line))
		}
		used[w.Offset], seen[w.Line] = w.Line, true
	}
	for _, w := range c.Outputs {
		if !w.Line.Info().Driven {
			errs = append(errs, fmt.Errorf("%v is seen by the bench, not driven", w.Line))
		}
	}
	for _, w := range c.Inputs {
		if w.Line.Info().Driven {
			errs = append(errs, fmt.Errorf("%v is driven by the bench, not seen", w.Line))
		}
	}
	if !seen[signal.Supply] {
		errs = append(errs, errors.New("the supply is not wired: nothing could be made safe"))
	}
	if c.Chip == "" && len(c.Labels) == 0 {
		errs = append(errs, errors.New("no GPIO chip is named"))
	}
	return errors.Join(errs...)
}

// logical is the pin's logical level for a level of the line: true closes the contact.
func (w Wire) logical(l signal.Level) bool { return (l == signal.Made) != w.Rest }

// A Trip is why the guard took the supply off. Zero: it did not.
type Trip uint32

const (
	NoTrip          Trip = 0
	TooMuchCurrent  Trip = 1
	TooLongDrive    Trip = 2
	MeterSilent     Trip = 3
	ConductorSilent Trip = 4
	MeterGone       Trip = 5
	LinesFailed     Trip = 6
)

// A Notice is what the hands say in words: one line of JSON each.
type Notice struct {
	Ready    bool     `json:"ready,omitempty"`
	Identity string   `json:"identity,omitempty"` // of the meter
	Says     string   `json:"says,omitempty"`     // the meter itself, of what it is
	Lost     []string `json:"lost,omitempty"`     // what was refused, and what that costs
	Chip     string   `json:"chip,omitempty"`
	Code     string   `json:"code,omitempty"` // of a trouble
	Text     string   `json:"text,omitempty"`
	Error    string   `json:"error,omitempty"` // why the hands cannot work
	Gone     bool     `json:"gone,omitempty"`  // the meter is
	At       int64    `json:"at,omitempty"`    // of a trouble: when it began, on CLOCK_MONOTONIC
}
