package webreport

import (
	"fmt"
	"math"

	"pintle/reports"
	"pintle/rig/rule"
	"pintle/rig/uncertainty"
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
	out := &budget{Standard: written(float64(a.Standard)/scale.Per, scale.Unit), Decision: a.Decision, How: how(a.Method),
		Interval: interval(a, scale)}
	for _, line := range l.Lines {
		row := budgetLine{Name: line.Input.Name, Distribution: line.Input.Distribution.String(),
			Standard: written(line.Standard/scale.Per, scale.Unit), Share: fmt.Sprintf("%.0f\u00a0%%", 100*line.Share)}
		if line.Input.HalfWidth > 0 {
			row.Half = written(line.Input.HalfWidth/scale.Per, scale.Unit)
		}
		out.Lines = append(out.Lines, row)
	}
	return out, nil
}

// interval has as many digits as its standard uncertainty makes worth telling.
func interval(a *rule.Appraisal, scale uncertainty.Scale) string {
	digits := int(max(0, 1-math.Floor(math.Log10(float64(max(1, a.Standard))/scale.Per))))
	return fmt.Sprintf("%.*f to %.*f\u00a0%s", digits, float64(a.Low)/scale.Per, digits, float64(a.High)/scale.Per, scale.Unit)
}

func how(method string) string {
	switch method {
	case "linear":
		return "the linear form, which drawing the inputs confirms"
	case "wider":
		return "the wider of the linear form and of drawing the inputs, as the drawing did not settle"
	}
	return "drawing the inputs at random, as the linear form is not good enough"
}

func written(x float64, unit string) string { return fmt.Sprintf("%.3g\u00a0%s", x, unit) }
