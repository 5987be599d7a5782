package certificate

import (
	"cmp"
	"fmt"

	"pintle/reports"
	"pintle/rig/fold"
	"pintle/rig/rule"
	"pintle/rig/wording"
)

// mostCharts is how many charts there are at most, those of what did not pass included,
// so that a certificate stays one that is read.
const mostCharts = 22

// charts are the strip charts of the tightest trial of each claim, the gravest first.
// One that is drawn already, for another claim or with what did not pass, is not drawn
// again.
func (s *sheet) charts() {
	var list []*entry
	of := map[shot]*entry{}
	more, room := 0, mostCharts-len(s.shown)
	for _, c := range s.claimsByConcern() {
		at, ok := s.shotOf(c)
		switch e := of[at]; {
		case !ok:
		case e != nil:
			e.title += ", " + c.Name
			e.keys = append(e.keys, claimKey(c.index))
		case s.shown[at]:
		case len(list) == room:
			more++
		default:
			e := s.claimEntry(c, at)
			of[at] = e
			list = append(list, e)
		}
	}
	if len(list) == 0 {
		return
	}
	if s.left() < 120 {
		s.turn()
	}
	s.text("", 8, ink)
	s.Bookmark("The tightest trial of each claim", 0, max(0, s.GetY()-5))
	s.heading("The tightest trial of each claim", 70)
	s.flow(list)
	if more > 0 {
		s.down(3)
		s.paragraph("", 8, ink, fmt.Sprintf("A further %s a chart in the record: those drawn here have the gravest verdicts, then the least to spare. pintle show %s SCENARIO draws any of them.",
			map[bool]string{true: "claim has", false: fmt.Sprintf("%d claims have", more)}[more == 1], s.run.ID))
	}
}

// shotOf finds the trial that says most about a claim. There is none where nothing was
// found of it.
func (s *sheet) shotOf(c cited) (shot, bool) {
	if c.Rules == 0 || !c.Known {
		return shot{}, false
	}
	sc := &s.run.Scenarios[c.Scenario]
	trial, finding, ok := reports.TightestOf(sc, c.Rule)
	return shot{sc.Name, trial, finding}, ok
}

func (s *sheet) claimEntry(c cited, at shot) *entry {
	sc := &s.run.Scenarios[c.Scenario]
	e := &entry{title: c.Name, keys: []string{claimKey(c.index), scenarioKey(c.Scenario)}, strip: s.strip(sc, at.trial, at.finding)}
	j := c.Judged
	e.write = func() {
		y := s.GetY()
		s.text("B", 9.5, ink)
		s.column(margin, s.width-30, "B", 9.5, ink, e.title)
		if !s.dry {
			s.text("B", 9.5, verdictInk(j.Verdict))
			words := j.Verdict.String()
			s.right(margin+s.width, y+leading(9.5)*0.76, words)
			if wide := s.GetStringWidth(words); j.Verdict == rule.Fail {
				s.scribble(margin+s.width-wide, y+leading(9.5)*0.76+1.3, wide, 1)
			}
		}
		s.line(frame, 0.25, margin, s.GetY()+0.6, margin+s.width, s.GetY()+0.6)
		s.down(1.6)
		s.paragraph("", 7.8, faint, s.about(sc, c))
		if len(sc.Trials) > 1 && len(s.cites) <= fewClaims {
			s.spread(sc, j)
		}
	}
	return e
}

// fewClaims is up to how many claims each has its spread over the trials drawn as well.
const fewClaims = 8

// about says what is drawn.
func (s *sheet) about(sc *reports.Scenario, c cited) string {
	value, limit, spare := c.Figures()
	words := fmt.Sprintf("%s, trial %d. %s", cmp.Or(sc.Title, sc.Name), c.Trial.Number, wording.Upper(sc.Rules[c.Rule].Name))
	if value != "" {
		words += ": " + fold.Held(value) + ", " + fold.Held(limit)
	}
	if by := c.Finding.MarginWords(); spare != "" && by != "" {
		words += ", " + fold.Held(by)
	}
	if why := c.Reason(); c.Verdict != rule.Pass && why != "" {
		words += "; " + why
	}
	if keeps := reports.ToleranceText(s.run, sc, c.Rule); keeps != "" {
		words += ". Shown by the trials: " + keeps
	}
	return sentence(words)
}
