package main

import (
	"bytes"
	"runtime"
	"testing"

	"github.com/stretchr/testify/require"

	"pintle/scenarios"
)

// Judging again holds no more of the trials that are done than what they came to, however
// many there are.
func TestJudgingAgainHoldsOneTrial(t *testing.T) {
	job, err := scenarios.Demo(equipment())
	require.NoError(t, err)
	s, ok := job.Scenario("normal-cycle")
	require.True(t, ok)
	base, file := oneTrial(t, job, s)
	n := max(120, 5*(8+runtime.NumCPU())) // each worker may hold one
	base.run.Trials, base.run.Scenarios[0].Trials = n, nil
	a := readAgain(t, base.run)
	var least, most uint64
	require.NoError(t, a.judge(trials{n, func(i int, memory []byte) (performed, error) {
		if i%10 == 9 { // the first trials make room for themselves
			var m runtime.MemStats
			runtime.GC()
			runtime.ReadMemStats(&m)
			if most = max(most, m.HeapAlloc); least == 0 {
				least = m.HeapAlloc
			}
		}
		trial := base.trial
		trial.Number = i + 1
		return performed{0, &trial, append(memory[:0], bytes.Clone(file)...)}, nil
	}}))
	require.Positive(t, base.trial.Samples)
	each := uint64(len(file) + 24*base.trial.Samples) // a trace as it was kept and as it is read
	t.Logf("%d trials of %d kB each: %d kB more in use at the most", n, each/1000, (most-least)/1000)
	// Each worker has one of its own, and what else the process does comes and goes.
	require.Less(t, most-least, uint64(8+runtime.NumCPU())*each)
	require.Less(t, uint64(8+runtime.NumCPU()), uint64(n/4), "or the bound would let a quarter of them be kept")
}
