package certificate

import (
	"cmp"
	"fmt"
	"strings"

	"pintle/reports"
	"pintle/reports/account"
	"pintle/rig/fold"
	"pintle/rig/rule"
	"pintle/rig/uncertainty"
	"pintle/rig/wording"
)

// risk is the probability that a limit is broken, short enough for a column.
func risk(j account.Judged) string {
	return strings.NewReplacer("under ", "< ", "over ", "> ").Replace(j.Risk())
}

// doubts is the uncertainty budget of the requirement with the least to spare of each
// kind of quantity, and what the figures of risk and uncertainty mean.
func (s *sheet) doubts() {
	first := true
	for _, unit := range []rule.Unit{rule.Nanoseconds, rule.Microamperes, rule.Millionths} {
		at, ok := tightestAppraised(s.run, unit)
		if !ok {
			continue
		}
		b, _, err := reports.Budget(s.run, s.run.Scenarios[at.scenario].Rules[at.rule].Name, at.Finding)
		if err != nil || b == nil {
			continue
		}
		l, err := b.Linear()
		if err != nil {
			continue
		}
		if first {
			s.need(90)
			s.heading("How far the measurements can be trusted", 60)
			s.paragraph("", 8, ink, fmt.Sprintf("A value is stated with its expanded uncertainty, for a coverage of %s (JCGM 100:2008). The risk is the "+
				"probability that the limit is broken, given that value and its uncertainty. Below are the budgets of the requirements with the least to spare, one for each kind of quantity; "+
				"those of all others are in the record.", uncertainty.Percent(s.run.Coverage)))
			first = false
		}
		s.budget(at, l)
	}
}

func (s *sheet) budget(at located, l uncertainty.Linear) {
	j, sc := at.Judged, &s.run.Scenarios[at.scenario]
	s.need(40)
	s.down(2)
	s.paragraph("B", 8, ink, fmt.Sprintf("%s, in %s, trial %d: %s, where it must be %s; risk %s.", wording.Upper(sc.Rules[at.rule].Name), sc.Name, j.Trial.Number, j.Finding.ValueText(), j.Finding.LimitText(), fold.Held(cmp.Or(risk(j), "not stated"))))
	s.down(0.5)
	scale := reports.ScaleOf(j.Finding.Unit)
	t := &table{points: 7.6, columns: []column{{"source of uncertainty, and what is assumed", 0.52, false}, {"distribution", 0.13, false},
		{"half-width", 0.12, true}, {"standard", 0.12, true}, {"share", 0.09, true}}}
	for _, line := range l.Lines {
		in := line.Input
		half := ""
		if in.HalfWidth > 0 {
			half = account.Figure(in.HalfWidth, scale)
		}
		t.row(say(in.Name).under(in.Source, faint), say(in.Distribution.String()), say(half),
			say(account.Figure(line.Standard, scale)), say(fmt.Sprintf("%.0f%s%%", 100*line.Share, glue)))
	}
	t.row(say("combined").under("interval from "+account.How(j.Finding.Appraisal), faint), cell{}, cell{}, say(account.Figure(float64(j.Finding.Appraisal.Standard), scale)), cell{})
	s.table(t)
}

// A located is a finding with where it is from.
type located struct {
	account.Judged
	scenario, rule int
}

// tightestAppraised finds the appraised requirement in a unit with the least margin as a part
// of its limit.
func tightestAppraised(run *reports.Run, unit rule.Unit) (best located, ok bool) {
	for i := range run.Scenarios {
		sc := &run.Scenarios[i]
		for r := range sc.Rules {
			j := account.OfRule(sc, r)
			a := j.Finding.Appraisal
			if !j.Known || j.Finding.Unit != unit || a == nil || len(a.Lines) == 0 || j.Verdict == rule.Void {
				continue
			}
			if !ok || j.Room() < best.Room() {
				best, ok = located{j, i, r}, true
			}
		}
	}
	return best, ok
}
