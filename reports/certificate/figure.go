package certificate

import (
	"cmp"
	"math"
	"slices"

	"pintle/reports"
	"pintle/rig/rule"
)

// figures are value, limit and margin of a finding in a table, empty where
// nothing was measured, or where it says nothing as its trial is void.
func figures(v rule.Verdict, f rule.Finding) (value, limit, spare string) {
	limit = f.LimitText()
	if !f.Measured || v == rule.Void {
		return "", limit, ""
	}
	spare = f.MarginText()
	if f.Unit == rule.Times && v == rule.Pass {
		spare = "" // as often as allowed is as it should be
	}
	return f.ValueText(), limit, spare
}

// A judged is the finding of a rule that says most, over all trials.
type judged struct {
	trial   *reports.Trial
	finding rule.Finding
	verdict rule.Verdict
	known   bool
}

// judgedOf finds it for one rule of a scenario.
func judgedOf(s *reports.Scenario, r int) judged {
	if trial, f, ok := reports.TightestOf(s, r); ok {
		t := &s.Trials[trial]
		return judged{t, t.Findings[f], reports.Standing(t, t.Findings[f]), true}
	}
	verdict := rule.Unsettled
	if i, ok := reports.WorstTrial(s); ok && s.Trials[i].Verdict != rule.Pass {
		verdict = s.Trials[i].Verdict
	}
	if verdict == rule.Fail { // another rule's; of this one nothing is known
		verdict = rule.Unsettled
	}
	return judged{verdict: verdict}
}

// judgedScenario finds it for a scenario.
func judgedScenario(s *reports.Scenario) judged {
	if trial, f, ok := reports.Tightest(s); ok {
		t := &s.Trials[trial]
		return judged{t, t.Findings[f], reports.Standing(t, t.Findings[f]), true}
	}
	return judged{verdict: s.Verdict}
}

// room is the margin as a part of the limit, or more than any where there is none.
func (j judged) room() float64 {
	f := j.finding
	if !j.known || !f.Measured || f.Limit == 0 || f.Unit == rule.Times && j.verdict == rule.Pass {
		return math.Inf(1)
	}
	return float64(f.Margin()) / math.Abs(float64(f.Limit))
}

// worst is rule.Worst, for records as well whose verdicts are none that is known.
func worst(vs ...rule.Verdict) rule.Verdict {
	var known []rule.Verdict
	for _, v := range vs {
		if v > rule.Void {
			v = rule.Unsettled
		}
		known = append(known, v)
	}
	return rule.Worst(known...)
}

// byConcern orders the scenarios of a run, by index, by how much they should be
// looked at: the worst verdict first, then the least margin.
func byConcern(r *reports.Run) []int {
	order := make([]int, len(r.Scenarios))
	room := make([]float64, len(order))
	for i := range order {
		order[i], room[i] = i, judgedScenario(&r.Scenarios[i]).room()
	}
	slices.SortStableFunc(order, func(a, b int) int {
		x, y := worst(r.Scenarios[a].Verdict), worst(r.Scenarios[b].Verdict)
		switch {
		case x == y:
			return cmp.Compare(room[a], room[b])
		case worst(x, y) == x:
			return -1
		}
		return 1
	})
	return order
}
