package rig

import (
	"pintle/rig/appraise"
	"pintle/rig/rule"
)

// A rule such as "never: current above 40 A" measures nothing, so no budget keeps it clear
// of its limit: a meter that reads one per cent low would pass what breaks it. One that
// such a current begins or answers measures a time from an instant that the reading's doubt
// moves. Such rules are therefore monitored several times over, with the currents that
// they compare with as they are, and less and more by what a reading may be off. Where
// these do not agree the measurement cannot tell. A rule that compares with no current is
// monitored once.

// nearby adds those rules to the ones of a scenario, and tells which each stands beside:
// those of one rule follow upon each other.
func nearby(rules []rule.Rule, a *appraise.Appraiser) (all []rule.Rule, beside []int) {
	all = append(all, rules...)
	for i, r := range rules {
		for _, shifted := range a.Shifted(r) {
			all, beside = append(all, shifted), append(beside, i)
		}
	}
	return all, beside
}

// agree takes what was found of the rules beside into the findings of the scenario's own.
func (j *judgement) agree(found []rule.Finding) []rule.Finding {
	own := found[:len(j.rules)]
	for k := 0; k < len(j.beside); {
		n := 1
		for k+n < len(j.beside) && j.beside[k+n] == j.beside[k] {
			n++
		}
		j.appraise.Agree(&own[j.beside[k]], found[len(own)+k:len(own)+k+n])
		k += n
	}
	return own
}

// told is a rule's verdict once nothing to come can change it, and Unsettled until then.
func (j *judgement) told(i int) rule.Verdict {
	v := j.monitor.Told(i)
	for k, of := range j.beside {
		if of == i && j.monitor.Told(len(j.rules)+k) != v {
			return rule.Unsettled
		}
	}
	return v
}
