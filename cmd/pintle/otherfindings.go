package main

import (
	"fmt"
	"reflect"
	"slices"
	"strings"

	"pintle/reports"
	"pintle/rig/rule"
	"pintle/scenarios"
)

// sameFindings wants the findings to be what they were, in all that a record keeps of them.
func (a *again) sameFindings(where string, s *scenarios.Scenario, recorded, now []rule.Finding) {
	if len(recorded) != len(now) {
		a.differ(where, "number of findings", fmt.Sprint(len(recorded)), fmt.Sprint(len(now)))
		return
	}
	for i := range now {
		x, y := recordable(recorded[i]), recordable(now[i])
		if reflect.DeepEqual(x, y) {
			continue
		}
		at, before := where+" "+s.Rules[i].Name, a.noted()
		a.differ(at, "verdict", x.Verdict.String(), y.Verdict.String())
		a.differ(at, "value", x.ValueText(), y.ValueText())
		a.differ(at, "limit", x.LimitText(), y.LimitText())
		a.differ(at, "reason", x.Reason, y.Reason)
		if a.noted() == before {
			a.differ(at, "finding", fmt.Sprintf("%+v", told(x)), fmt.Sprintf("%+v", told(y)))
		}
	}
}

func (a *again) noted() int {
	a.mu.Lock()
	defer a.mu.Unlock()
	return a.count
}

// recordable is a finding without what a record does not keep.
func recordable(f rule.Finding) rule.Finding {
	f.ByValue, f.Open = false, nil
	if len(f.Decided) == 0 {
		f.Decided = nil
	}
	if f.Appraisal != nil && len(f.Appraisal.Lines) == 0 {
		a := *f.Appraisal
		a.Lines, f.Appraisal = nil, &a
	}
	return f
}

// told is a finding as it prints.
func told(f rule.Finding) any {
	if f.Appraisal == nil {
		return f
	}
	a := *f.Appraisal
	f.Appraisal = nil
	return struct {
		rule.Finding
		Appraised rule.Appraisal
	}{f, a}
}

// otherFindings tells what comes of each rule when it is another one, by its name.
func (a *again) otherFindings(where string, s *reports.Scenario, rules *scenarios.Scenario, recorded, now []rule.Finding) {
	for i, f := range now {
		name := rules.Rules[i].Name
		was := "not asked"
		for j, r := range s.Rules {
			if r.Name == name && j < len(recorded) {
				was = outcomeText(recorded[j])
			}
		}
		if is := outcomeText(f); firstWord(was) != firstWord(is) {
			a.differ(where+" "+name, "rule", was, is)
		}
	}
	for j, r := range s.Rules { // what is not asked any more must not look like what is kept
		if j < len(recorded) && !slices.ContainsFunc(rules.Rules, func(x rule.Rule) bool { return x.Name == r.Name }) {
			a.differ(where+" "+r.Name, "rule", outcomeText(recorded[j]), "not asked")
		}
	}
}

// outcomeText is what came of a rule in a line.
func outcomeText(f rule.Finding) string {
	text := f.Verdict.String()
	if v := f.ValueText(); f.Measured && v != "" {
		text += ": " + v + ", " + f.LimitText()
	} else if f.Reason != "" {
		text += ": " + f.Reason
	}
	return text
}

func firstWord(s string) string { w, _, _ := strings.Cut(s, ":"); return w }
