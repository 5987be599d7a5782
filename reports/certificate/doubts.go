package certificate

import (
	"fmt"
	"strings"

	"pintle/reports"
	"pintle/rig/rule"
	"pintle/rig/uncertainty"
)

// risk is the probability that a limit is broken, short enough for a column.
func risk(j judged) string {
	if j.verdict == rule.Void {
		return ""
	}
	return strings.NewReplacer("under ", "< ", "over ", "> ").Replace(reports.Risk(j.finding))
}

// doubts is the uncertainty budget of the requirement with the least to spare, and
// what every figure of the risk means.
func (s *sheet) doubts() {
	i, ok := tightestAppraised(s.run)
	if !ok {
		return
	}
	j, r := i.judged, s.run.Scenarios[i.scenario].Rules[i.rule]
	b, _, err := reports.Budget(s.run, r.Name, j.finding)
	if err != nil || b == nil {
		return
	}
	l, err := b.Linear()
	if err != nil {
		return
	}
	s.heading("How far the measurements can be trusted", 30)
	s.paragraph("", 8.2, ink, fmt.Sprintf("The value of a requirement is stated with its expanded uncertainty, for a coverage of %s. Beside it, the risk is the "+
		"probability that the limit is broken, given that value. Below is the budget of the requirement with the least to spare: %s, in %s, trial %d: %s, and the limit is %s. "+
		"The budget of any other is in the record.",
		uncertainty.Percent(s.run.Coverage), upper(r.Name), s.run.Scenarios[i.scenario].Name, j.trial.Number, j.finding.ValueText(), j.finding.LimitText()))
	s.down(1)
	scale := reports.ScaleOf(j.finding.Unit)
	t := &table{points: 8, columns: []column{{"source of uncertainty, and what is assumed", 0.52, false}, {"distribution", 0.13, false},
		{"half-width", 0.12, true}, {"standard", 0.12, true}, {"share", 0.09, true}}}
	for _, line := range l.Lines {
		in := line.Input
		half := ""
		if in.HalfWidth > 0 {
			half = written(in.HalfWidth/scale.Per, scale.Unit)
		}
		t.row(say(in.Name).under(in.Source, faint), say(in.Distribution.String()), say(half),
			say(written(line.Standard/scale.Per, scale.Unit)), say(fmt.Sprintf("%.0f%s%%", 100*line.Share, glue)))
	}
	how := "linear form"
	if j.finding.Appraisal.Method != "linear" {
		how = "by drawing the inputs at random: the linear form is not good enough for these distributions"
	}
	t.row(say("combined").under("interval "+how, faint), cell{}, cell{}, say(written(float64(j.finding.Appraisal.Standard)/scale.Per, scale.Unit)), cell{})
	s.table(t)
}

func written(x float64, unit string) string { return fmt.Sprintf("%.3g%s%s", x, glue, unit) }

// A located is a finding with where it is from.
type located struct {
	judged
	scenario, rule int
}

// tightestAppraised finds the appraised requirement with the least margin as a part
// of its limit.
func tightestAppraised(run *reports.Run) (best located, ok bool) {
	for i := range run.Scenarios {
		sc := &run.Scenarios[i]
		for r := range sc.Rules {
			j := judgedOf(sc, r)
			a := j.finding.Appraisal
			if !j.known || a == nil || len(a.Lines) == 0 || j.verdict == rule.Void {
				continue
			}
			if !ok || j.room() < best.room() {
				best, ok = located{j, i, r}, true
			}
		}
	}
	return best, ok
}
