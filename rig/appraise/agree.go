package appraise

import (
	"math"

	"pintle/rig/rule"
	"pintle/rig/uncertainty"
)

const nearCurrent = "the measurement cannot tell: the current came nearer to the one it is compared with than the meter's reading can be trusted"

// Agree takes what was found of the rules that a rule may be in truth, which Shifted gave,
// into what was found of the rule itself. A verdict stands where it is that of them all,
// and a value is known no better than that all of theirs are possible. All of them have
// been appraised.
func (a *Appraiser) Agree(f *rule.Finding, others []rule.Finding) {
	apart, measured := false, f.Measured
	for _, o := range others {
		apart = apart || o.Verdict != f.Verdict
		measured = measured && o.Measured
	}
	widen(f, others)
	if !apart || a.Simple() || f.Verdict != rule.Pass && f.Verdict != rule.Fail {
		return
	}
	if f.Appraisal != nil {
		f.Appraisal.Decision = doubted(f.Verdict).String()
	}
	f.Verdict, f.Reason, f.ByValue = rule.Inconclusive, nearCurrent, false
	if !measured {
		f.Measured, f.Value, f.Appraisal = false, rule.Interval{}, nil
	}
}

// doubted is what becomes of a decision that does not stand.
func doubted(v rule.Verdict) uncertainty.Decision {
	if v == rule.Fail {
		return uncertainty.ConditionalFail
	}
	return uncertainty.ConditionalPass
}

// widen makes a value's interval hold those of the others. Nothing is touched where it
// does so already, as it does where the current goes over at once.
func widen(f *rule.Finding, others []rule.Finding) {
	if !f.Measured || f.Appraisal != nil && f.Appraisal.Beyond {
		return
	}
	best, off, all, known := f.Best(), int64(0), f.Value, f.Interval()
	wider := rule.Appraisal{}
	for _, o := range others {
		if !o.Measured {
			continue
		}
		all, known = hull(all, o.Value), hull(known, o.Interval())
		off = max(off, magnitude(o.Best()-best))
		if x := o.Appraisal; x != nil {
			wider.Standard, wider.Broken = max(wider.Standard, x.Standard), max(wider.Broken, x.Broken)
		}
	}
	if all == f.Value && known == f.Interval() {
		return
	}
	f.Value = all
	if f.Appraisal == nil {
		return
	}
	x := *f.Appraisal
	x.Low, x.High = known.Least, known.Most
	x.Standard, x.Broken = max(x.Standard, wider.Standard), max(x.Broken, wider.Broken)
	if off > 0 {
		x.Standard = int64(math.Ceil(math.Hypot(float64(x.Standard), float64(off)/math.Sqrt(3))))
		x.Lines = append(append([]rule.BudgetLine(nil), x.Lines...), rule.BudgetLine{Source: uint8(ComparedWith), Width: off})
	}
	f.Appraisal = &x
	say(f)
}

func hull(v, w rule.Interval) rule.Interval {
	return rule.Interval{Least: min(v.Least, w.Least), Most: max(v.Most, w.Most)}
}
