package main

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig/signal"
)

// bursts are how long a line bounces each time that it makes or breaks, from the first
// edge to the last.
func (s *onlooker) bursts(l signal.Line) (all []time.Duration) {
	e := s.edges(l)
	for first, i := 0, 0; i < len(e); i++ {
		if i+1 == len(e) || e[i+1].At > e[first].At.Add(time.Second) {
			all = append(all, e[i].At.Sub(e[first].At))
			first = i + 1
		}
	}
	return all
}

// A lever of which gate.yaml says no more than that it is one bounces as published: J.
// Ganssle, A Guide to Debouncing (2004, rev. 2008), on average 1557 µs and at most
// 6200 µs, of sixteen switches. A file may ask for the outliers, and for none.
func TestALeverBouncesAsPublished(t *testing.T) {
	const trials = 400
	of := func(key string, n int) (mean, most time.Duration) {
		var all []time.Duration
		job := demoWith(t, change{"gate.yaml", "    bounce: 4ms\n", key})
		again := newPlayer(t, job, "normal-cycle")
		for seed := range n {
			all = append(all, again(uint64(seed)).bursts(signal.ClosedLimit)...)
		}
		require.Len(t, all, 2*n, "the lever breaks and makes once in each trial")
		for _, d := range all {
			mean, most = mean+d, max(most, d)
		}
		return mean / time.Duration(len(all)), most
	}
	mean, most := of("", trials)
	// The standard error of this mean is 0.28·6200 µs/√800, or 62 µs; four of those.
	assert.InDelta(t, float64(1557*time.Microsecond), float64(mean), float64(250*time.Microsecond))
	assert.LessOrEqual(t, most, 6200*time.Microsecond)
	assert.Greater(t, most, 5500*time.Microsecond)
	_, most = of("    bounce: 157ms\n", 40)
	assert.Greater(t, most, 100*time.Millisecond)
	assert.LessOrEqual(t, most, 157*time.Millisecond)
	_, most = of("    bounce: 0s\n", 2)
	assert.Zero(t, most)
}
