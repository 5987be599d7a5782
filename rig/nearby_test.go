package rig_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig"
	"pintle/rig/appraise"
	"pintle/rig/motion"
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

// ramp is a trace of a motor that opens from one second on. Its current rises evenly from
// one to another, at an ampere a second, and it is stopped then.
func ramp(from, to signal.Current) *signal.Trace {
	t := &signal.Trace{}
	tick := signal.Instant(time.Millisecond)
	stop := signal.Instant(time.Second) + signal.Instant(to-from)*1000
	for at := -100 * tick; at < stop+signal.Instant(5*time.Second); at += tick {
		s := signal.Sample{From: at, To: at + tick}
		if at >= signal.Instant(time.Second) && at < stop {
			s.Current = from + signal.Current((at-signal.Instant(time.Second))/1000)
		}
		t.Samples = append(t.Samples, s)
	}
	t.End = stop + signal.Instant(4*time.Second)
	return t
}

// A time from or to a current is known no better than the instant at which it came to
// that: value and verdict hold what they would have been for a meter that reads as much
// less and more as it may be off.
func TestATimeFromACurrentCountsTheMetersDoubt(t *testing.T) {
	const limit = 2 * time.Second
	doubt := 195 * time.Millisecond // of a reading of 15 A, two deviations of its noise and one per cent with it
	for name, c := range map[string]struct {
		stops signal.Current
		want  rule.Verdict
	}{
		"clear of the limit":      {16_700_000, rule.Pass},
		"in time, by the reading": {16_900_000, rule.Inconclusive},
		"late, by the reading":    {17_100_000, rule.Inconclusive},
		"late by more":            {17_300_000, rule.Fail},
		"hardly exercised":        {15_050_000, rule.Inconclusive},
		"hardly not exercised":    {14_950_000, rule.Inconclusive},
		"not exercised":           {14_500_000, rule.Inconclusive},
	} {
		for _, simple := range []bool{false, true} {
			d := appraise.Decision{}
			if simple {
				d.Rule = uncertainty.Simple()
			}
			job, s, trace := appraising(t, d), cycle(), ramp(8*signal.Ampere, c.stops)
			s.Rules = []rule.Rule{{Name: "lets go", Pattern: rule.BoundedResponse, P: becomes(currentAbove(15 * signal.Ampere)), S: motor(motion.Stopped), Limit: limit}}
			found, err := rig.Rejudge(job, &s, trace)
			require.NoError(t, err)
			f, took := found[0], int64(c.stops-15*signal.Ampere)*1000
			if !simple {
				assert.Equal(t, c.want, f.Verdict, "%s: %+v", name, f)
			}
			if simple && c.stops > 16*signal.Ampere {
				assert.Equal(t, took <= int64(limit), f.Verdict == rule.Pass, "%s, simply: %+v", name, f)
			}
			if f.Measured && c.stops > 16*signal.Ampere {
				in := f.Interval()
				assert.LessOrEqual(t, in.Least, took-int64(doubt), name)
				assert.GreaterOrEqual(t, in.Most, took+int64(doubt), name)
				require.NotNil(t, f.Appraisal)
				assert.Greater(t, f.Appraisal.Standard, int64(doubt)/2)
			}
		}
	}
}

// Two currents err each by itself: the time from one to the other is as long as that of a
// lower first and a higher second.
func TestTwoCurrentsAreEachDoubted(t *testing.T) {
	job, s := appraising(t, appraise.Decision{}), cycle()
	s.Rules = []rule.Rule{{Name: "rises", Pattern: rule.BoundedResponse, P: becomes(currentAbove(10 * signal.Ampere)),
		S: becomes(currentAbove(15 * signal.Ampere)), Limit: 5200 * time.Millisecond}}
	found, err := rig.Rejudge(job, &s, ramp(8*signal.Ampere, 17*signal.Ampere))
	require.NoError(t, err)
	assert.Equal(t, rule.Inconclusive, found[0].Verdict, "%+v", found[0]) // both moved the same way differ by 50 ms alone
	assert.GreaterOrEqual(t, found[0].Interval().Most, int64(5300*time.Millisecond))
}

// So does a scope that a current opens and closes: what is asked in it is asked of all that
// may have been it.
func TestAScopeOfACurrentCountsTheMetersDoubt(t *testing.T) {
	job, s, trace := appraising(t, appraise.Decision{}), cycle(), ramp(8*signal.Ampere, 17*signal.Ampere)
	above, at := currentAbove(15*signal.Ampere), signal.Instant(8*time.Second)
	for by, want := range map[time.Duration]rule.Verdict{
		-300 * time.Millisecond: rule.Pass, -100 * time.Millisecond: rule.Inconclusive, 100 * time.Millisecond: rule.Inconclusive, 300 * time.Millisecond: rule.Fail,
	} {
		trace.Edges = []signal.EdgeSeen{{Line: signal.Remote, Level: signal.Made, Span: signal.At(at.Add(by))}}
		s.Rules = []rule.Rule{{Name: "no press", Pattern: rule.Absence, P: becomes(is(signal.Remote, signal.Made)),
			Scope: rule.Scope{Kind: rule.AfterUntil, Q: above, R: motor(motion.Stopped)}}}
		found, err := rig.Rejudge(job, &s, trace)
		require.NoError(t, err)
		assert.Equal(t, want, found[0].Verdict, "pressed %v after: %+v", by, found[0])
	}
}
