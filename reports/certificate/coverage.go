package certificate

import (
	"fmt"
	"strings"

	"pintle/reports/account"
	"pintle/rig/rule"
	"pintle/rig/wording"
)

// A count is a figure with what there are so many of.
type count struct {
	n     int
	what  string // broken into lines
	ink   colour // where there are any
	apart bool   // a rule of the paper stands before it
}

func counts(c account.Coverage) []count {
	t := c.Performed
	list := []count{{t.All(), "performed", ink, false}, {t.Pass, "passed", ink, true}, {t.Fail, "failed", verdictInk(rule.Fail), false},
		{t.Inconclusive, "inconclusive", ink, false}, {t.Void, "void", ink, false}, {len(c.NotPerformed), "not\nperformed", ink, true},
		{c.NotApplied, "not\napplicable", ink, false}}
	if c.Unlisted != "" {
		list[5].n = -1
	}
	if t.Other > 0 {
		list = append(list, count{t.Other, "not settled", ink, true})
	}
	return list
}

// figures are a row that has each scenario of the job in it: what was performed, what
// came of it, and what was not.
func (s *sheet) figures(x, wide float64) {
	const large, small = 12.0, 7.0
	list := counts(account.CoverageOf(s.run))
	each := wide / float64(len(list))
	s.column(x, wide, "", 8.4, ink, "Of the scenarios of this job:")
	y := s.GetY() + 0.4
	for i, c := range list {
		at := x + float64(i)*each
		if c.apart {
			s.line(frame, 0.2, at-1.6, y+0.6, at-1.6, y+leading(large)+2*leading(small))
		}
		s.figureAt(at, y, c)
	}
	s.SetXY(margin, y+leading(large)+2*leading(small)+1.2)
}

func (s *sheet) figureAt(x, y float64, c count) {
	const large, small = 12.0, 7.0
	style, words, colour := "B", fmt.Sprint(c.n), c.ink
	switch {
	case c.n == 0:
		style, colour = "", faint
	case c.n < 0:
		words = "some"
	}
	if s.dry {
		return
	}
	s.text(style, large, colour)
	s.Text(x, y+leading(large)*0.8, words)
	for i, line := range strings.Split(c.what, "\n") {
		s.text("", small, ink)
		s.Text(x, y+leading(large)+(float64(i)+0.7)*leading(small), line)
	}
}

// unperformed lists the scenarios that were not performed, by why.
func (s *sheet) unperformed() {
	left := account.CoverageOf(s.run).NotPerformed
	if len(left) == 0 {
		return
	}
	s.heading("Scenarios that were not performed: nothing is said of what they would test", 12)
	names := map[string][]string{}
	var order []string
	for _, u := range left {
		if names[u.Why] == nil {
			order = append(order, u.Why)
		}
		names[u.Why] = append(names[u.Why], u.Called)
	}
	for _, why := range order {
		all := names[why]
		s.paragraph("", 7.6, ink, fmt.Sprintf("%s, %s: %s.", wording.Upper(why), account.Count(len(all), "scenario"), strings.Join(all, "; ")))
		s.down(0.7)
	}
}
