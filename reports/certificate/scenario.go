package certificate

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"pintle/reports"
	"pintle/reports/account"
	"pintle/rig/fold"
	"pintle/rig/rule"
	"pintle/rig/wording"
)

const (
	between    = 6.0  // entries on a page
	ending     = 5.0  // for the mark at the end of the document
	smaller    = 0.78 // scale of the charts
	mostDetail = 8    // scenarios that did not pass and are told in full
	fewDetails = 4    // up to which each has its spread over the trials as well
	mostWhole  = 60   // requirements up to which those of passed scenarios are listed too
)

// details tells in full of the scenarios that did not pass, the gravest first, and
// where there are few requirements, lists those of the others.
func (s *sheet) details() {
	var open, passed, told []int
	rules := 0
	for _, i := range account.ByConcern(s.run) {
		if rules += len(s.run.Scenarios[i].Rules); s.run.Scenarios[i].Verdict != rule.Pass {
			open = append(open, i)
		} else {
			passed = append(passed, i)
		}
	}
	told = open[:min(len(open), mostDetail)]
	var list []*entry
	for _, i := range told {
		list = append(list, s.detail(i, true, len(told) <= fewDetails))
	}
	if len(list) > 0 {
		if s.left() < 150 {
			s.turn()
		}
		s.text("", 8, ink)
		s.Bookmark("What did not pass", 0, max(0, s.GetY()-5))
		s.heading("What did not pass", 60)
		s.flow(list)
		if more := len(open) - len(told); more > 0 {
			s.down(3)
			s.paragraph("B", 8.2, ink, fmt.Sprintf("A further %d did not pass. They are listed with their reasons under Scenarios, and told in full in the record: pintle show %s SCENARIO.", more, s.run.ID))
		}
	}
	if rules > mostWhole || len(passed) == 0 {
		return
	}
	slices.Sort(passed)
	list = nil
	for _, i := range passed {
		list = append(list, s.detail(i, false, false))
	}
	if s.left() < 100 {
		s.turn()
	}
	s.heading("Every requirement of the scenarios that passed", 40)
	s.flow(list)
}

// detail is a scenario with its findings, with a chart where it is drawn, and with what
// each trial measured where it is spread out.
func (s *sheet) detail(i int, drawn, spread bool) *entry {
	sc := &s.run.Scenarios[i]
	e := &entry{title: cmp.Or(sc.Title, sc.Name), keys: []string{scenarioKey(i)}, parts: true}
	if drawn {
		if t, ok := reports.WorstTrial(sc); ok {
			f := -1
			if _, finding, found := reports.Tightest(sc); found {
				f = finding
			}
			e.strip = s.strip(sc, t, f)
			for _, c := range s.cites {
				if at, ok := s.shotOf(c); ok && at == (shot{sc.Name, t, f}) {
					e.keys = append(e.keys, claimKey(c.index))
				}
			}
		}
	}
	e.write = func() {
		s.entryHead(sc)
		s.findings(sc)
		s.troubles(sc)
		if spread && len(sc.Trials) > 1 {
			s.spread(sc, account.OfScenario(sc))
		}
	}
	return e
}

// entryHead is the title with the verdict at its right, why the scenario is there,
// and what its trials came to.
func (s *sheet) entryHead(sc *reports.Scenario) {
	const points = 11.0
	y, page := s.GetY(), s.PageNo()
	s.text("B", points, ink)
	room := s.width - s.GetStringWidth("INCONCLUSIVE") - 4
	s.column(margin, room, "B", points, ink, cmp.Or(sc.Title, sc.Name))
	if !s.dry && page == s.PageNo() {
		s.text("B", points, verdictInk(sc.Verdict))
		words := strings.ToUpper(sc.Verdict.String())
		base := y + leading(points)*0.76
		s.right(margin+s.width, base, words)
		if wide := s.GetStringWidth(words); sc.Verdict == rule.Fail {
			s.scribble(margin+s.width-wide, base+1.5, wide, 1.1)
		}
	}
	s.line(frame, 0.3, margin, s.GetY()+0.9, margin+s.width, s.GetY()+0.9)
	s.down(2.2)
	s.paragraph("", 7.8, faint, cmp.Or(sc.Name, "without a name")+". "+glued(account.Outcome(sc)))
	s.down(0.4)
	s.paragraph("", 8.2, ink, sc.Why)
	if sc.Reason != "" {
		s.down(0.6)
		s.paragraph("B", 8.4, ink, sentence(wording.Upper(sc.Reason)))
	}
	s.down(1)
}

const findingPoints = 7.5

// findings is a row for each rule: what it measured in the trial that says most
// about it.
func (s *sheet) findings(sc *reports.Scenario) {
	several := len(sc.Trials) > 1
	last := column{"tested", 0.08, true}
	if several {
		last = column{"in trial", 0.08, true}
	}
	t := &table{points: findingPoints, columns: []column{{"verdict", 0.115, false}, {"requirement", 0.305, false}, {"limit", 0.125, false},
		{"measured", 0.165, false}, {"to spare", 0.105, false}, {"risk", 0.105, false}, last}}
	for i := range sc.Rules {
		t.row(findingRow(sc, i, several)...)
	}
	if len(sc.Rules) == 0 {
		s.paragraph("", findingPoints, faint, "The scenario has no requirement.")
		return
	}
	s.table(t)
}

func findingRow(sc *reports.Scenario, i int, several bool) []cell {
	r, j := sc.Rules[i], account.OfRule(sc, i)
	name := say(cmp.Or(r.Name, fmt.Sprintf("rule %d", i+1)))
	if !j.Known {
		return []cell{verdictCell(j.Verdict), name.under("nothing was found of it: it was not judged", faint), {}, {}, {}, {}, {}}
	}
	if j.Verdict != rule.Pass {
		name = name.under(cmp.Or(j.Finding.Reason, j.Trial.Reason, "no reason was given"), faint)
	}
	value, limit, spare := j.Figures()
	last := wording.Times(j.Finding.Exercised)
	if several {
		last = fmt.Sprint(j.Trial.Number)
	}
	return []cell{verdictCell(j.Verdict), name, say(fold.Held(limit)), say(fold.Held(value)), say(fold.Held(spare)), say(fold.Held(risk(j))), say(last)}
}

const mostTroubles = 4

// troubles tells what went wrong with the bench in the trial that is shown.
func (s *sheet) troubles(sc *reports.Scenario) {
	i, ok := reports.WorstTrial(sc)
	if !ok || len(sc.Trials[i].Troubles) == 0 {
		return
	}
	list := sc.Trials[i].Troubles
	more := ""
	if n := len(list) - mostTroubles; n > 0 {
		list, more = list[:mostTroubles], fmt.Sprintf("; and %d more", n)
	}
	s.paragraph("", 8, ink, fmt.Sprintf("Trouble of the bench in trial %d: %s%s.", sc.Trials[i].Number, strings.Join(list, "; "), more))
	s.down(0.5)
}
