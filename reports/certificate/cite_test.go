package certificate

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/reports"
	"pintle/rig/rule"
)

// tested is a scenario whose one rule tests the claim, with a trial of each verdict.
func tested(name, claim string, verdicts ...rule.Verdict) reports.Scenario {
	s := reports.Scenario{Name: name, Rules: []reports.Rule{{Name: "it stops", Claims: []string{claim}}}}
	for i, v := range verdicts {
		s.Trials = append(s.Trials, reports.Trial{Number: i + 1, Verdict: v, Findings: []rule.Finding{{Verdict: v, Unit: rule.Nanoseconds,
			Sense: rule.AtMost, Limit: 100, Measured: true, Value: rule.Interval{Least: int64(50 + i), Most: int64(60 + i)}}}})
	}
	return s
}

// TestAClaimIsAsGoodAsItsWorst is of one claim that several scenarios test: the verdict
// is the worst of them, the reliability that of the one that shows least, the trials are
// those of all, in whatever order they come.
func TestAClaimIsAsGoodAsItsWorst(t *testing.T) {
	good := tested("good", "stop", rule.Pass, rule.Pass, rule.Pass)
	bad := tested("bad", "stop", rule.Pass, rule.Fail, rule.Pass)
	open := tested("open", "stop", rule.Inconclusive, rule.Pass, rule.Pass)
	other := tested("other", "start", rule.Void)
	for _, order := range [][]reports.Scenario{{good, bad, open, other}, {other, open, bad, good}, {bad, other, good, open}} {
		run := &reports.Run{Scenarios: order, Controller: reports.Controller{Claims: []reports.Claim{{Name: "stop"}, {Name: "start"}, {Name: "never"}}}}
		all := cite(run)
		require.Len(t, all, 3)
		assert.Equal(t, rule.Fail, all[0].Verdict)
		assert.Equal(t, "bad", order[all[0].Scenario].Name)
		assert.Equal(t, 9, all[0].trials)
		// Of three trials two passed: the lower bound by Clopper and Pearson at 95 % is
		// 0.1353 (the root of 3p² − 2p³ = 0.05).
		assert.InDelta(t, 135_300, all[0].least.AtLeast, 100)
		assert.Equal(t, rule.Void, all[1].Verdict)
		assert.Zero(t, all[2].Rules, "never put to the test")
		assert.NotEqual(t, rule.Pass, all[2].Verdict)
	}
}

// TestNothingButPassesMakesAPass has any verdicts at all in any number of scenarios.
func TestNothingButPassesMakesAPass(t *testing.T) {
	verdict := rapid.SampledFrom([]rule.Verdict{rule.Unsettled, rule.Pass, rule.Pass, rule.Pass, rule.Fail, rule.Inconclusive, rule.Void, rule.Verdict(99)})
	rapid.Check(t, func(t *rapid.T) {
		run := &reports.Run{Controller: reports.Controller{Claims: []reports.Claim{{Name: "stop"}}}}
		all, trials := true, 0
		for range rapid.IntRange(1, 5).Draw(t, "scenarios") {
			vs := rapid.SliceOfN(verdict, 0, 4).Draw(t, "verdicts")
			run.Scenarios = append(run.Scenarios, tested("s", "stop", vs...))
			all = all && len(vs) > 0
			for _, v := range vs {
				all = all && v == rule.Pass
			}
			trials += len(vs)
		}
		c := cite(run)[0]
		if (c.Verdict == rule.Pass) != all {
			t.Fatalf("%v, though all are passes: %v", c.Verdict, all)
		}
		if c.trials != trials {
			t.Fatalf("%d trials of %d", c.trials, trials)
		}
	})
}
