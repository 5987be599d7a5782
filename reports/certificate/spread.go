package certificate

import (
	"fmt"
	"math"

	"pintle/reports"
	"pintle/reports/account"
	"pintle/reports/typeface"
	"pintle/rig/rule"
)

// spread draws what a requirement measured in every trial of a scenario, each
// as a stroke as wide as its doubt, on a scale with the limit.
func (s *sheet) spread(sc *reports.Scenario, j account.Judged) {
	if !j.Known || !j.Finding.Measured || j.Finding.Sense == rule.NoSense || j.Finding.Unit == rule.Times {
		return
	}
	f := j.Finding
	var all []rule.Finding
	lo, hi := f.Limit, f.Limit
	for i := range sc.Trials {
		for _, g := range sc.Trials[i].Findings {
			if g.Rule == f.Rule && g.Measured && reports.Standing(&sc.Trials[i], g) != rule.Void {
				all = append(all, g)
				lo, hi = min(lo, g.Value.Least), max(hi, g.Value.Most)
			}
		}
	}
	const high = 20.0
	if len(all) < 2 || hi <= lo {
		return
	}
	s.need(high + 2)
	s.down(2)
	if s.dry {
		s.down(high)
		return
	}
	s.text("B", 8.2, ink)
	y := s.GetY()
	words := fmt.Sprintf("In each of %d trials: ", len(all))
	if len(all) < len(sc.Trials) {
		words = fmt.Sprintf("In the %d of %d trials that measured it: ", len(all), len(sc.Trials))
	}
	if f.Rule >= 0 && f.Rule < len(sc.Rules) {
		words += typeface.Plain(sc.Rules[f.Rule].Name)
	}
	s.Text(margin, y+3, s.clip(words, s.width))
	pad := (hi - lo) / 12
	s.spreadStrip(f, all, lo-pad, hi+pad, y+8, high-12)
	s.SetXY(margin, y+high)
}

func (s *sheet) spreadStrip(limit rule.Finding, all []rule.Finding, lo, hi int64, y, high float64) {
	x := func(v int64) float64 { return margin + float64(s.width*(float64(v-lo)/float64(hi-lo))) }
	bound := x(limit.Limit)
	s.fill(paper, margin, y, s.width, high)
	s.line(frame, 0.2, margin, y, margin+s.width, y)
	s.line(frame, 0.2, margin, y+high, margin+s.width, y+high)
	far, near := all[0], all[0] // from the limit; what is beyond it is nearest
	for _, f := range all {
		c, row := ink, y+high*0.25
		if f.Verdict == rule.Fail {
			c = red
		}
		s.line(c, 0.18, x(f.Value.Mid()), row, x(f.Value.Mid()), y+high*0.75)
		s.line(c, 0.1, x(f.Value.Least), y+high/2, x(f.Value.Most), y+high/2)
		if f.Margin() > far.Margin() {
			far = f
		}
		if f.Margin() < near.Margin() {
			near = f
		}
	}
	s.line(green, 0.4, bound, y, bound, y+high)
	s.text("", 7.4, green)
	s.label(bound, y+high+3.2, limit.LimitText())
	s.text("", 7.4, ink)
	s.label(x(near.Value.Mid()), y-0.8, near.ValueText())
	apart := math.Abs(x(near.Value.Mid()) - x(far.Value.Mid()))
	if apart > s.GetStringWidth(far.ValueText())+s.GetStringWidth(near.ValueText()) {
		s.label(x(far.Value.Mid()), y-0.8, far.ValueText())
	}
}

// label writes a text with its middle at x, within the width of the page.
func (s *sheet) label(x, y float64, words string) {
	wide := s.GetStringWidth(words)
	s.Text(min(max(x-wide/2, margin), margin+s.width-wide), y, words)
}
