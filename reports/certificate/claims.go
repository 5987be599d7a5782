package certificate

import (
	"cmp"
	"fmt"
	"slices"

	"pintle/reports"
	"pintle/reports/account"
	"pintle/rig/fold"
	"pintle/rig/reliability"
	"pintle/rig/rule"
	"pintle/rig/share"
)

// A cited is what became of a claim over all scenarios that test it, with how many
// trials show what.
type cited struct {
	account.Claim
	index  int // among the claims
	trials int
	least  reports.Shown // of the scenarios that test it
}

// cite gathers what became of every claim.
func cite(r *reports.Run) []cited {
	memo := map[[2]int]reports.Shown{}
	var all []cited
	for i, claim := range account.Claims(r) {
		c := cited{Claim: claim, index: i}
		for s := range r.Scenarios {
			c.add(r, &r.Scenarios[s], memo)
		}
		all = append(all, c)
	}
	return all
}

// add takes in what the trials of one scenario show of the claim.
func (c *cited) add(r *reports.Run, sc *reports.Scenario, memo map[[2]int]reports.Shown) {
	var rules []int
	for n := range sc.Rules {
		if slices.Contains(sc.Rules[n].Claims, c.Name) {
			rules = append(rules, n)
		}
	}
	if len(rules) == 0 {
		return
	}
	n, failures := len(sc.Trials), 0
	for i := range sc.Trials {
		if !keeps(&sc.Trials[i], rules) {
			failures++
		}
	}
	shown, known := memo[[2]int{n, failures}]
	if !known {
		shown = show(n, failures, confidence(r))
		memo[[2]int{n, failures}] = shown
	}
	if c.trials == 0 || shown.AtLeast < c.least.AtLeast {
		c.least = shown
	}
	c.trials += n
}

// keeps says that a trial passed every one of some rules. Silence is no pass.
func keeps(t *reports.Trial, rules []int) bool {
	passed := 0
	for _, f := range t.Findings {
		if slices.Contains(rules, f.Rule) {
			if reports.Standing(t, f) != rule.Pass {
				return false
			}
			passed++
		}
	}
	return passed >= len(rules)
}

func confidence(r *reports.Run) int64 {
	if r.Demonstration != nil {
		return r.Demonstration.Confidence
	}
	return reports.DefaultConfidence
}

// show is what so many trials with so many failures show. A claim of which two trials
// were not performed shows nothing.
func show(trials, failures int, confidence int64) reports.Shown {
	s := reports.Scenario{Trials: make([]reports.Trial, trials)}
	for i := failures; i < trials; i++ {
		s.Trials[i].Verdict = rule.Pass
	}
	shown, ok := reports.Show(&s, confidence)
	if !ok {
		return reports.Shown{Confidence: confidence, State: reliability.Continue}
	}
	return shown
}

// claimsByConcern orders the claims by how much they should be looked at: the worst
// verdict first, then what was not judged, then the least margin.
func (s *sheet) claimsByConcern() []cited {
	all := slices.Clone(s.cites)
	slices.SortStableFunc(all, func(a, b cited) int {
		if x, y := gravity(a), gravity(b); x != y {
			return y - x
		}
		return cmp.Compare(a.Room(), b.Room())
	})
	return all
}

func gravity(c cited) int {
	switch {
	case c.Rules == 0:
		return 1
	case c.Verdict == rule.Pass:
		return 0
	case c.Verdict == rule.Fail:
		return 4
	case c.Verdict == rule.Void:
		return 3
	}
	return 2
}

// claims is a row for each claim. A claim that no rule refers to is not judged, and
// says so.
func (s *sheet) claims() {
	if len(s.cites) == 0 {
		return
	}
	s.claimTable(s.cites, true)
}

func (s *sheet) claimTable(list []cited, whole bool) {
	all, shown := len(s.cites), len(list)
	switch {
	case whole || shown == all:
		s.heading("Claims †", 20)
	case shown == 1:
		s.heading(fmt.Sprintf("Of %d claims, the one that most deserves a look; all of them on the next page", all), 20)
	default:
		s.heading(fmt.Sprintf("Of %d claims, the %d that most deserve a look; all of them on the next page", all, shown), 20)
	}
	t := &table{points: 7.6, columns: []column{{"verdict", 0.115, false}, {"claim, and the scenario that is tightest for it", 0.285, false},
		{"limit", 0.125, false}, {"demonstrated", 0.165, false}, {"margin", 0.105, false}, {"trials", 0.055, true}, {"reliability", 0.11, true}, {"page", 0.04, true}}}
	for _, c := range list {
		t.row(s.claimRow(c)...)
	}
	t.placed = func(i int, p place) { s.begins = append(s.begins, begin{claimKey(list[i].index), p}) }
	s.table(t)
	if whole {
		s.paragraph("", 7.4, faint, fmt.Sprintf("Demonstrated is the tightest value measured over all scenarios that test the claim, with its expanded uncertainty. "+
			"A claim whose figure is not the limit beside it sets what is done to the controller or when, such as the length of a press; what follows is measured. "+
			"Trials are those of all these scenarios; the reliability is the lower bound of the one that shows least, of trials such as these, at %s confidence, a trial that is not a pass counting as failed. "+
			"† claimed by the controller's builder.", fold.Held(share.Percent(confidence(s.run)))))
	}
}

func (s *sheet) claimRow(c cited) []cell {
	if c.Rules == 0 {
		return []cell{bold("not judged"), c.name().under("no rule of this run refers to it", faint), {}, {}, {}, say("0"), {}, {}}
	}
	sc := &s.run.Scenarios[c.Scenario]
	name := c.name()
	where := brief(cmp.Or(sc.Title, sc.Name))
	if c.Verdict != rule.Pass {
		where += ": " + brief(cmp.Or(c.Reason(), "it was not judged"))
	}
	value, limit, spare := c.Figures()
	measured := say(fold.Held(value))
	if value == "" && c.Verdict == rule.Pass {
		measured = quiet("kept: nothing to measure")
	}
	shows := quiet("1 trial: none")
	if c.least.Trials > 1 {
		shows = say(fold.Held("≥ " + share.PercentDown(c.least.AtLeast)))
	} else if c.trials == 0 {
		shows = cell{}
	}
	return []cell{verdictCell(c.Verdict), name.under(where, faint), say(fold.Held(limit)), measured, say(fold.Held(spare)), say(fmt.Sprint(c.trials)), shows, {}}
}

// name is the claim with its figure.
func (c cited) name() cell {
	if c.Value == "" {
		return say(c.Name)
	}
	return say(c.Name + ": " + fold.Held(c.Value))
}
