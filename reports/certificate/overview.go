package certificate

import (
	"cmp"
	"fmt"
	"slices"

	"pintle/reports"
	"pintle/reports/account"
	"pintle/rig/fold"
	"pintle/rig/rule"
)

// overview is a row for each scenario: its verdict, what was tightest, its trials,
// and the page where it is told.
func (s *sheet) overview() {
	if len(s.run.Scenarios) == 0 {
		s.unperformed()
		return
	}
	s.heading("Scenarios", 20)
	t := overviewTable()
	for i := range s.run.Scenarios {
		t.row(overviewRow(&s.run.Scenarios[i], len(s.run.Scenarios) <= fewScenarios)...)
	}
	t.placed = func(i int, p place) { s.begins = append(s.begins, begin{scenarioKey(i), p}) }
	s.table(t)
	s.unperformed()
	s.leftOut()
}

// leftOut is a row for each scenario that does not apply to the job.
func (s *sheet) leftOut() {
	if len(s.run.LeftOut) == 0 {
		return
	}
	s.heading("Scenarios that do not apply: nothing is said of what they would test", 20)
	t := &table{points: 7.6, columns: []column{{"verdict", 0.125, false}, {"scenario", 0.425, false}, {"why it does not apply", 0.45, false}}}
	for _, l := range s.run.LeftOut {
		t.row(bold("not applicable"), say(cmp.Or(l.Title, l.Name)), say(l.Why))
	}
	s.table(t)
}

func overviewTable() *table {
	return &table{points: 7.6, columns: []column{{"verdict", 0.125, false}, {"scenario", 0.33, false}, {"tightest: measured", 0.185, false},
		{"limit", 0.13, false}, {"to spare", 0.105, false}, {"trials", 0.08, false}, {"page", 0.045, true}}}
}

// fewScenarios is up to how many each has a line about what it is for.
const fewScenarios = 12

func overviewRow(sc *reports.Scenario, why bool) []cell {
	name := say(cmp.Or(sc.Title, sc.Name))
	if sc.Verdict != rule.Pass {
		name = name.under(cmp.Or(sc.Reason, "no reason was given"), faint)
	} else if why {
		name = name.under(sc.Why, faint)
	}
	j := account.OfScenario(sc)
	value, limit, spare := "", "", ""
	if j.Known && j.Finding.Measured {
		value, limit, spare = j.Figures()
	}
	if sc.Verdict == rule.Pass && value == "" {
		value = "nothing to measure"
	}
	return []cell{verdictCell(sc.Verdict), name, figure(value), figure(limit), figure(spare), say(trialCount(sc)), {}}
}

// figure is a number that stays with its unit; it breaks at the sign between value
// and doubt if it must.
func figure(words string) cell {
	if words == "nothing to measure" {
		return quiet(words)
	}
	return say(fold.Held(words))
}

// trialCount says how many trials had the verdict of the scenario, of how many.
func trialCount(sc *reports.Scenario) string {
	n := 0
	for i := range sc.Trials {
		if sc.Trials[i].Verdict == sc.Verdict {
			n++
		}
	}
	if n == len(sc.Trials) {
		return fmt.Sprint(n)
	}
	return fmt.Sprintf("%d%sof%s%d", n, glue, glue, len(sc.Trials))
}

// A begin is where a table has room for the number of the page on which something is
// told further.
type begin struct {
	key string
	place
}

func scenarioKey(i int) string { return fmt.Sprintf("scenario %d", i) }

func claimKey(i int) string { return fmt.Sprintf("claim %d", i) }

// number writes this page into the tables beside what is told on it first.
func (s *sheet) number(keys ...string) {
	here, x, y := s.PageNo(), s.GetX(), s.GetY()
	link := s.AddLink()
	s.SetLink(link, y, here)
	for _, at := range s.begins {
		if !slices.Contains(keys, at.key) || s.numbered[at.key] {
			continue
		}
		s.page(at.page)
		s.text("", 8, ink)
		s.right(at.x, at.y, fmt.Sprint(here))
		s.Link(margin, at.y-3, s.width, 4, link)
		s.page(here)
	}
	for _, key := range keys {
		s.numbered[key] = true
	}
	s.SetXY(x, y)
}
