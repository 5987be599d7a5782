package reports

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"pintle/rig/rule"
)

func measured(v rule.Verdict, most, limit int64) rule.Finding {
	return rule.Finding{Verdict: v, Unit: rule.Nanoseconds, Sense: rule.AtMost, Measured: true, Value: rule.Interval{Least: most, Most: most}, Limit: limit}
}

func trial(v rule.Verdict, fs ...rule.Finding) Trial { return Trial{Verdict: v, Findings: fs} }

func TestTightest(t *testing.T) {
	silent := rule.Finding{Verdict: rule.Pass}
	for _, c := range []struct {
		name           string
		trials         []Trial
		trial, finding int
		ok             bool
	}{
		{"no trials", nil, 0, 0, false},
		{"no findings", []Trial{trial(rule.Void)}, 0, 0, false},
		{"least margin for its limit, not least margin", []Trial{trial(rule.Pass, measured(rule.Pass, 90, 100), measured(rule.Pass, 980, 1000))}, 0, 1, true},
		{"one tick tighter", []Trial{trial(rule.Pass, measured(rule.Pass, 90, 100)), trial(rule.Pass, measured(rule.Pass, 91, 100))}, 1, 0, true},
		{"equal: the earliest", []Trial{trial(rule.Pass, measured(rule.Pass, 90, 100)), trial(rule.Pass, measured(rule.Pass, 90, 100))}, 0, 0, true},
		{"measured before silent", []Trial{trial(rule.Pass, silent, measured(rule.Pass, 1, 100))}, 0, 1, true},
		{"a fail before a tighter pass", []Trial{trial(rule.Pass, measured(rule.Pass, 100, 100)), trial(rule.Fail, silent, rule.Finding{Verdict: rule.Fail})}, 1, 1, true},
		{"inconclusive before pass", []Trial{trial(rule.Inconclusive, measured(rule.Pass, 100, 100), rule.Finding{Verdict: rule.Inconclusive})}, 0, 1, true},
		{"a void trial speaks before a pass", []Trial{trial(rule.Pass, measured(rule.Pass, 100, 100)), trial(rule.Void, measured(rule.Pass, 1, 100))}, 1, 0, true},
		{"a void trial without findings outweighs a pass", []Trial{trial(rule.Pass, measured(rule.Pass, 1, 100)), trial(rule.Void)}, 0, 0, false},
		{"but not a fail", []Trial{trial(rule.Void), trial(rule.Fail, measured(rule.Fail, 101, 100))}, 1, 0, true},
		{"a limit of zero", []Trial{trial(rule.Pass, measured(rule.Pass, 99, 100), measured(rule.Pass, 0, 0))}, 0, 1, true},
	} {
		t.Run(c.name, func(t *testing.T) {
			tr, f, ok := Tightest(&Scenario{Trials: c.trials})
			assert.Equal(t, []any{c.trial, c.finding, c.ok}, []any{tr, f, ok})
		})
	}
}

func TestTightestOfLooksAtOneRule(t *testing.T) {
	a, b := measured(rule.Pass, 50, 100), measured(rule.Fail, 101, 100)
	b.Rule = 1
	s := &Scenario{Trials: []Trial{trial(rule.Fail, b, a)}}
	_, f, ok := TightestOf(s, 0)
	assert.True(t, ok)
	assert.Equal(t, 1, f)
	_, _, ok = TightestOf(s, 2)
	assert.False(t, ok, "no finding of rule 2")
}

func TestWorstTrialWithoutFindings(t *testing.T) {
	i, ok := WorstTrial(&Scenario{Trials: []Trial{trial(rule.Pass, measured(rule.Pass, 1, 9)), trial(rule.Void), trial(rule.Void)}})
	assert.True(t, ok)
	assert.Equal(t, 1, i)
	_, ok = WorstTrial(&Scenario{})
	assert.False(t, ok)
}

// What is shown for a scenario must never look better than the scenario is.
func TestTightestIsNeverBetterThanItsScenario(t *testing.T) {
	verdict := rapid.SampledFrom([]rule.Verdict{rule.Unsettled, rule.Pass, rule.Fail, rule.Inconclusive, rule.Void})
	rapid.Check(t, func(t *rapid.T) {
		var s Scenario
		var vs []rule.Verdict
		for range rapid.IntRange(0, 5).Draw(t, "trials") {
			var tr Trial
			var of []rule.Verdict
			for range rapid.IntRange(0, 3).Draw(t, "findings") {
				f := measured(verdict.Draw(t, "verdict"), rapid.Int64Range(0, 9).Draw(t, "most"), rapid.Int64Range(0, 9).Draw(t, "limit"))
				tr.Findings, of = append(tr.Findings, f), append(of, f.Verdict)
			}
			tr.Verdict = rule.Worst(of...)
			s.Trials, vs = append(s.Trials, tr), append(vs, tr.Verdict)
		}
		i, j, ok := Tightest(&s)
		if !ok {
			return
		}
		got := Standing(&s.Trials[i], s.Trials[i].Findings[j])
		if want := rule.Worst(vs...); got != want {
			t.Fatalf("scenario is %v, its tightest finding %v", want, got)
		}
	})
}

func TestTallyMissesNothing(t *testing.T) {
	s := &Scenario{Trials: []Trial{trial(rule.Pass), trial(rule.Fail), trial(rule.Void), trial(rule.Inconclusive), trial(rule.Unsettled), trial(77)}}
	assert.Equal(t, Tally{1, 1, 1, 1, 2}, TallyTrials(s))
	assert.Equal(t, 6, TallyTrials(s).All())
}
