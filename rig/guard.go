package rig

import (
	"fmt"
	"time"

	"pintle/rig/signal"
	"pintle/rig/wording"
)

// A guarding watches what a bench sees, whatever is performed on it, and says when
// something is beyond the guard's limits. It knows nothing of scenarios, so none
// can get round it.
type guarding struct {
	guard Guard
	runs  signal.Current // from here on the motor counts as driven
	stops signal.Current // below this it is at rest
	since signal.Instant // start of the present drive; Never: at rest
	heard signal.Instant // when the meter last spoke
}

func newGuarding(job *Job, now signal.Instant) guarding {
	return guarding{guard: job.Guard, runs: job.Motion.Runs, stops: job.Motion.Stops, since: signal.Never, heard: now}
}

// look takes in one observation. A trouble means that the bench must be made safe
// at once.
func (g *guarding) look(o *Observation) *BenchTrouble {
	switch o.Kind {
	case Sampled:
		return g.sample(&o.Sample)
	case Reached, Emitted:
		if silent := o.Span.Early.Sub(g.heard); silent > g.silence() {
			return &BenchTrouble{"meter-silent", fmt.Sprintf(
				"the current meter has been silent for %v, longer than the guard's %v: check its lead and its supply", silent, g.silence())}
		}
	}
	return nil
}

// silence is the longest silence allowed. A guard without a figure is not one
// without a limit: a run must not wait for ever for a meter that is not there.
func (g *guarding) silence() time.Duration {
	if g.guard.MeterSilence <= 0 {
		return 2 * time.Second
	}
	return g.guard.MeterSilence
}

// hears takes a reading for no more than that the meter spoke.
func (g *guarding) hears(s *signal.Sample) {
	g.heard = max(g.heard, s.To) // readings may have waited for a trial to begin
}

func (g *guarding) sample(s *signal.Sample) *BenchTrouble {
	size := s.Current.Abs()
	g.hears(s)
	if g.guard.MostCurrent > 0 && size >= g.guard.MostCurrent {
		return &BenchTrouble{GuardCurrent, fmt.Sprintf(
			"the bench's guard took the supply off: %v at %s, and the guard allows less than %v", s.Current, wording.Time(time.Duration(s.To).Round(time.Millisecond)), g.guard.MostCurrent)}
	}
	switch {
	case size < g.stops:
		g.since = signal.Never
	case size >= g.runs && g.since == signal.Never:
		g.since = s.From
	}
	if g.since != signal.Never && g.guard.LongestDrive > 0 && s.To.Sub(g.since) > g.guard.LongestDrive {
		return &BenchTrouble{GuardDrive, fmt.Sprintf(
			"the bench's guard took the supply off: the motor had run without a pause for longer than the guard allows, which is %s", wording.Time(g.guard.LongestDrive))}
	}
	return nil
}

// steady takes samples, all at once, whose currents lie between two sizes and which end by
// an instant. It is not ok, and has changed nothing, unless they leave the motor what it is
// and within the guard's limits.
func (g *guarding) steady(least, most signal.Current, to signal.Instant) bool {
	if g.guard.MostCurrent > 0 && most >= g.guard.MostCurrent {
		return false
	}
	if g.since == signal.Never {
		return most < g.runs || most < g.stops
	}
	return least >= g.stops && (g.guard.LongestDrive <= 0 || to.Sub(g.since) <= g.guard.LongestDrive)
}

// The guard's troubles of the controller's own making: what the rules found
// before them still counts.
const (
	GuardCurrent = "guard-current"
	GuardDrive   = "guard-drive"
)
