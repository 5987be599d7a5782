package rig

import (
	"time"

	"pintle/rig/signal"
)

// A Bench drives lines into the controller under test and sees what it does.
// All instants count from the bench's opening. A Bench is used by one goroutine.
type Bench interface {
	// Plan replaces everything still to come on one line. The edges rise in time;
	// the bench copies them. An edge that is due already, or that falls inside the
	// bench's lead, happens as soon as the bench can make it happen, and is
	// reported when it really did. An edge to the level that the line has by then
	// is dropped silently.
	Plan(line signal.Line, future []signal.Edge) error

	// Next gives the next thing that the bench saw, or Reached once everything
	// up to the given instant has been given: no observation that comes later
	// will be of an edge before it. Observations of one kind come in the order
	// of time. A sample comes when the meter delivers it, so its stretch lies in
	// the past, within the latency that the bench's Facts state.
	Next(until signal.Instant) (Observation, error)

	// Now is the present instant.
	Now() signal.Instant

	// Safe takes the controller's supply off, releases all lines, and forgets
	// every plan. It may be called at any time, more than once.
	Safe() error

	// Close makes the bench safe and lets go of it.
	Close() error
}

// Can finds what a bench can do beside its verbs: in itself or, where it has a method
// Unwrap, in the bench that it is wrapped around.
func Can[T any](b Bench) (able T, ok bool) {
	for {
		if able, ok = b.(T); ok {
			return able, true
		}
		w, wraps := b.(interface{ Unwrap() Bench })
		if !wraps {
			return able, false
		}
		b = w.Unwrap()
	}
}

// A Reseeder is a bench that can begin anew, as if just opened.
type Reseeder interface{ Reset(seed uint64) }

// A Forgetter is a bench that goes on between two trials. Forget says that a trial
// begins: what was seen up to now, and what went wrong by the way, is given no more. What
// still ails the bench is told again, and lines that are sensed as made come as if they
// had been sensed now.
type Forgetter interface{ Forget() }

// A Mirror is a bench that reads the pins of the lines that it drives. Pins gives those
// that are made as the pins have it now, whatever they were told: something may hold one.
type Mirror interface {
	Pins() (made signal.LineSet, err error)
}

// A Sleeper is a bench that emits edges by sleeping until they are due. Woke gives by how
// much later than it asked to the machine woke it, each time since it was last asked.
type Sleeper interface{ Woke() []time.Duration }

// A Halter is a bench that can be made safe from outside of the goroutine that uses it,
// also while that one hangs in it.
type Halter interface{ Halt() error }

// Facts are what a bench says of itself before it is used.
type Facts struct {
	Name    string
	Virtual bool // time is simulated and trials may run side by side
	// Simulated says that the controller is: whatever comes of it says nothing of any
	// hardware, even where time and the meter are real.
	Simulated bool
	Lines     signal.LineSet // the lines that are wired
	Lead      time.Duration  // how far ahead an edge must be planned to be on time
	Late      time.Duration  // an edge emitted later than planned by more than this is a fault of the bench
	Meter     MeterFacts
}

// MeterFacts describe the current meter.
type MeterFacts struct {
	Name       string
	Says       string         // what it says that it is; empty where its protocol has no word for that
	Interval   time.Duration  // between one sample and the next
	Steady     bool           // the interval is exact, so that samples can be counted
	Window     time.Duration  // over which one sample is averaged
	Least      time.Duration  // shortest latency from the end of the window to the bench
	Most       time.Duration  // longest latency
	Resolution signal.Current // one step of the reading
	Noise      signal.Current // standard deviation of a reading
	Range      signal.Current // largest magnitude that can be read
}

// ObservationKind says what an Observation is of.
type ObservationKind uint8

const (
	Reached ObservationKind = 1 // the instant asked for has come; Span is that instant
	Sampled ObservationKind = 2 // Sample
	Emitted ObservationKind = 3 // an edge that the bench made: Line, Level, Span
	Sensed  ObservationKind = 4 // an edge that the bench saw: Line, Level, Span
	Trouble ObservationKind = 5 // something is wrong with the bench: Trouble, Span
)

// An Observation is one thing that a bench saw.
type Observation struct {
	Kind    ObservationKind
	Line    signal.Line
	Level   signal.Level
	Span    signal.Span
	Planned signal.Instant // of Emitted: when it was meant to happen
	Sample  signal.Sample
	Trouble *BenchTrouble
}

// A BenchTrouble is a fault of the bench itself. It makes a trial void.
type BenchTrouble struct {
	Code string // a short name that does not change, such as "meter-silent"
	Text string // what happened, to what, and what to do
}

// Error makes a trouble an error.
func (t *BenchTrouble) Error() string { return t.Text }
