package certificate

import (
	"fmt"
	"strings"

	"pintle/reports"
	"pintle/reports/typeface"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// A layout is how much room a scenario gets, by how many there are.
type layout struct {
	apart  bool    // a page for each
	points float64 // of the findings
	scale  float64 // of the charts
	charts int     // how many scenarios have one
	why    bool    // it says what the scenario is for
}

// layoutFor keeps a long run short: of few scenarios each has a page, of more as
// many share one as fit, and of many only those have a chart that most deserve a
// look.
func layoutFor(scenarios int) layout {
	switch {
	case scenarios <= 16:
		return layout{true, 8.2, 1, scenarios, true}
	case scenarios <= 30:
		return layout{false, 7.5, 0.78, scenarios, true}
	}
	return layout{false, 7, 0.78, 8, false}
}

// An entry is a scenario on its way to a page.
type entry struct {
	index int
	*reports.Scenario
	strip *strip  // nil: none is printed
	least float64 // height, with its chart as low as can be
}

const (
	between = 7.0 // entries on a page
	ending  = 5.0 // for the mark at the end of the document
)

func (s *sheet) scenarios(traces reports.TraceSource) {
	if len(s.run.Scenarios) == 0 {
		return
	}
	l := layoutFor(len(s.run.Scenarios))
	drawn := map[int]bool{}
	for _, i := range byConcern(s.run)[:min(l.charts, len(s.run.Scenarios))] {
		drawn[i] = true
	}
	var shared []*entry
	used := 0.0
	if l.apart || s.left() < 110 {
		s.turn()
	}
	room := s.left() - ending
	for i := range s.run.Scenarios {
		e := &entry{index: i, Scenario: &s.run.Scenarios[i]}
		if drawn[i] {
			e.strip = s.strip(e.Scenario, traces, l)
		}
		e.least = s.measure(func() { s.entry(l, e) })
		if len(shared) > 0 && (l.apart || used+e.least > room) || used+e.least > room && room < s.bottom-top-ending {
			s.share(l, shared)
			s.turn()
			shared, used, room = nil, 0, s.left()-ending
		}
		shared = append(shared, e)
		used += between + e.least
	}
	s.share(l, shared)
	s.undrawn(len(drawn))
}

// share puts entries on a page. What they leave of it makes their charts higher.
func (s *sheet) share(l layout, entries []*entry) {
	spare, charts := s.left()-ending, 0
	for _, e := range entries {
		spare -= e.least + between
		if e.strip.drawn() {
			charts++
		}
	}
	if len(entries) == 1 && charts == 1 {
		spare -= entries[0].strip.enlarge(s, spare)
	}
	for _, e := range entries {
		if s.GetY() > top+0.1 {
			s.down(between)
		}
		if e.strip.drawn() {
			e.strip.spare = max(0, spare/float64(charts))
		}
		s.text("", 8, ink)
		s.Bookmark(typeface.Plain(first(e.Title, e.Name)), 0, max(0, s.GetY()-5))
		s.number(e.index)
		s.entry(l, e)
	}
}

// undrawn says why there are scenarios without a chart.
func (s *sheet) undrawn(drawn int) {
	if drawn == len(s.run.Scenarios) {
		return
	}
	s.down(3)
	s.paragraph("", 8, faint, fmt.Sprintf("Strip charts are printed of %s: those with the gravest verdicts, then those with the least to spare. "+
		"The others can be drawn from the run's traces: pintle show %s SCENARIO.", count(drawn, "scenario"), s.run.ID))
}

func (s *sheet) entry(l layout, e *entry) {
	s.entryHead(l, e.Scenario)
	s.findings(l, e.Scenario)
	s.troubles(e.Scenario)
	if l.apart && len(e.Trials) > 1 {
		s.spread(e.Scenario)
	}
	if e.strip != nil {
		e.strip.write(s)
	}
}

// entryHead is the title with the verdict at its right, why the scenario is there,
// and what its trials came to.
func (s *sheet) entryHead(l layout, sc *reports.Scenario) {
	points := 11.0
	if l.apart {
		points = 14
	}
	y, page := s.GetY(), s.PageNo()
	s.text("B", points, ink)
	room := s.width - s.GetStringWidth("INCONCLUSIVE") - 4
	s.column(margin, room, "B", points, ink, first(sc.Title, sc.Name))
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
	s.paragraph("", 7.8, faint, first(sc.Name, "without a name")+". "+outcome(sc))
	if l.why {
		s.down(0.6)
		s.paragraph("", 8.8, ink, sc.Why)
	}
	if sc.Reason != "" {
		s.down(0.6)
		s.paragraph("B", 8.4, ink, sentence(upper(sc.Reason)))
	}
	s.down(1)
}

// outcome says what the trials came to.
func outcome(sc *reports.Scenario) string {
	switch t := reports.TallyTrials(sc); t.All() {
	case 0:
		return "No trial was performed."
	case 1:
		return fmt.Sprintf("One trial: %v.", sc.Trials[0].Verdict)
	default:
		text := fmt.Sprintf("Of %s: %s.", count(t.All(), "trial"), tally(t))
		if sc.Shown != nil {
			text += " " + upper(sc.Shown.Text()) + "."
		}
		return text
	}
}

// findings is a row for each rule: what it measured in the trial that says most
// about it.
func (s *sheet) findings(l layout, sc *reports.Scenario) {
	several := len(sc.Trials) > 1
	last := column{"tested", 0.08, true}
	if several {
		last = column{"in trial", 0.08, true}
	}
	t := &table{points: l.points, columns: []column{{"verdict", 0.125, false}, {"requirement", 0.305, false}, {"limit", 0.125, false},
		{"measured", 0.165, false}, {"to spare", 0.095, false}, {"risk", 0.105, false}, last}}
	for i := range sc.Rules {
		t.row(findingRow(sc, i, several)...)
	}
	if len(sc.Rules) == 0 {
		s.paragraph("", l.points, faint, "The scenario has no requirement.")
		return
	}
	s.table(t)
}

func findingRow(sc *reports.Scenario, i int, several bool) []cell {
	r, j := sc.Rules[i], judgedOf(sc, i)
	name := say(first(r.Name, fmt.Sprintf("rule %d", i+1)))
	if !j.known {
		return []cell{verdictCell(j.verdict), name.under("nothing was found of it: it was not judged", faint), {}, {}, {}, {}, {}}
	}
	if j.verdict != rule.Pass {
		name = name.under(first(j.finding.Reason, j.trial.Reason, "no reason was given"), faint)
	}
	value, limit, spare := figures(j.verdict, j.finding)
	last := times(j.finding.Exercised)
	if several {
		last = fmt.Sprint(j.trial.Number)
	}
	return []cell{verdictCell(j.verdict), name, say(unbroken(limit)), say(unbroken(value)), say(unbroken(spare)), say(unbroken(risk(j))), say(last)}
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

// steps tells what was done in a trial, and when.
func steps(marks []signal.Mark) string {
	var told []string
	for _, m := range marks {
		if m.Text != "" {
			told = append(told, fmt.Sprintf("%.3f%s%s", float64(m.At)/1e9, glue+"s"+glue, m.Text))
		}
	}
	return strings.Join(told, " · ")
}
