package appraise

import (
	"math"

	"pintle/rig/rule"
	"pintle/rig/signal"
	"pintle/rig/uncertainty"
)

// Compared is by how much a reading may be off that a condition compares with a current:
// all that a single reading is off by, put together without regard to chance, which is
// more than its expanded uncertainty. It is nothing where the decision rule asks for no
// guard band.
func (a *Appraiser) Compared(with signal.Current) signal.Current {
	if a.decision.Rule.Kind == uncertainty.SimpleAcceptance {
		return 0
	}
	m := &a.means
	off := 2*float64(m.Noise) + float64(m.Resolution)/2 + float64(m.Zero) + float64(m.Gain)*1e-6*float64(with.Abs())
	return signal.Current(math.Ceil(off * float64(a.decision.Rule.GuardPercent) / 100))
}

// Shifted is a rule whose conditions compare with currents that are more (by +1) or less
// (by -1) by what a reading may be off. It is not ok for a rule that compares with none, or
// whose own value has a budget.
func (a *Appraiser) Shifted(r rule.Rule, by signal.Current) (rule.Rule, bool) {
	if u := rule.UnitOf(r.Pattern); u != rule.NoUnit && u != rule.Times {
		return r, false
	}
	any := false
	for _, c := range []*rule.Condition{&r.P, &r.S, &r.Scope.Q, &r.Scope.R} {
		clauses := make([][]rule.Term, len(c.Any))
		for i, terms := range c.Any {
			clauses[i] = append([]rule.Term(nil), terms...)
			for j := range clauses[i] {
				if t := &clauses[i][j]; t.Kind == rule.CurrentAbove {
					off := a.Compared(t.Current)
					t.Current, any = max(0, t.Current+by*off), any || off > 0
				}
			}
		}
		c.Any = clauses
	}
	return r, any
}
