package summary

import (
	"cmp"
	"fmt"
	"io"
	"strings"
	"unicode/utf8"

	"pintle/reports"
	"pintle/rig/fold"
	"pintle/rig/rule"
	"pintle/rig/wording"
)

// Options say how the text looks.
type Options struct {
	Columns int                              // widest line; 0: 80
	Explain func(s *reports.Scenario) string // why a scenario was not passed, in a line; nil, or empty: nothing
	Warned  bool                             // tell what looks like a mistake in the job's files: whoever was not there when the run began was not warned
}

const (
	verdictColumn = 13
	mostName      = 24
)

// Write tells what a run came to, scenario by scenario.
func Write(w io.Writer, run *reports.Run, o Options) error {
	p := newPage(o)
	name := 0
	for _, s := range run.Scenarios {
		name = max(name, utf8.RuneCountInString(clean(s.Name)))
	}
	name = min(name, mostName) + 2
	for i := range run.Scenarios {
		s := &run.Scenarios[i]
		p.entry(s.Verdict, s.Name, name, sentence(s))
		if rule := telling(s); rule != "" {
			p.wrapped("", verdictColumn+2, rule)
		}
		if o.Explain != nil && !passed(s) {
			if why := o.Explain(s); why != "" && why != strings.ReplaceAll(s.Reason, fold.NoBreak, " ") {
				p.wrapped("", verdictColumn+2, why)
			}
		}
	}
	if len(run.Scenarios) > 0 {
		p.line("")
	}
	p.closing(run)
	if o.Warned {
		for _, w := range run.Warnings {
			p.wrapped("", verdictColumn, "Warning: "+w)
		}
	}
	_, err := io.WriteString(w, p.String())
	return err
}

func passed(s *reports.Scenario) bool { return s.Verdict == rule.Pass }

// Sentence tells the tightest margin of a scenario, or why there is none.
func Sentence(s *reports.Scenario) string { return strings.ReplaceAll(sentence(s), fold.NoBreak, " ") }

func sentence(s *reports.Scenario) string {
	reason := s.Reason
	trial, finding, ok := reports.Tightest(s)
	if !ok {
		return cmp.Or(reason, worstReason(s), "no trial was judged") + ofTrials(s)
	}
	t := &s.Trials[trial]
	f := t.Findings[finding]
	if reason == "" {
		reason = cmp.Or(f.Reason, t.Reason)
	}
	var words string
	switch v := reports.Standing(t, f); {
	case f.Measured && v != rule.Void:
		words = figures(f)
		if v == rule.Inconclusive && reason != "" {
			words += "; " + reason
		}
	case v == rule.Pass:
		words = "all rules kept, none with a margin to measure"
	default:
		words = cmp.Or(reason, "no reason was given")
	}
	return words + ofTrials(s)
}

// worstReason is the reason of the first trial that came to the worst verdict.
func worstReason(s *reports.Scenario) string {
	if trial, ok := reports.WorstTrial(s); ok {
		return s.Trials[trial].Reason
	}
	return ""
}

// telling is the rule that the sentence's figures are of.
func telling(s *reports.Scenario) string {
	trial, finding, ok := reports.Tightest(s)
	if !ok {
		return ""
	}
	f := s.Trials[trial].Findings[finding]
	if !f.Measured || f.Rule < 0 || f.Rule >= len(s.Rules) || s.Verdict == rule.Void {
		return ""
	}
	return s.Rules[f.Rule].Name
}

// figures are value, limit and margin of a measured finding.
func figures(f rule.Finding) string {
	parts := []string{f.ValueText()}
	if limit := f.LimitText(); limit != "" {
		parts = append(parts, limit)
	}
	if margin := f.MarginWords(); margin != "" {
		parts = append(parts, margin)
	}
	for i, part := range parts { // a number stays with its unit
		parts[i] = fold.Held(part)
	}
	return strings.Join(parts, ", ")
}

// ofTrials counts the trials where there is more than one.
func ofTrials(s *reports.Scenario) string {
	if len(s.Trials) == 1 {
		return ""
	}
	return " (" + counts(reports.TallyTrials(s), "trial") + ")"
}

// counts says plainly how many there are of each verdict.
func counts(t reports.Tally, what string) string {
	if t.All() != 1 {
		what += "s"
	}
	parts := []string{}
	for _, n := range []struct {
		count int
		word  string
	}{{t.Pass, "pass"}, {t.Fail, "fail"}, {t.Inconclusive, "inconclusive"}, {t.Void, "void"}, {t.Other, "unsettled"}} {
		if n.count > 0 {
			parts = append(parts, fmt.Sprintf("%d%s%s", n.count, fold.NoBreak, n.word))
		}
	}
	if len(parts) == 0 {
		return "no " + what
	}
	return fmt.Sprintf("%d%s%s: %s", t.All(), fold.NoBreak, what, strings.Join(parts, ", "))
}

func (p *page) closing(run *reports.Run) {
	end := counts(reports.TallyScenarios(run), "scenario")
	if run.Reason != "" {
		end += "; " + run.Reason
	}
	p.entry(run.Verdict, "run "+run.ID, utf8.RuneCountInString(clean(run.ID))+6, end)
	if text := reports.Demonstrated(run); text != "" {
		p.wrapped("", verdictColumn, text)
	}
	if n := len(run.LeftOut); n > 0 {
		p.wrapped("", verdictColumn, wording.Count(n, "scenario does", "scenarios do")+" not apply to this job; pintle list says why.")
	}
	if run.Bench.Virtual || run.Bench.Simulated {
		p.wrapped("", verdictColumn, "A rehearsal with a simulated controller: it says nothing of any hardware.")
	}
	if len(run.Controller.Defects) > 0 {
		p.wrapped("", verdictColumn, "Seeded on purpose into the simulated controller: "+strings.Join(run.Controller.Defects, ", ")+".")
	}
}
