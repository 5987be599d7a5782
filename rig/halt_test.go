package rig_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/drivers/virtual"
	"pintle/rig"
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
