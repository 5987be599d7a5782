package rig

import (
	"fmt"
	"time"

	"pintle/rig/signal"
)

// A guarded bench watches the bench it wraps and makes it safe when something is
// beyond the guard's limits. It knows nothing of scenarios, so none can get
// round it. Once tripped it stays so: every later call gives the same trouble.
type guarded struct {
	Bench
	guard  Guard
	runs   signal.Current // from here on the motor counts as driven
	stops  signal.Current // below this it is at rest
	since  signal.Instant // start of the present drive; Never: at rest
	heard  signal.Instant // when the meter last spoke
	stop   *BenchTrouble
	atStop signal.Instant
}

// Guarded puts the job's guard on a bench.
func Guarded(b Bench, job *Job) Bench {
	return &guarded{Bench: b, guard: job.Guard, runs: job.Motion.Runs, stops: job.Motion.Stops,
		since: signal.Never, heard: b.Now()}
}

// Plan passes a plan on, unless the guard has tripped.
func (g *guarded) Plan(l signal.Line, future []signal.Edge) error {
	if g.stop != nil {
		return nil
	}
	return g.Bench.Plan(l, future)
}

// Next passes on what the bench saw, or says that the guard has tripped.
func (g *guarded) Next(until signal.Instant) (Observation, error) {
	if g.stop != nil {
		return g.trouble(), nil
	}
	o, err := g.Bench.Next(until)
	if err != nil {
		return o, err
	}
	switch o.Kind {
	case Sampled:
		if t := g.sample(o.Sample); t != nil {
			return g.trip(t)
		}
	case Reached, Emitted:
		if silent := o.Span.Early.Sub(g.heard); silent > g.silence() {
			return g.trip(&BenchTrouble{"meter-silent", fmt.Sprintf(
				"the current meter has been silent for %v, longer than the guard's %v: check its lead and its supply", silent, g.silence())})
		}
	}
	return o, nil
}

// silence is the longest silence allowed. A guard without a figure is not one
// without a limit: a run must not wait for ever for a meter that is not there.
func (g *guarded) silence() time.Duration {
	if g.guard.MeterSilence <= 0 {
		return 2 * time.Second
	}
	return g.guard.MeterSilence
}

func (g *guarded) sample(s signal.Sample) *BenchTrouble {
	size := s.Current.Abs()
	g.heard = s.To
	if g.guard.MostCurrent > 0 && size >= g.guard.MostCurrent {
		return &BenchTrouble{GuardCurrent, fmt.Sprintf(
			"the bench's guard took the supply off: %v at %v, and the guard allows less than %v", s.Current, s.To, g.guard.MostCurrent)}
	}
	switch {
	case size < g.stops:
		g.since = signal.Never
	case size >= g.runs && g.since == signal.Never:
		g.since = s.From
	}
	if g.since != signal.Never && g.guard.LongestDrive > 0 && s.To.Sub(g.since) > g.guard.LongestDrive {
		return &BenchTrouble{GuardDrive, fmt.Sprintf(
			"the bench's guard took the supply off: the motor had run for %v without a pause, and the guard allows %v", s.To.Sub(g.since), g.guard.LongestDrive)}
	}
	return nil
}

// The guard's troubles of the controller's own making: what the rules found
// before them still counts.
const (
	GuardCurrent = "guard-current"
	GuardDrive   = "guard-drive"
)

func (g *guarded) trip(t *BenchTrouble) (Observation, error) {
	g.stop, g.atStop = t, g.Bench.Now()
	if err := g.Bench.Safe(); err != nil {
		return Observation{}, fmt.Errorf("make the bench safe after the guard tripped: %w", err)
	}
	return g.trouble(), nil
}

func (g *guarded) trouble() Observation {
	return Observation{Kind: Trouble, Span: signal.At(g.atStop), Trouble: g.stop}
}
