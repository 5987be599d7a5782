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
)

func firstMade(t *testing.T, trace *signal.Trace, l signal.Line) signal.Instant {
	t.Helper()
	for _, e := range trace.Edges {
		if e.Line == l && e.Level == signal.Made {
			return e.Span.Early
		}
	}
	require.Fail(t, "never made", "%v", l)
	return 0
}

// The supply comes on at once, and the script begins when the controller has woken. A
// script that puts it on itself finds it off until then.
func TestWhoPutsTheSupplyOn(t *testing.T) {
	job, s := barrier(), cycle()
	for _, settle := range []time.Duration{1500 * ms, 2500 * ms} {
		job.Settle = settle
		o := perform(t, job, s, nil)
		require.Equal(t, rule.Pass, o.Verdict, o.Reason)
		assert.Equal(t, "supply on", o.Trace.Marks[0].Text)
		assert.Less(t, firstMade(t, o.Trace, signal.Supply), signal.Instant(10*ms))
		pressed := firstMade(t, o.Trace, signal.Remote)
		assert.GreaterOrEqual(t, pressed, signal.Instant(settle))
		assert.Less(t, pressed, signal.Instant(settle+100*ms))
	}
	wait := rig.Step{Kind: rig.Wait, For: 2 * time.Second, Text: "wait 2s"}
	own := rig.Step{Kind: rig.Drive, Line: signal.Supply, Level: signal.Made, Text: "supply on, by the script"}
	s.Script = append([]rig.Step{wait, own, wait}, s.Script...)
	o := perform(t, job, s, nil)
	require.Equal(t, rule.Pass, o.Verdict, o.Reason)
	assert.Equal(t, "wait 2s", o.Trace.Marks[0].Text)
	assert.GreaterOrEqual(t, firstMade(t, o.Trace, signal.Supply), signal.Instant(2*time.Second))
	off := own
	off.Level = signal.Broken
	s.Script = append([]rig.Step{off}, s.Script...)
	o = perform(t, job, s, nil)
	assert.Equal(t, "supply on", o.Trace.Marks[0].Text, "one that takes it off first needs it on")
}

// What a trial gave, its trace gives again: verdict, reason, and of each finding how far it
// can be trusted, with what makes it uncertain.
func TestJudgedAgainWithAllItsFigures(t *testing.T) {
	job, s := appraising(t, appraise.Decision{}), cycle()
	o := perform(t, job, s, nil)
	again, err := rig.NewRejudger(job).Judge(&s, &s, o.Trace, o.Troubles)
	require.NoError(t, err)
	assert.Equal(t, rig.Rejudged{Verdict: o.Verdict, Reason: o.Reason, Findings: o.Findings}, again)
	for _, f := range again.Findings {
		if f.Unit == rule.Nanoseconds {
			require.NotNil(t, f.Appraisal)
			assert.NotEmpty(t, f.Appraisal.Lines)
		}
	}
}

// A script that was given up in its last step, or a trial that was ended at its longest
// time, is no pass: neither when it is performed nor when its trace is judged again.
func TestAScriptGivenUpIsNoPass(t *testing.T) {
	job, s := barrier(), cycle()
	s.Script = append(s.Script, rig.Step{Kind: rig.Await, Condition: is(signal.Beam, signal.Made), Within: time.Second, Text: "await what never comes"})
	short := barrier()
	short.Limit = 5 * time.Second
	for name, j := range map[string]*rig.Job{"given up": job, "too long": short} {
		o := perform(t, j, s, nil)
		assert.Equal(t, rule.Inconclusive, o.Verdict, "%s: %s", name, o.Reason)
		again, err := rig.NewRejudger(j).Judge(&s, &s, o.Trace, o.Troubles)
		require.NoError(t, err)
		assert.Equal(t, o.Verdict, again.Verdict, name)
		assert.Equal(t, o.Reason, again.Reason, name)
	}
}
