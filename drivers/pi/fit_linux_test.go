package pi

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/rig/fitness"
	"pintle/rig/rule"
)

// The check of a bench on the hands themselves, in their own process: they read their pins
// back, and say how late they were woken beside the edges that they made.
func TestTheHandsArePutToTheTest(t *testing.T) {
	t.Parallel()
	q := openQuay(t)
	ctx, enough := context.WithCancel(t.Context())
	r, err := fitness.Run(ctx, q.Bench, fitness.Setup{Facts: q.facts, Lateness: 2 * time.Second, Bursts: 1, Tell: func(r fitness.Result) {
		if r.Name == "edges beside the scheduler" {
			enough()
		}
	}})
	require.ErrorIs(t, err, context.Canceled)
	for _, line := range []string{"line remote", "line open-limit"} {
		part, ok := r.Result(line)
		require.True(t, ok)
		if part.Verdict == rule.Inconclusive { // a machine too busy to read it in time
			t.Log(part.Reason)
			continue
		}
		require.Equal(t, rule.Pass, part.Verdict, part.Reason)
		require.Contains(t, part.Reason, "own pin followed")
	}
	part, ok := r.Result("edges beside the scheduler")
	require.True(t, ok)
	require.Len(t, part.Figures, 4, part.Reason)
	t.Log(part.Verdict, part.Figures)
}
