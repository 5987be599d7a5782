package account

import (
	"cmp"
	"math"
	"slices"

	"pintle/reports"
	"pintle/rig/rule"
)

// A Judged is the finding that says most about something, over all its trials.
type Judged struct {
	Trial   *reports.Trial // nil where nothing is known
	Finding rule.Finding
	Verdict rule.Verdict // that the finding counts with
	Known   bool         // there is such a finding
}

// Figures are value, limit and margin, empty where nothing was measured, or where
// it says nothing as its trial is void.
func (j Judged) Figures() (value, limit, spare string) {
	f := j.Finding
	limit = f.LimitText()
	if !j.Known || !f.Measured || j.Verdict == rule.Void {
		return "", limit, ""
	}
	spare = f.MarginText()
	if f.Unit == rule.Times && j.Verdict == rule.Pass {
		spare = "" // as often as allowed is as it should be
	}
	return f.ValueText(), limit, spare
}

// Reason is why the finding is no pass; empty where nothing is known of it.
func (j Judged) Reason() string {
	if !j.Known || j.Trial == nil {
		return ""
	}
	return cmp.Or(j.Finding.Reason, j.Trial.Reason)
}

// Risk is the probability that the limit is broken; empty where it is not known.
func (j Judged) Risk() string {
	if !j.Known || j.Verdict == rule.Void {
		return ""
	}
	return reports.Risk(j.Finding)
}

// OfRule finds what says most about one rule of a scenario.
func OfRule(s *reports.Scenario, r int) Judged {
	if trial, f, ok := reports.TightestOf(s, r); ok {
		t := &s.Trials[trial]
		return Judged{t, t.Findings[f], reports.Standing(t, t.Findings[f]), true}
	}
	verdict := rule.Unsettled
	if i, ok := reports.WorstTrial(s); ok && s.Trials[i].Verdict != rule.Pass && s.Trials[i].Verdict != rule.Fail {
		verdict = s.Trials[i].Verdict // a fail is another rule's: of this one nothing is known
	}
	return Judged{Verdict: verdict}
}

// OfScenario finds what says most about a scenario.
func OfScenario(s *reports.Scenario) Judged {
	if trial, f, ok := reports.Tightest(s); ok {
		t := &s.Trials[trial]
		return Judged{t, t.Findings[f], reports.Standing(t, t.Findings[f]), true}
	}
	return Judged{Verdict: s.Verdict}
}

// OfTrial finds what says most about one trial of a scenario.
func OfTrial(s *reports.Scenario, trial int) Judged {
	one := *s
	one.Trials = s.Trials[trial : trial+1]
	j := OfScenario(&one)
	if !j.Known {
		j.Trial, j.Verdict = &s.Trials[trial], s.Trials[trial].Verdict
	}
	return j
}

// Room is the margin as a part of the limit, or more than any where there is none.
func (j Judged) Room() float64 {
	f := j.Finding
	if !j.Known || !f.Measured || f.Limit == 0 || f.Unit == rule.Times && j.Verdict == rule.Pass {
		return math.Inf(1)
	}
	return float64(f.Margin()) / math.Abs(float64(f.Limit))
}

// known makes a verdict of a record that is none of those known one that is never
// a pass.
func known(v rule.Verdict) rule.Verdict {
	if v > rule.Void {
		return rule.Unsettled
	}
	return v
}

func graver(a, b rule.Verdict) bool {
	a, b = known(a), known(b)
	return a != b && rule.Worst(a, b) == a
}

// ByConcern orders the scenarios of a run, by index, by how much they should be
// looked at: the worst verdict first, then the least margin.
func ByConcern(r *reports.Run) []int {
	order, room := make([]int, len(r.Scenarios)), make([]float64, len(r.Scenarios))
	for i := range order {
		order[i], room[i] = i, OfScenario(&r.Scenarios[i]).Room()
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch x, y := r.Scenarios[a].Verdict, r.Scenarios[b].Verdict; {
		case graver(x, y):
			return -1
		case graver(y, x):
			return 1
		}
		return cmp.Compare(room[a], room[b])
	})
	return order
}

// A Claim is what became of a claim: the worst that the rules that refer to it
// came to.
type Claim struct {
	reports.Claim
	Judged          // by the rule that says most
	Rules    int    // that refer to it; none: it was not judged
	Scenario int    // index of the one that says most
	Rule     int    // index of its rule that does
	Keeps    string // the bound that most trials keep; empty where there is none
}

// Claims tells of each claim of a run, in their order.
func Claims(r *reports.Run) []Claim {
	var all []Claim
	for _, c := range r.Controller.Claims {
		all = append(all, claim(r, c))
	}
	return all
}

func claim(r *reports.Run, of reports.Claim) Claim {
	c := Claim{Claim: of}
	for i := range r.Scenarios {
		s := &r.Scenarios[i]
		for n := range s.Rules {
			if !slices.Contains(s.Rules[n].Claims, of.Name) {
				continue
			}
			j := OfRule(s, n)
			same := known(j.Verdict) == known(c.Verdict) && j.Room() < c.Room()
			if c.Rules++; c.Rules == 1 || graver(j.Verdict, c.Verdict) || same {
				c.Judged, c.Scenario, c.Rule = j, i, n
			}
		}
	}
	if c.Rules > 0 {
		c.Keeps = reports.ToleranceText(r, &r.Scenarios[c.Scenario], c.Rule)
	}
	return c
}

// Name is what a scenario is called.
func Name(s *reports.Scenario) string { return cmp.Or(s.Title, s.Name, "a scenario without a name") }
