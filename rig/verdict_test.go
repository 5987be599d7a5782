package rig

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pintle/rig/rule"
	"pintle/rig/signal"
)

// A script was performed to its end where the marks of its trace say so, step by step; of
// anything else they say what is missing, and that is no pass.
func TestUnperformed(t *testing.T) {
	two := Scenario{Script: []Step{{Text: "a"}, {Text: "b"}}}
	twice := two
	twice.Repeat = 2
	for name, c := range map[string]struct {
		s       Scenario
		marks   []string
		settled bool
		want    string
	}{
		"to its end":                             {two, []string{"a", "b", markEnd}, false, ""},
		"with a mark of another kind":            {two, []string{"supply on", "a", "b", markEnd}, false, ""},
		"no script":                              {Scenario{}, []string{markEnd}, false, ""},
		"twice":                                  {twice, []string{"a", "b", "a", "b", markEnd}, false, ""},
		"once of twice":                          {twice, []string{"a", "b", markEnd}, false, "the script was followed up to its step 2 of 4"},
		"all but the last of twice":              {twice, []string{"a", "b", "a", markEnd}, false, "the script was followed up to its step 3 of 4"},
		"an end that came too soon":              {two, []string{"a", markEnd}, false, "the script was followed up to its step 1 of 2"},
		"an end that came too soon, all settled": {two, []string{"a", markEnd}, true, "the script was followed up to its step 1 of 2"},
		"nothing":                                {two, nil, true, "the script was followed up to its step 0 of 2"},
		"in another order":                       {two, []string{"b", "a"}, true, "the script was followed up to its step 1 of 2"},
		"the same step again":                    {two, []string{"a", "a", markEnd}, true, "the script was followed up to its step 1 of 2"},
		"settled before":                         {two, []string{"a", markSettled}, true, ""},
		"settled for other rules":                {two, []string{"a", markSettled}, false, "the trial was ended in step 1 of 2, when every rule that it was performed with was settled, and these were not"},
		"settled in the last step":               {two, []string{"a", "b", markSettled}, false, "the trial was ended in step 2 of 2, when every rule that it was performed with was settled, and these were not"},
		"ended in its last step":                 {two, []string{"a", "b"}, true, "the trace does not tell that its script was ended"},
		"no script, and no end":                  {Scenario{}, nil, true, "the trace does not tell that its script was ended"},
		"given up":                               {two, []string{"a", markAbandoned + "no answer"}, false, "no answer"},
		"given up in its last step":              {two, []string{"a", "b", markAbandoned + "no answer"}, true, "no answer"},
		"given up, and ended after that":         {two, []string{"a", "b", markAbandoned + "no answer", markEnd}, true, "no answer"},
		"given up, and settled after that":       {two, []string{"a", "b", markAbandoned + "no answer", markSettled}, true, "no answer"},
	} {
		var marks []signal.Mark
		for _, text := range c.marks {
			marks = append(marks, signal.Mark{Text: text})
		}
		assert.Equal(t, c.want, unperformed(&c.s, marks, c.settled), name)
	}
}

// What a trial comes to: the worst of its findings, of which nothing is a pass that was not
// put to the test to the end.
func TestWorstOfATrial(t *testing.T) {
	const pass, fail, open, none, void = rule.Pass, rule.Fail, rule.Inconclusive, rule.Unsettled, rule.Void
	for _, c := range []struct {
		found  []rule.Verdict
		failed string
		want   rule.Verdict
		reason string
	}{
		{nil, "", open, "the scenario has no rules"},
		{[]rule.Verdict{pass, pass}, "", pass, ""},
		{[]rule.Verdict{pass, pass}, "given up", open, "given up"},
		{[]rule.Verdict{pass, fail}, "given up", fail, "r1: because 1"},
		{[]rule.Verdict{fail, pass}, "", fail, "r0: because 0"},
		{[]rule.Verdict{fail, fail}, "", fail, "r0: because 0"},
		{[]rule.Verdict{pass, open, open}, "given up", open, "r1: because 1"},
		{[]rule.Verdict{pass, none}, "", open, "r1: because 1"},
		{[]rule.Verdict{none, pass}, "", open, "r0: because 0"},
		{[]rule.Verdict{none}, "given up", open, "r0: because 0"},
		{[]rule.Verdict{open, void, pass}, "", void, "r1: because 1"},
		{[]rule.Verdict{open, void, fail}, "", fail, "r2: because 2"},
	} {
		s, found := findingsOf(c.found...)
		got, reason := worst(s, found, c.failed)
		assert.Equal(t, c.want, got, "%v, %q", c.found, c.failed)
		assert.Equal(t, c.reason, reason, "%v, %q", c.found, c.failed)
		got, reason = verdict(s, found, c.failed, nil)
		assert.Equal(t, c.want, got)
		assert.Equal(t, c.reason, reason)
	}
}

func findingsOf(vs ...rule.Verdict) (*Scenario, []rule.Finding) {
	s, found := &Scenario{}, []rule.Finding(nil)
	for i, v := range vs {
		n := string(rune('0' + i))
		s.Rules = append(s.Rules, rule.Rule{Name: "r" + n, Pattern: rule.Absence})
		found = append(found, rule.Finding{Verdict: v, Reason: "because " + n})
	}
	return s, found
}

// A trouble of the bench makes a trial void, whatever was found. Where the guard stopped
// the controller a rule that had been broken before stays so, and nothing else does.
func TestATroubleMakesATrialVoid(t *testing.T) {
	never := rule.Scope{}
	for name, c := range map[string]struct {
		found    rule.Verdict
		pattern  rule.Pattern
		scope    rule.Scope
		troubles []string
		want     rule.Verdict
	}{
		"none":                                 {rule.Pass, rule.Absence, never, nil, rule.Pass},
		"a bench that failed":                  {rule.Fail, rule.Absence, never, []string{"edge-late"}, rule.Void},
		"a bench that failed, passed":          {rule.Pass, rule.Absence, never, []string{"edge-late"}, rule.Void},
		"broken before the guard":              {rule.Fail, rule.Absence, never, []string{GuardCurrent}, rule.Fail},
		"broken before the other guard":        {rule.Fail, rule.MaximumDuration, never, []string{GuardDrive}, rule.Fail},
		"broken before both":                   {rule.Fail, rule.Absence, never, []string{GuardDrive, GuardCurrent}, rule.Fail},
		"the guard, passed":                    {rule.Pass, rule.Absence, never, []string{GuardCurrent}, rule.Void},
		"the guard, not known":                 {rule.Inconclusive, rule.Absence, never, []string{GuardDrive}, rule.Void},
		"the guard, and a bench that failed":   {rule.Fail, rule.Absence, never, []string{GuardCurrent, "samples-lost"}, rule.Void},
		"a bench that failed, and the guard":   {rule.Fail, rule.Absence, never, []string{"samples-lost", GuardCurrent}, rule.Void},
		"what never came before the guard":     {rule.Fail, rule.Existence, never, []string{GuardCurrent}, rule.Void},
		"what was never answered":              {rule.Fail, rule.Response, never, []string{GuardCurrent}, rule.Void},
		"what never came after something":      {rule.Fail, rule.Existence, rule.Scope{Kind: rule.After}, []string{GuardCurrent}, rule.Void},
		"what never came in an open scope":     {rule.Fail, rule.Existence, rule.Scope{Kind: rule.AfterUntil}, []string{GuardCurrent}, rule.Void},
		"what never came before something did": {rule.Fail, rule.Existence, rule.Scope{Kind: rule.Before}, []string{GuardCurrent}, rule.Fail},
		"what was never answered between":      {rule.Fail, rule.Response, rule.Scope{Kind: rule.Between}, []string{GuardCurrent}, rule.Fail},
	} {
		s, found := findingsOf(rule.Pass, c.found)
		s.Rules[1].Pattern, s.Rules[1].Scope = c.pattern, c.scope
		var troubles []BenchTrouble
		for _, code := range c.troubles {
			troubles = append(troubles, BenchTrouble{Code: code, Text: "of " + code})
		}
		got, reason := verdict(s, found, "", troubles)
		assert.Equal(t, c.want, got, name)
		if c.want == rule.Void {
			assert.Contains(t, reason, "of ", name)
		}
	}
}
