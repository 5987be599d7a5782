package rig

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/rig/signal"
)

// A slow computer may take seconds from the opening of a bench to its first trial, and
// readings pile up meanwhile. The trial takes them first of all, and the edge that sets
// its stage may come before the latest of them.
func TestReadingsThatWaitedAreNoSilence(t *testing.T) {
	const began = signal.Instant(5 * time.Second)
	g := newGuarding(&Job{Guard: Guard{MeterSilence: 2 * time.Second}}, began)
	edge := func(at signal.Instant) *BenchTrouble {
		return g.look(&Observation{Kind: Emitted, Span: signal.At(at)})
	}
	require.Nil(t, g.look(&Observation{Kind: Sampled, Sample: signal.Sample{From: 20, To: 30}}))
	require.Nil(t, edge(began.Add(4*time.Millisecond)))
	require.Nil(t, edge(began.Add(2*time.Second)))
	require.Equal(t, "meter-silent", edge(began.Add(2*time.Second+1)).Code, "counted from the beginning of the trial")
}
