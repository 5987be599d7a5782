package rig

import (
	"pintle/rig/appraise"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// A rule such as "never: current above 40 A" measures nothing, so no budget keeps it clear
// of its limit: a meter that reads one per cent low would pass what breaks it. Such rules
// are therefore monitored three times over, with the currents that they compare with as
// they are, and less and more by what a reading may be off. Where the three do not agree
// the measurement cannot tell.

const nearCurrent = "the measurement cannot tell: the current came nearer to the one it is compared with than the meter's reading can be trusted"

// nearby adds those rules to the ones of a scenario, and tells which each stands beside.
func nearby(rules []rule.Rule, a *appraise.Appraiser) (all []rule.Rule, beside []int) {
	all = append(all, rules...)
	for i, r := range rules {
		for _, by := range []signal.Current{-1, +1} {
			if shifted, ok := a.Shifted(r, by); ok {
				all, beside = append(all, shifted), append(beside, i)
			}
		}
	}
	return all, beside
}

// agree takes what was found of the rules beside into the findings of the scenario's own.
func agree(found []rule.Finding, beside []int) []rule.Finding {
	own := found[:len(found)-len(beside)]
	for k, i := range beside {
		f := &own[i]
		if v := found[len(own)+k].Verdict; (f.Verdict == rule.Pass || f.Verdict == rule.Fail) && v != f.Verdict {
			f.Verdict, f.Reason, f.Measured, f.ByValue, f.Value = rule.Inconclusive, nearCurrent, false, false, rule.Interval{}
		}
	}
	return own
}
