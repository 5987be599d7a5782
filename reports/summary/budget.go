package summary

import (
	"cmp"
	"fmt"
	"io"
	"slices"
	"strings"

	"pintle/reports"
	"pintle/reports/account"
	"pintle/rig/rule"
	"pintle/rig/uncertainty"
)

// Budgets prints the uncertainty budget of each finding of a trial, what its
// interval was taken from, and what the decision rule made of it.
func Budgets(w io.Writer, run *reports.Run, s *reports.Scenario, t *reports.Trial, o Options) error {
	p := newPage(o)
	p.wrapped("", 0, fmt.Sprintf("%s, trial %d of run %s, decided by %s", s.Name, t.Number, run.ID, cmp.Or(run.DecisionBy, "a rule that is not stated")))
	var used []uncertainty.Input
	for _, f := range t.Findings {
		p.line("")
		name := ruleName(s, f)
		b, any, err := reports.Budget(run, name, f)
		if err != nil {
			return err
		}
		if !any {
			p.wrapped("", 0, name+": "+noBudget(f))
			continue
		}
		used = noteAll(used, b.Inputs)
		l, err := b.Linear()
		if err != nil {
			return fmt.Errorf("budget of %q: %w", name, err)
		}
		scale := reports.ScaleOf(f.Unit)
		p.WriteString(l.Table(scale))
		p.decided(f, scale)
	}
	if len(used) > 0 {
		p.line("")
		p.line("What is assumed:")
	}
	for _, in := range used {
		p.wrapped("", 2, in.Name+": "+in.Source)
	}
	_, err := io.WriteString(w, p.String())
	return err
}

// noteAll keeps each source of uncertainty once, and takes what it assumes out of
// the budget's own lines, where it would come again and again.
func noteAll(used, inputs []uncertainty.Input) []uncertainty.Input {
	for i := range inputs {
		in := inputs[i]
		if _, name, ended := strings.Cut(in.Name, ": "); ended { // the same at the start and at the end
			in.Name = name
		}
		if !slices.ContainsFunc(used, func(u uncertainty.Input) bool { return u.Name == in.Name }) {
			used = append(used, in)
		}
		inputs[i].Source = ""
	}
	return used
}

// decided says how the interval came about that was decided by, and the decision.
func (p *page) decided(f rule.Finding, scale uncertainty.Scale) {
	a := f.Appraisal
	p.wrapped("", 0, fmt.Sprintf("decided by: %s, from %s", account.Interval(a, scale), account.How(a)))
	p.wrapped("", 0, fmt.Sprintf("limit: %s; %s; probability that it is broken: %s", f.LimitText(), a.Decision, reports.Risk(f)))
}

func noBudget(f rule.Finding) string {
	switch {
	case f.Appraisal != nil && f.Appraisal.Beyond:
		return "it was still going on when its limit was over: broken for certain"
	case !f.Measured:
		return "nothing was measured"
	case f.Unit == rule.Times:
		return "it is counted, and has no uncertainty"
	case f.Appraisal == nil && f.Value.Least == f.Value.Most:
		return "it is known exactly"
	}
	return "it was not appraised"
}

func ruleName(s *reports.Scenario, f rule.Finding) string {
	if f.Rule >= 0 && f.Rule < len(s.Rules) {
		return s.Rules[f.Rule].Name
	}
	return fmt.Sprintf("rule %d", f.Rule+1)
}
