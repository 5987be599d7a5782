package webreport

import (
	"fmt"

	"pintle/reports"
	"pintle/reports/account"
	"pintle/rig/rule"
)

// A budget is what makes a value uncertain, line by line, in words.
type budget struct {
	Lines    []budgetLine
	Standard string // combined
	Interval string
	How      string
	Decision string
}

type budgetLine struct{ Name, Distribution, Half, Standard, Share string }

func newBudget(run *reports.Run, name string, f rule.Finding) (*budget, error) {
	b, any, err := reports.Budget(run, name, f)
	if err != nil || !any {
		return nil, err
	}
	l, err := b.Linear()
	if err != nil {
		return nil, fmt.Errorf("budget of %q: %w", name, err)
	}
	scale, a := reports.ScaleOf(f.Unit), f.Appraisal
	out := &budget{Standard: account.Figure(float64(a.Standard), scale), Decision: a.Decision, How: account.How(a),
		Interval: account.Interval(a, scale)}
	for _, line := range l.Lines {
		row := budgetLine{Name: line.Input.Name, Distribution: line.Input.Distribution.String(),
			Standard: account.Figure(line.Standard, scale), Share: fmt.Sprintf("%.0f\u00a0%%", 100*line.Share)}
		if line.Input.HalfWidth > 0 {
			row.Half = account.Figure(line.Input.HalfWidth, scale)
		}
		out.Lines = append(out.Lines, row)
	}
	return out, nil
}
