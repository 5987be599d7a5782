package reports

import (
	"math"

	"pintle/rig/rule"
)

// A Tally counts trials by verdict. Verdicts that are none of the four, such as
// unsettled, are counted apart, so that the sum is always the number of trials.
type Tally struct{ Pass, Fail, Inconclusive, Void, Other int }

// Add counts one verdict.
func (t *Tally) Add(v rule.Verdict) {
	switch v {
	case rule.Pass:
		t.Pass++
	case rule.Fail:
		t.Fail++
	case rule.Inconclusive:
		t.Inconclusive++
	case rule.Void:
		t.Void++
	default:
		t.Other++
	}
}

// All is the number of verdicts counted.
func (t Tally) All() int { return t.Pass + t.Fail + t.Inconclusive + t.Void + t.Other }

// TallyTrials counts a scenario's trials.
func TallyTrials(s *Scenario) Tally {
	var t Tally
	for i := range s.Trials {
		t.Add(s.Trials[i].Verdict)
	}
	return t
}

// TallyScenarios counts a run's scenarios.
func TallyScenarios(r *Run) Tally {
	var t Tally
	for i := range r.Scenarios {
		t.Add(r.Scenarios[i].Verdict)
	}
	return t
}

// Standing is the verdict that a finding counts with: in a void trial nothing is
// said of the controller, so a finding of such a trial is void as well, unless it
// failed before the bench did.
func Standing(t *Trial, f rule.Finding) rule.Verdict {
	if t.Verdict == rule.Void && f.Verdict != rule.Fail {
		return rule.Void
	}
	return f.Verdict
}

// Tightest finds what says most about a scenario, as indices into its trials and
// that trial's findings: of the worst verdict, a measured finding before one that
// measured nothing, then the one with the least margin for its limit, then the
// earliest. It finds nothing where no finding has the worst verdict of the
// trials, as when the bench failed before anything was judged.
func Tightest(s *Scenario) (trial, finding int, ok bool) {
	trial, finding, ok = tightest(s, func(rule.Finding) bool { return true })
	if !ok {
		return 0, 0, false
	}
	best := Standing(&s.Trials[trial], s.Trials[trial].Findings[finding])
	for i := range s.Trials {
		if worse(s.Trials[i].Verdict, best) {
			return 0, 0, false // a trial came to something worse than any finding says
		}
	}
	return trial, finding, true
}

// TightestOf is Tightest for the findings of one rule alone. The verdict that it
// looks for is the worst of that rule.
func TightestOf(s *Scenario, r int) (trial, finding int, ok bool) {
	return tightest(s, func(f rule.Finding) bool { return f.Rule == r })
}

// WorstTrial is the index of the trial to show for a scenario: that of its
// tightest finding, else the first with the worst verdict.
func WorstTrial(s *Scenario) (trial int, ok bool) {
	if trial, _, ok := Tightest(s); ok {
		return trial, true
	}
	for i := range s.Trials {
		if i == 0 || worse(s.Trials[i].Verdict, s.Trials[trial].Verdict) {
			trial = i
		}
	}
	return trial, len(s.Trials) > 0
}

func tightest(s *Scenario, wanted func(rule.Finding) bool) (trial, finding int, ok bool) {
	var best, silent rule.Verdict // of findings; of trials that have none
	var isSilent bool
	for i := range s.Trials {
		t, any := &s.Trials[i], false
		for j, f := range t.Findings {
			if !wanted(f) {
				continue
			}
			any = true
			v := Standing(t, f)
			if !ok || worse(v, best) || v == best && tighter(f, s.Trials[trial].Findings[finding]) {
				trial, finding, best, ok = i, j, v, true
			}
		}
		if !any && (!isSilent || worse(t.Verdict, silent)) {
			silent, isSilent = t.Verdict, true
		}
	}
	if ok && isSilent && worse(silent, best) {
		return 0, 0, false
	}
	return trial, finding, ok
}

// worse says that a outweighs b in a summary. A verdict that is none of those known
// counts as none that was reached.
func worse(a, b rule.Verdict) bool {
	a, b = known(a), known(b)
	return a != b && rule.Worst(b, a) == a
}

func known(v rule.Verdict) rule.Verdict {
	if v > rule.Void {
		return rule.Unsettled
	}
	return v
}

func tighter(a, b rule.Finding) bool {
	if x, y := telling(a), telling(b); x != y {
		return x > y
	}
	return a.Measured && room(a) < room(b)
}

// telling ranks what a finding has to tell. A count that has been kept has no
// margin worth the name: as often as allowed is as it should be.
func telling(f rule.Finding) int {
	switch {
	case !f.Measured:
		return 0
	case f.Unit == rule.Times && f.Verdict == rule.Pass:
		return 1
	}
	return 2
}

// room is the margin as a part of the limit. One division of two whole numbers
// rounds the same on every machine.
func room(f rule.Finding) float64 {
	margin, limit := float64(f.Margin()), math.Abs(float64(f.Limit))
	switch {
	case limit != 0:
		return margin / limit
	case margin == 0:
		return 0
	}
	return math.Inf(int(math.Copysign(1, margin)))
}
