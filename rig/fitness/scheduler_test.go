package fitness

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/rig/rule"
)

func many(n int, d time.Duration) []time.Duration {
	all := make([]time.Duration, n)
	for i := range all {
		all[i] = d
	}
	return all
}

// Edges may be a fifth later than the machine wakes whoever emits them, and some
// microseconds in any case.
func TestEdgesBesideTheScheduler(t *testing.T) {
	const us = time.Microsecond
	for _, c := range []struct {
		edges, wakes int
		late, woke   time.Duration
		want         rule.Verdict
	}{
		{100, 100, 120 * us, 100 * us, rule.Pass},
		{100, 100, 120*us + 1, 100 * us, rule.Inconclusive},
		{100, 100, 20 * us, 0, rule.Pass},
		{100, 100, 20*us + 1, 0, rule.Inconclusive},
		{99, 100, 0, 0, rule.Inconclusive},
		{100, 99, 0, 0, rule.Inconclusive},
	} {
		r := (&timing{late: many(c.edges, c.late), woke: many(c.wakes, c.woke)}).besideScheduler()
		require.Equal(t, c.want, r.Verdict, "%+v: %s", c, r.Reason)
		require.Equal(t, c.want == rule.Pass, r.Advice == "", "%+v", c)
	}
	slow := append(many(98, 0), many(2, time.Millisecond)...) // the median is that of the rest
	r := (&timing{late: slow, woke: many(100, 0)}).besideScheduler()
	require.Equal(t, rule.Inconclusive, r.Verdict, "two in a hundred are late")
	r = (&timing{late: slow, woke: slow}).besideScheduler()
	require.Equal(t, rule.Pass, r.Verdict, "and so is the machine")
}
