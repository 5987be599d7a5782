package certificate

import (
	"fmt"

	"pintle/reports"
	"pintle/reports/chart"
	"pintle/reports/typeface"
	"pintle/rig/signal"
)

// A shot is one requirement in one trial.
type shot struct {
	scenario       string
	trial, finding int
}

// A strip is the chart of a trial, or why there is none.
type strip struct {
	missing string
	chart   *chart.Chart
	spare   float64 // height that it can have besides what it needs
}

// strip fetches the trace of a trial, to draw the requirement of a finding in; of
// none where that is -1. The texts that the chart writes are made plain first.
func (s *sheet) strip(sc *reports.Scenario, trial, finding int) *strip {
	t := &sc.Trials[trial]
	s.shown[shot{sc.Name, trial, finding}] = true
	if s.traces == nil {
		return &strip{missing: fmt.Sprintf("The trace of trial %d is not shown: there is nowhere to fetch it from.", t.Number)}
	}
	trace, err := s.traces.Trace(s.run.ID, sc.Name, t.Number)
	if err == nil && trace == nil {
		err = fmt.Errorf("none was kept")
	}
	if err != nil {
		return &strip{missing: fmt.Sprintf("The trace of trial %d cannot be shown: %v", t.Number, err)}
	}
	clean := *trace
	clean.Marks = nil
	for _, m := range trace.Marks {
		clean.Marks = append(clean.Marks, signal.Mark{At: m.At, Text: typeface.Plain(m.Text)})
	}
	o := chart.Options{Title: fmt.Sprintf("Trial %d of %d", t.Number, len(sc.Trials)), Note: fmt.Sprintf("seed %d", t.Seed)}
	if finding >= 0 {
		f := t.Findings[finding]
		f.Verdict, f.Reason = reports.Standing(t, f), typeface.Plain(f.Reason)
		o.Finding = &f
		if f.Rule >= 0 && f.Rule < len(sc.Rules) {
			o.Rule = sc.Rules[f.Rule]
			o.Rule.Name = typeface.Plain(o.Rule.Name)
		}
	}
	return &strip{chart: chart.New(&clean, o)}
}

func (st *strip) write(s *sheet) {
	s.down(1)
	if st.missing != "" {
		s.paragraph("", 8.2, ink, sentence(st.missing))
		return
	}
	least, most := st.heights(s)
	s.chart(st.chart, min(most, least+st.spare))
}

// drawn says that there is a chart whose height can be chosen.
func (st *strip) drawn() bool { return st != nil && st.chart != nil }

// heights are how low a chart can be made before the names of its lanes touch,
// and how high it likes to be.
func (st *strip) heights(s *sheet) (least, most float64) {
	pen := chart.PDF(s.Fpdf, family)
	m := pen.Metrics()
	most = st.chart.Height(pen, s.width/smaller)
	flexible := m.Lane*float64(len(st.chart.Lanes())) + m.Current
	least = most - float64(flexible*(1-m.Row/m.Lane))
	return least * smaller, most * smaller
}

// chart draws a chart at a height, with all that is on it smaller.
func (s *sheet) chart(c *chart.Chart, high float64) {
	s.need(high)
	y := s.GetY()
	if !s.dry {
		s.TransformBegin()
		s.TransformScaleXY(100*smaller, margin, y)
		c.Draw(chart.PDF(s.Fpdf, family), chart.Area{X: margin, Y: y, W: s.width / smaller, H: high / smaller})
		s.TransformEnd()
	}
	s.SetXY(margin, y+high)
}
