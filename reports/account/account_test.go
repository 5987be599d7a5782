package account_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/reports"
	"pintle/reports/account"
	"pintle/reports/reportstest"
	"pintle/rig/appraise"
	"pintle/rig/rule"
	"pintle/rig/uncertainty"
)

func TestOnlyAPassIsCalledOne(t *testing.T) {
	for v := range rule.Verdict(10) {
		words := account.Meaning(&reports.Run{Verdict: v})
		switch v {
		case rule.Pass:
			assert.NotContains(t, words, "not a pass")
		case rule.Fail:
			assert.Contains(t, words, "broken")
		default:
			assert.Contains(t, words, "This is not a pass.", v)
		}
	}
}

// By a rule without the whole guard band a verdict is not beyond the doubt of the
// measurement, and is not said to be.
func TestAVerdictSaysNoMoreThanItsDecisionRule(t *testing.T) {
	for _, c := range []struct {
		kind        uncertainty.Rule
		pass, fails bool // the word is clear of the doubt
	}{
		{uncertainty.InFourWays(), true, true}, {uncertainty.Guarded(), true, false}, {uncertainty.RejectOnlySure(), false, true}, {uncertainty.Simple(), false, false},
		{uncertainty.Rule{Kind: uncertainty.FourWay, GuardPercent: 50}, false, false},
	} {
		by := appraise.Decision{Rule: c.kind}.Name()
		pass, fails := account.Meaning(&reports.Run{Verdict: rule.Pass, DecisionBy: by}), account.Meaning(&reports.Run{Verdict: rule.Fail, DecisionBy: by})
		assert.Equal(t, c.pass, strings.Contains(pass, "and kept,"), pass)
		assert.Equal(t, !c.pass, strings.Contains(pass, "passed by "+by), pass)
		assert.Equal(t, c.fails, strings.Contains(fails, "broken beyond the stated doubt"), fails)
		assert.Equal(t, !c.fails, strings.Contains(fails, "failed by "+by), fails)
	}
}

func TestCovers(t *testing.T) {
	assert.Equal(t, "No scenario was performed, so nothing is said of the controller.", account.Covers(&reports.Run{Verdict: rule.Pass}))
	assert.Equal(t, "Of 7\u00a0scenarios: 3 passed, 1 failed, 2 inconclusive, 1 void. Each was performed once.", account.Covers(reportstest.Mixed()))
	run := reportstest.Sound()
	run.Trials = 5
	assert.Contains(t, account.Covers(run), "Of 9\u00a0trials: 9 passed, 0 failed, 0 inconclusive, 0 void. 15\u00a0trials were asked for.")
}

func TestByConcern(t *testing.T) {
	run := reportstest.Mixed()
	var told []string
	for _, i := range account.ByConcern(run) {
		told = append(told, run.Scenarios[i].Name)
	}
	assert.Equal(t, []string{"missed-closed-limit", "supply-returns", "bouncing-limit", "press-at-limit", "stall-mid-travel", "normal-cycle", "reversal-dead-time"}, told)
}

func TestClaims(t *testing.T) {
	run := reportstest.Mixed()
	run.Controller.Claims = append(run.Controller.Claims, reports.Claim{Name: "power-up quiet"})
	all := map[string]account.Claim{}
	for _, c := range account.Claims(run) {
		all[c.Name] = c
	}
	require.Len(t, all, 7)
	assert.Equal(t, rule.Fail, all["run-time cut-out"].Verdict)
	assert.Equal(t, rule.Inconclusive, all["stop time"].Verdict, "the graver of two that refer to it")
	assert.Equal(t, "bouncing-limit", run.Scenarios[all["stop time"].Scenario].Name)
	assert.Equal(t, 0, all["power-up quiet"].Rules)
	assert.Equal(t, rule.Unsettled, all["power-up quiet"].Verdict, "not judged is no pass")
}

func TestWhatIsVoidHasNoFigures(t *testing.T) {
	run := reportstest.Mixed()
	value, limit, spare := account.OfScenario(&run.Scenarios[1]).Figures()
	assert.Equal(t, []string{"16.2400 s ± 0.0020 s", "at most 15 s", "−1.2420 s"}, []string{value, limit, spare})
	s := &run.Scenarios[0]
	s.Trials[0].Verdict = rule.Void
	j := account.OfRule(s, 0)
	value, limit, spare = j.Figures()
	assert.Equal(t, []string{"", "at most 500 ms", ""}, []string{value, limit, spare})
	assert.Empty(t, j.Risk())
	s.Trials[0].Findings = nil
	assert.False(t, account.OfRule(s, 0).Known)
	assert.Equal(t, rule.Void, account.OfRule(s, 0).Verdict)
}

// An excerpt says nothing better of its part than the run does, and leaves the run
// as it was.
func TestExcerpt(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		run := reportstest.Many(9, 3)
		for i := range run.Scenarios {
			for j := range run.Scenarios[i].Trials {
				run.Scenarios[i].Trials[j].Verdict = rule.Verdict(rapid.IntRange(0, 4).Draw(t, "verdict"))
			}
		}
		s := &run.Scenarios[rapid.IntRange(0, 8).Draw(t, "scenario")]
		trial := &s.Trials[rapid.IntRange(0, 2).Draw(t, "trial")]
		before := s.Verdict
		part, of := account.Excerpt(run, s, trial)
		require.Equal(t, trial.Verdict, part.Verdict)
		require.Equal(t, trial.Verdict, part.Scenarios[0].Verdict)
		require.Len(t, part.Scenarios[0].Trials, 1)
		require.True(t, strings.HasPrefix(of, "trial "))
		part, of = account.Excerpt(run, s, nil)
		require.Equal(t, s.Verdict, part.Verdict)
		require.True(t, strings.HasPrefix(of, "scenario "+s.Name+" alone"))
		require.Len(t, run.Scenarios, 9)
		require.Len(t, s.Trials, 3)
		require.Equal(t, before, s.Verdict)
	})
}
