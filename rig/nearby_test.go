package rig_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig"
	"pintle/rig/appraise"
	"pintle/rig/rule"
	"pintle/rig/signal"
	"pintle/rig/uncertainty"
)

// appraising is the barrier with a meter that may read one per cent off.
func appraising(t *testing.T, d appraise.Decision) *rig.Job {
	t.Helper()
	job := barrier()
	a, err := appraise.New(appraise.Means{Interval: time.Millisecond, Window: time.Millisecond, Most: 2 * time.Millisecond,
		Noise: 20_000, Resolution: 10_000, Gain: 10_000, Motion: job.Motion}, d)
	require.NoError(t, err)
	job.Appraiser = a
	return job
}

func currentAbove(c signal.Current) rule.Condition {
	return rule.Condition{Text: "current above " + c.String(), Any: [][]rule.Term{{{Kind: rule.CurrentAbove, Current: c}}}}
}

// A rule that compares with a current is passed or failed only where all currents that
// may have flowed agree: it is given no narrower a berth than one that measures it.
func TestAComparisonWithACurrentCountsTheMetersDoubt(t *testing.T) {
	job, s := appraising(t, appraise.Decision{}), cycle()
	most := signal.Current(0)
	for _, x := range perform(t, job, s, nil).Trace.Samples {
		most = max(most, x.Current.Abs())
	}
	doubt := signal.Current(50_000) + most/100
	pass, fail, open := rule.Pass, rule.Fail, rule.Inconclusive
	for _, c := range []struct {
		with          signal.Current
		never, always rule.Verdict // and at some time, which is the opposite
	}{
		{most, open, open}, {most - 1, open, open}, {most + doubt/2, open, open}, {most - doubt/2, open, open},
		{most + doubt*2, pass, fail}, {most - doubt*2, fail, pass},
	} {
		s.Rules = []rule.Rule{
			{Name: "never", Pattern: rule.Absence, P: currentAbove(c.with)},
			{Name: "once", Pattern: rule.Existence, P: currentAbove(c.with)},
			{Name: "count", Pattern: rule.BoundedExistence, P: becomes(currentAbove(c.with))},
			{Name: "run time", Pattern: rule.MaximumDuration, P: motor(2), Limit: 15 * time.Second},
		}
		o := perform(t, job, s, nil)
		require.Len(t, o.Findings, 4)
		assert.Equal(t, c.never, o.Findings[0].Verdict, "never above %v, and the most was %v: %+v", c.with, most, o.Findings[0])
		assert.Equal(t, c.always, o.Findings[1].Verdict, "once above %v, and the most was %v", c.with, most)
		assert.Equal(t, c.never, o.Findings[2].Verdict, "no time above %v, and the most was %v", c.with, most)
		again, err := rig.Rejudge(job, &s, o.Trace)
		require.NoError(t, err)
		assert.Equal(t, o.Findings, again)
	}
	s.Rules = s.Rules[:1]
	s.Rules[0].P = currentAbove(most)
	o := perform(t, appraising(t, appraise.Decision{Rule: uncertainty.Simple()}), s, nil)
	assert.Equal(t, rule.Pass, o.Verdict, "simple acceptance keeps no guard band: %s", o.Reason)
}
