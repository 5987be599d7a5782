package appraise

import (
	"math"

	"pintle/rig/rule"
	"pintle/rig/signal"
	"pintle/rig/uncertainty"
)

// mostCompared is how many comparisons of one rule are moved each by itself. Those
// beyond it move with the last of them.
const mostCompared = 5

// Simple says that verdicts follow what was read, without a guard band.
func (a *Appraiser) Simple() bool { return a.decision.Rule.Kind == uncertainty.SimpleAcceptance }

// Compared is by how much a reading may be off that a condition compares with a current:
// all that a single reading is off by, put together without regard to chance, which is
// more than its expanded uncertainty.
func (a *Appraiser) Compared(with signal.Current) signal.Current {
	off := a.off(with)
	if !a.Simple() {
		off *= float64(a.decision.Rule.GuardPercent) / 100
	}
	return signal.Current(math.Ceil(off))
}

// Off is by how much a single reading may be off, whatever the decision rule makes of it.
func (a *Appraiser) Off(reading signal.Current) signal.Current {
	return signal.Current(math.Ceil(a.off(reading)))
}

func (a *Appraiser) off(reading signal.Current) float64 {
	m := &a.means
	return 2*float64(m.Noise) + float64(m.Resolution)/2 + float64(m.Zero) + float64(m.Gain)*1e-6*float64(reading.Abs())
}

// Shifted are the rules that a rule may be in truth whose conditions compare with
// currents: with each of these less or more by what a reading may be off, in all
// combinations, for a meter errs otherwise one way than the other, and noise each time
// anew. There are none of a rule that compares with none. Simple acceptance keeps no guard
// band, so there it is only asked what a value would have been.
func (a *Appraiser) Shifted(r rule.Rule) []rule.Rule {
	n := len(compared(&r))
	if n == 0 || a.Simple() && !hasBudget(&r) {
		return nil
	}
	all := make([]rule.Rule, 1<<min(n, mostCompared))
	for corner := range all {
		shifted := r
		moved := false
		for k, t := range compared(&shifted) {
			by := a.Compared(t.Current)
			if corner&(1<<min(k, mostCompared-1)) == 0 {
				by = -by
			}
			moved = moved || by != 0
			t.Current = max(0, t.Current+by)
		}
		if !moved {
			return nil
		}
		all[corner] = shifted
	}
	return all
}

// hasBudget says that a rule measures what is uncertain.
func hasBudget(r *rule.Rule) bool {
	u := rule.UnitOf(r.Pattern)
	return u != rule.NoUnit && u != rule.Times
}

// compared gives the comparisons of a rule's conditions, which it first makes the rule's
// own.
func compared(r *rule.Rule) []*rule.Term {
	var all []*rule.Term
	for _, c := range []*rule.Condition{&r.P, &r.S, &r.Scope.Q, &r.Scope.R} {
		clauses := make([][]rule.Term, len(c.Any))
		for i, terms := range c.Any {
			clauses[i] = append([]rule.Term(nil), terms...)
			for j := range clauses[i] {
				if t := &clauses[i][j]; t.Kind == rule.CurrentAbove {
					all = append(all, t)
				}
			}
		}
		c.Any = clauses
	}
	return all
}
