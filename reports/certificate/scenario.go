package certificate

import (
	"fmt"

	"pintle/reports"
	"pintle/reports/chart"
	"pintle/rig/rule"
)

// apart is up to how many scenarios each has a page of its own, with its chart.
// Of more, those that did not pass and the tightest few have charts.
const apart = 30

func (s *sheet) scenarios(traces reports.TraceSource) {
	many := len(s.run.Scenarios) > apart
	if many {
		s.AddPage()
	}
	charts := 0
	for i := range s.run.Scenarios {
		sc := &s.run.Scenarios[i]
		if !many {
			s.AddPage()
		} else {
			s.need(50)
		}
		s.scenario(sc, traces, !many || sc.Verdict != rule.Pass && charts < 8)
		if sc.Verdict != rule.Pass {
			charts++
		}
	}
}

func (s *sheet) scenario(sc *reports.Scenario, traces reports.TraceSource, drawn bool) {
	s.text("B", 13, ink)
	s.MultiCell(s.width, 6.5, plain(sc.Title), "", "L", false)
	s.paragraph(8.5, faint, sc.Name)
	if drawn {
		s.Ln(1)
		s.paragraph(9, ink, sc.Why)
	}
	s.Ln(2)
	s.text("B", 11, verdictInk(sc.Verdict))
	words := sc.Verdict.String()
	if len(sc.Trials) != 1 {
		t := reports.TallyTrials(sc)
		words += fmt.Sprintf(": of %d trials %d passed, %d failed, %d inconclusive, %d void", t.All(), t.Pass, t.Fail, t.Inconclusive, t.Void)
	}
	s.MultiCell(s.width, 5.5, words, "", "L", false)
	if sc.Reason != "" {
		s.paragraph(9, ink, sc.Reason)
	}
	s.Ln(1.5)
	s.findings(sc)
	if drawn {
		s.chart(sc, traces)
	}
	s.Ln(5)
}

// findings is a row for each rule: what it measured in the trial that decided it.
func (s *sheet) findings(sc *reports.Scenario) {
	t := s.table(8, column{"verdict", 0.12}, column{"requirement", 0.45}, column{"measured", 0.2}, column{"limit", 0.12}, column{"to spare", 0.11})
	for i, r := range sc.Rules {
		trial, f, ok := reports.TightestOf(sc, i)
		if !ok {
			t.row(cell("no finding"), cell(r.Name))
			continue
		}
		tr := &sc.Trials[trial]
		finding := tr.Findings[f]
		v := reports.Standing(tr, finding)
		name := r.Name
		if v != rule.Pass && finding.Reason != "" {
			name += " — " + finding.Reason
		}
		if len(sc.Trials) > 1 {
			name += fmt.Sprintf(" (trial %d)", tr.Number)
		}
		spare := finding.MarginText()
		if finding.Unit == rule.Times && v == rule.Pass {
			spare = ""
		}
		t.row(cellText{v.String(), v != rule.Pass, verdictInk(v)}, cell(name), cell(finding.ValueText()), cell(finding.LimitText()), cell(spare))
	}
}

// chart draws the trial that decided, with the requirement that was tightest.
func (s *sheet) chart(sc *reports.Scenario, traces reports.TraceSource) {
	trial, ok := reports.WorstTrial(sc)
	if !ok {
		return
	}
	t := &sc.Trials[trial]
	s.Ln(4)
	trace, err := traces.Trace(s.run.ID, sc.Name, t.Number)
	if err != nil {
		s.paragraph(8.5, faint, "The trace of trial "+fmt.Sprint(t.Number)+" cannot be shown: "+err.Error())
		return
	}
	o := chart.Options{Title: fmt.Sprintf("Trial %d of %d", t.Number, len(sc.Trials)), Note: fmt.Sprintf("seed %d", t.Seed)}
	if _, f, ok := reports.Tightest(sc); ok && f < len(t.Findings) {
		finding := t.Findings[f]
		o.Finding, o.Rule = &finding, sc.Rules[finding.Rule]
	}
	c := chart.New(trace, o)
	pen := chart.PDF(s.Fpdf, family)
	high := c.Height(pen, s.width)
	s.need(high)
	y := s.GetY()
	c.Draw(pen, chart.Area{X: margin, Y: y, W: s.width, H: high})
	s.SetXY(margin, y+high)
}
