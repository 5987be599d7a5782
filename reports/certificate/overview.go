package certificate

import (
	"fmt"
	"slices"

	"pintle/reports"
	"pintle/rig/rule"
)

// overview is a row for each scenario: its verdict, what was tightest, its trials,
// and the page where it is told.
func (s *sheet) overview() {
	if len(s.run.Scenarios) == 0 {
		return
	}
	s.heading("Scenarios", 20)
	t := overviewTable()
	for i := range s.run.Scenarios {
		t.row(overviewRow(&s.run.Scenarios[i], true)...)
	}
	t.placed = func(i int, p place) { s.begins = append(s.begins, begin{i, p}) }
	s.table(t)
	s.leftOut()
}

// leftOut is a row for each scenario that does not apply to the job.
func (s *sheet) leftOut() {
	if len(s.run.LeftOut) == 0 {
		return
	}
	s.heading("Scenarios that do not apply: nothing is said of what they would test", 20)
	t := &table{points: 8, columns: []column{{"scenario", 0.5, false}, {"why it does not apply", 0.5, false}}}
	for _, l := range s.run.LeftOut {
		t.row(say(first(l.Title, l.Name)), say(l.Why))
	}
	s.table(t)
}

// excerpt is the overview of some scenarios only.
func (s *sheet) excerpt(which []int) {
	kind := "gravest and tightest"
	if s.run.Verdict == rule.Pass {
		kind = "tightest"
	}
	s.heading(fmt.Sprintf("The %s %d of %s; all of them on the next page", kind, len(which), count(len(s.run.Scenarios), "scenario")), 20)
	t := overviewTable()
	for _, i := range which {
		t.row(overviewRow(&s.run.Scenarios[i], false)...)
	}
	t.placed = func(n int, p place) { s.begins = append(s.begins, begin{which[n], p}) }
	s.table(t)
}

func overviewTable() *table {
	return &table{points: 8, columns: []column{{"verdict", 0.125, false}, {"scenario", 0.33, false}, {"tightest: measured", 0.185, false},
		{"limit", 0.13, false}, {"to spare", 0.105, false}, {"trials", 0.08, false}, {"page", 0.045, true}}}
}

func overviewRow(sc *reports.Scenario, reason bool) []cell {
	name := say(first(sc.Title, sc.Name))
	if reason && sc.Verdict != rule.Pass {
		name = name.under(first(sc.Reason, "no reason was given"), faint)
	}
	j := judgedScenario(sc)
	value, limit, spare := "", "", ""
	if j.known && j.finding.Measured {
		value, limit, spare = figures(j.verdict, j.finding)
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
	return say(unbroken(words))
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

// A begin is where the first page has room for the number of the page on which a
// scenario begins.
type begin struct {
	scenario int
	place
}

// number writes the page of a scenario into the overview.
func (s *sheet) number(scenario int) {
	here, x, y := s.PageNo(), s.GetX(), s.GetY()
	link := s.AddLink()
	s.SetLink(link, y, here)
	for _, at := range s.begins {
		if at.scenario != scenario {
			continue
		}
		s.SetPage(at.page)
		s.text("", 8, ink)
		s.right(at.x, at.y, fmt.Sprint(here))
		s.Link(margin, at.y-3, s.width, 4, link)
		s.SetPage(here)
	}
	s.SetXY(x, y)
}

// A cited is what became of a claim.
type cited struct {
	verdicts []rule.Verdict
	worst    judged
	where    string
	keeps    string // the bound that most trials keep
	rules    int
}

// claims is a row for each claim, with what the rules that refer to it came to. A
// claim that none refers to is not judged, and says so.
func (s *sheet) claims() {
	list := s.run.Controller.Claims
	if len(list) == 0 {
		return
	}
	s.heading("Claims of the controller's builder", 20)
	t := &table{points: 8, columns: []column{{"verdict", 0.125, false}, {"claim", 0.415, false}, {"figure", 0.08, false},
		{"rules", 0.06, false}, {"decided in", 0.32, false}}}
	for _, c := range list {
		t.row(claimRow(c, citedBy(s.run, c.Name))...)
	}
	s.table(t)
}

func claimRow(c reports.Claim, of cited) []cell {
	name := say(c.Name).under(c.Means, faint)
	if of.rules == 0 {
		return []cell{{parts: []piece{{"not judged", "B", ink}}}, name, say(unbroken(c.Value)), say("none"), quiet("no rule of this run refers to it")}
	}
	return []cell{verdictCell(worst(of.verdicts...)), name, say(unbroken(c.Value)), say(fmt.Sprint(of.rules)), say(of.where).under(of.keeps, faint)}
}

// citedBy gathers the findings of all rules that refer to a claim.
func citedBy(r *reports.Run, claim string) cited {
	var c cited
	for i := range r.Scenarios {
		sc := &r.Scenarios[i]
		for n := range sc.Rules {
			if !slices.Contains(sc.Rules[n].Claims, claim) {
				continue
			}
			j := judgedOf(sc, n)
			c.rules++
			c.verdicts = append(c.verdicts, j.verdict)
			graver := j.verdict != c.worst.verdict && worst(c.worst.verdict, j.verdict) == j.verdict
			if c.rules == 1 || graver || j.verdict == c.worst.verdict && j.room() < c.worst.room() {
				c.worst, c.where, c.keeps = j, first(sc.Title, sc.Name), reports.ToleranceText(r, sc, n)
			}
		}
	}
	if value, _, _ := figures(c.worst.verdict, c.worst.finding); value != "" {
		c.where += ": " + unbroken(value)
	}
	return c
}
