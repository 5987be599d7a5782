package rig

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/motion"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// Samples that change nothing are judged on a way of their own. Whatever the trace, at
// the thresholds and one step on either side, it comes to what the long way comes to.
func TestTheQuickWayIsTheLongWay(t *testing.T) {
	thresholds := motion.Thresholds{Runs: 1_500_000, Stops: 1_000_000, Settle: 3 * time.Millisecond}
	line := func(l signal.Line) rule.Condition {
		return rule.Condition{Text: l.String(), Becomes: true, Any: [][]rule.Term{{{Kind: rule.LineIs, Line: l, Level: signal.Made}}}}
	}
	motor := func(s motion.State) rule.Condition {
		return rule.Condition{Text: s.String(), Any: [][]rule.Term{{{Kind: rule.MotorIs, State: s}}}}
	}
	s := &Scenario{Name: "drawn", Rules: []rule.Rule{
		{Name: "answers", Pattern: rule.BoundedResponse, P: line(signal.Remote), S: motor(motion.Opening), Limit: 10 * time.Millisecond},
		{Name: "stops", Pattern: rule.BoundedResponse, P: line(signal.OpenLimit), S: motor(motion.Stopped), Limit: 10 * time.Millisecond},
		{Name: "runs", Pattern: rule.MaximumDuration, P: motor(motion.Opening), Limit: 20 * time.Millisecond},
		{Name: "draws", Pattern: rule.CurrentUnder, Current: 2 * signal.Ampere},
		{Name: "draws after", Pattern: rule.AverageUnder, Current: signal.Ampere, Window: 5 * time.Millisecond,
			Scope: rule.Scope{Kind: rule.After, Q: line(signal.Remote)}},
	}}
	levels := []signal.Current{0, 999_999, 1_000_000, 1_000_001, 1_499_999, 1_500_000, 1_500_001, 2_000_000, 2_000_001, -1_000_000, -1_500_000}
	rapid.Check(t, func(t *rapid.T) {
		trace := signal.Trace{End: signal.Instant(60 * time.Millisecond)}
		current := signal.Current(0)
		for at := -2; at < 60; at++ {
			if rapid.IntRange(0, 3).Draw(t, "changes") == 0 {
				current = rapid.SampledFrom(levels).Draw(t, "current")
			}
			from := signal.Instant(at) * signal.Instant(time.Millisecond)
			trace.Samples = append(trace.Samples, signal.Sample{From: from, To: from.Add(2 * time.Millisecond), Current: current})
		}
		at := signal.Instant(0)
		made := [signal.LineCount]signal.Level{}
		for range rapid.IntRange(0, 12).Draw(t, "edges") {
			at = at.Add(time.Duration(rapid.Int64Range(0, 8).Draw(t, "later")) * time.Millisecond)
			at = at.Add(time.Duration(rapid.Int64Range(-1, 1).Draw(t, "off")))
			l := rapid.SampledFrom([]signal.Line{signal.Remote, signal.OpenLimit}).Draw(t, "line")
			made[l] = made[l].Not()
			trace.Edges = append(trace.Edges, signal.EdgeSeen{Line: l, Level: made[l], Span: signal.Span{Early: max(0, at), Late: max(0, at)}})
		}
		job := &Job{Motion: thresholds}
		quick, err := NewRejudger(job).Findings(s, &trace)
		require.NoError(t, err)
		j, err := newJudgement(job, s)
		require.NoError(t, err)
		j.watch = nil
		j.reset(trace.Initial)
		for _, e := range trace.Edges {
			j.edge(e)
		}
		for _, x := range trace.Samples {
			j.sample(x)
		}
		require.Equal(t, j.appraised(trace.End, false), quick)
	})
}
