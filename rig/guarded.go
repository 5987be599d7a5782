package rig

import (
	"fmt"

	"pintle/rig/motion"
	"pintle/rig/signal"
)

// A Guarded is a bench over which the conductor's guard watches outside of a trial,
// as when the bench itself is put to the test.
type Guarded struct {
	Bench
	guarding guarding
	tripped  *BenchTrouble
	untold   bool // that it has tripped
}

// NewGuarded sets the guard over a bench. Of the motion, it is asked when the motor
// counts as driven.
func NewGuarded(b Bench, g Guard, m motion.Thresholds) *Guarded {
	return &Guarded{Bench: b, guarding: newGuarding(&Job{Guard: g, Motion: m}, b.Now())}
}

// Next gives what the bench saw. Where that is beyond the guard's limits the bench has
// been made safe by then, and the guard's trouble comes next.
func (g *Guarded) Next(until signal.Instant) (Observation, error) {
	if g.untold {
		g.untold = false
		return Observation{Kind: Trouble, Span: signal.At(g.Bench.Now()), Trouble: g.tripped}, nil
	}
	o, err := g.Bench.Next(until)
	if err != nil || g.tripped != nil {
		return o, err
	}
	if g.tripped = g.guarding.look(&o); g.tripped == nil {
		return o, nil
	}
	g.untold = true
	if err := g.Bench.Safe(); err != nil {
		return o, fmt.Errorf("make the bench safe after the guard tripped: %w", err)
	}
	return o, nil
}

// Plan plans, unless the guard has tripped: it stays so.
func (g *Guarded) Plan(l signal.Line, future []signal.Edge) error {
	if g.tripped != nil {
		return fmt.Errorf("plan %v: %w", l, g.tripped)
	}
	return g.Bench.Plan(l, future)
}

// Tripped is why the guard has tripped; nil: it has not.
func (g *Guarded) Tripped() *BenchTrouble { return g.tripped }
