package certificate

import (
	"fmt"

	"pintle/reports"
	"pintle/reports/chart"
	"pintle/reports/typeface"
	"pintle/rig/signal"
)

// A strip is the chart of the trial of a scenario that says most, or why there is
// none.
type strip struct {
	missing string
	near    *chart.Chart // with the tightest requirement
	whole   *chart.Chart // all of the trial, where near is a part; nil: none
	steps   string
	scale   float64
	spare   float64 // height that near can have besides what it needs
}

// strip fetches the trace. The texts that the chart writes are made plain first.
func (s *sheet) strip(sc *reports.Scenario, traces reports.TraceSource, l layout) *strip {
	i, ok := reports.WorstTrial(sc)
	if !ok {
		return nil
	}
	t := &sc.Trials[i]
	if traces == nil {
		return &strip{missing: fmt.Sprintf("The trace of trial %d is not shown: there is nowhere to fetch it from.", t.Number)}
	}
	trace, err := traces.Trace(s.run.ID, sc.Name, t.Number)
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
	all := o
	if _, f, ok := reports.Tightest(sc); ok {
		finding := t.Findings[f]
		finding.Verdict, finding.Reason = reports.Standing(t, finding), typeface.Plain(finding.Reason)
		o.Finding = &finding
		if finding.Rule >= 0 && finding.Rule < len(sc.Rules) {
			o.Rule = sc.Rules[finding.Rule]
			o.Rule.Name = typeface.Plain(o.Rule.Name)
		}
	}
	st := &strip{near: chart.New(&clean, o), steps: steps(clean.Marks), scale: l.scale}
	from, to := st.near.Window()
	if l.apart && (from > 0 || to < clean.End) && clean.End > 0 {
		all.Title, all.Note = "The whole of it", ""
		all.From, all.To = 0, clean.End
		all.Lanes = st.near.Lanes()
		st.whole = chart.New(&clean, all)
	}
	if !l.apart {
		st.steps = ""
	}
	return st
}

func (st *strip) write(s *sheet) {
	s.down(1)
	if st.missing != "" {
		s.paragraph("", 8.2, ink, sentence(st.missing))
		return
	}
	if st.steps != "" {
		s.paragraph("", 7.6, faint, "Done in the trial shown: "+st.steps)
		s.down(1)
	}
	least, most := st.heights(s, st.near)
	s.chart(st.near, min(most, least+st.spare), st.scale)
	if st.whole == nil || s.dry {
		return
	}
	if least, most := st.heights(s, st.whole); s.left() > least+2 {
		s.down(2)
		s.chart(st.whole, min(s.left(), most, 78), st.scale)
	}
}

// enlarge draws the chart at its full size if there is as much room to spare, and
// says how much of it that takes.
func (st *strip) enlarge(s *sheet, spare float64) float64 {
	small, _ := st.heights(s, st.near)
	was := st.scale
	st.scale = 1
	full, _ := st.heights(s, st.near)
	if full-small > spare {
		st.scale = was
		return 0
	}
	return full - small
}

// drawn says that there is a chart whose height can be chosen.
func (st *strip) drawn() bool { return st != nil && st.near != nil }

// heights are how low a chart can be made before the names of its lanes touch,
// and how high it likes to be.
func (st *strip) heights(s *sheet, c *chart.Chart) (least, most float64) {
	pen := chart.PDF(s.Fpdf, family)
	m := pen.Metrics()
	most = c.Height(pen, s.width/st.scale)
	flexible := m.Lane*float64(len(c.Lanes())) + m.Current
	least = most - float64(flexible*(1-m.Row/m.Lane))
	return least * st.scale, most * st.scale
}

// chart draws a chart at a height, with all that is on it at a scale.
func (s *sheet) chart(c *chart.Chart, high, scale float64) {
	s.need(high)
	y := s.GetY()
	if !s.dry {
		s.TransformBegin()
		s.TransformScaleXY(100*scale, margin, y)
		c.Draw(chart.PDF(s.Fpdf, family), chart.Area{X: margin, Y: y, W: s.width / scale, H: high / scale})
		s.TransformEnd()
	}
	s.SetXY(margin, y+high)
}
