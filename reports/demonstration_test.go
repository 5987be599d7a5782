package reports_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/reports"
	"pintle/rig/rule"
)

// many is a scenario with so many trials, the i-th of which measured 100+i ms.
func many(n int) *reports.Scenario {
	s := &reports.Scenario{Name: "s", Rules: []reports.Rule{{Name: "it stops"}}}
	for i := range n {
		v := int64(100+i) * 1_000_000
		s.Trials = append(s.Trials, reports.Trial{Number: i + 1, Verdict: rule.Pass, Findings: []rule.Finding{{Verdict: rule.Pass, Measured: true,
			Unit: rule.Nanoseconds, Sense: rule.AtMost, Limit: 1e9, Value: rule.Interval{Least: v - 1, Most: v + 1}}}})
	}
	return s
}

// Success-run theorem, classic form: 59 passes show 0.05^(1/59) = 95.0492 % at 95 %,
// rounded down. Nothing but a pass counts as passed.
func TestShow(t *testing.T) {
	s := many(59)
	shown, ok := reports.Show(s, 950_000)
	require.True(t, ok)
	assert.EqualValues(t, 950_492, shown.AtLeast)
	assert.Contains(t, strings.ReplaceAll(shown.Text(), "\u00a0", " "), "59 of 59 trials passed: reliability at least 95.04 % at 95 % confidence")
	for _, v := range []rule.Verdict{rule.Fail, rule.Inconclusive, rule.Void, rule.Unsettled} {
		s.Trials[7].Verdict = v
		shown, _ = reports.Show(s, 950_000)
		assert.Equal(t, 1, shown.Failures, v)
		assert.Less(t, shown.AtLeast, int64(950_000), v)
	}
	_, ok = reports.Show(&reports.Scenario{}, 950_000)
	assert.False(t, ok, "of no trials nothing is said")
}

// Wilks: of 59 values the largest is the bound that 95 % keep at 95 %, with the doubt
// counted in; with 58, or with a trial of which nothing may be said, there is none.
func TestTolerance(t *testing.T) {
	bound, _, ok := reports.Tolerance(many(59), 0, 950_000, 950_000)
	require.True(t, ok)
	assert.EqualValues(t, 158_000_001, bound.Value)
	_, _, ok = reports.Tolerance(many(58), 0, 950_000, 950_000)
	assert.False(t, ok)
	s := many(59)
	s.Trials[3].Verdict = rule.Void
	_, _, ok = reports.Tolerance(s, 0, 950_000, 950_000)
	assert.False(t, ok, "what a bench measured that failed is not a value")
	assert.Contains(t, strings.ReplaceAll(reports.ToleranceText(&reports.Run{}, many(59), 0), "\u00a0", " "), "in 95 % of all trials at most 158.1 ms")
}
