package rig_test

import (
	"context"
	"errors"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/drivers/virtual"
	"pintle/rig"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// A stuck bench hangs in Next until it is halted.
type stuck struct {
	*virtual.Bench
	inside chan struct{}
	halted chan struct{}
}

func (s *stuck) Next(until signal.Instant) (rig.Observation, error) {
	select {
	case s.inside <- struct{}{}:
	default:
	}
	<-s.halted
	return s.Bench.Next(until)
}

func (s *stuck) Halt() error {
	close(s.halted)
	return nil
}

func TestAStopReachesABenchThatHangs(t *testing.T) {
	inner, err := virtual.New(virtual.DefaultConfig(), 1)
	require.NoError(t, err)
	s := &stuck{inner, make(chan struct{}, 1), make(chan struct{})}
	ctx, stop := context.WithCancel(t.Context())
	go func() { <-s.inside; stop() }()
	var troubles []rig.BenchTrouble
	err = rig.Run(ctx, rig.Plan{Job: barrier(), Scenarios: []rig.Scenario{cycle()}, Trials: 1,
		Open: func() (rig.Bench, rig.Facts, error) { return s, inner.Facts(), nil },
		Sink: func(o *rig.Outcome) error { troubles = append(troubles, o.Troubles...); return nil }})
	require.ErrorIs(t, err, context.Canceled)
	require.Len(t, troubles, 1)
	assert.Equal(t, "interrupted", troubles[0].Code)
}

// A failing bench cannot be planned on, made safe or let go of.
type failing struct{ *virtual.Bench }

func (f *failing) Plan(signal.Line, []signal.Edge) error { return errors.New("no answer") }
func (f *failing) Safe() error                           { return errors.New("take the supply off by hand") }
func (f *failing) Close() error                          { return errors.Join(f.Safe(), f.Bench.Close()) }

// That the supply may be on is told whatever else went wrong: that the run was stopped, or
// that something failed before.
func TestABenchThatCannotBeMadeSafeIsTold(t *testing.T) {
	for name, stopped := range map[string]bool{"stopped": true, "after another failure": false} {
		t.Run(name, func(t *testing.T) {
			inner, err := virtual.New(virtual.DefaultConfig(), 1)
			require.NoError(t, err)
			ctx, stop := context.WithCancel(t.Context())
			defer stop()
			if stopped {
				stop()
			}
			err = rig.Run(ctx, rig.Plan{Job: barrier(), Scenarios: []rig.Scenario{cycle()}, Trials: 1,
				Open: func() (rig.Bench, rig.Facts, error) { return &failing{inner}, inner.Facts(), nil },
				Sink: func(o *rig.Outcome) error {
					assert.Contains(t, o.Troubles[0].Text, "by hand")
					return nil
				}})
			require.ErrorContains(t, err, "by hand")
			u := (*rig.Unclosed)(nil)
			require.ErrorAs(t, err, &u)
			require.Equal(t, stopped, errors.Is(err, context.Canceled))
		})
	}
}

// A slow is a bench that cannot be made safe the first time that it is asked.
type slow struct {
	*virtual.Bench
	asked int
}

func (s *slow) Safe() error {
	if s.asked++; s.asked == 1 {
		return errors.New("the relay sticks")
	}
	return s.Bench.Safe()
}

// A guard that tripped and could not take the supply off tells that, even where it went off
// when asked again.
func TestAGuardThatCouldNotTakeTheSupplyOffIsTold(t *testing.T) {
	inner, err := virtual.New(virtual.DefaultConfig(), 1)
	require.NoError(t, err)
	job, s, b := barrier(), cycle(), &slow{Bench: inner}
	job.Guard.MostCurrent = signal.Ampere
	o, err := rig.NewConductor(job, b, inner.Facts(), nil).Perform(&s, 7, rig.Day{})
	require.NoError(t, err)
	assert.Equal(t, rule.Void, o.Verdict)
	require.NotEmpty(t, o.Troubles)
	assert.Equal(t, "bench-failed", o.Troubles[0].Code)
	assert.Contains(t, o.Troubles[0].Text, "the relay sticks")
	assert.Equal(t, 2, b.asked, "once by the guard, and once at the end")
}
