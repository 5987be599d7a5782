package diagnosis

import (
	"cmp"
	"fmt"
	"math"
	"strings"
	"time"

	"pintle/reports"
	"pintle/rig"
	"pintle/rig/appraise"
	"pintle/rig/rule"
)

// inconclusive is the headline of what could not be told.
func (y *story) inconclusive() string {
	f := y.f
	switch {
	case strings.HasPrefix(f.Reason, rule.NotExercised):
		return "never put to the test: " + strings.TrimPrefix(f.Reason, rule.NotExercised)
	case strings.HasPrefix(f.Reason, rule.OrderUnknown):
		return "which came first cannot be told, and the rule hangs on it" + y.since()
	case strings.HasPrefix(f.Reason, rule.EndedFirst):
		return "the trial ended before the rule could be settled"
	case f.Measured && f.Sense != rule.NoSense:
		return fmt.Sprintf("too near to tell: measured %s, where it must be %s", f.ValueText(), f.LimitText())
	}
	return cmp.Or(f.Reason, "the measurement cannot tell")
}

// doubt says why a finding is inconclusive and what would decide it.
func (y *story) doubt() []string {
	f := y.f
	switch {
	case strings.HasPrefix(f.Reason, rule.NotExercised):
		return []string{"A rule that was never put to the test is not a pass. See whether the trial got as far as the script meant it to: " +
			"an earlier step may have waited in vain, or the fault may have kept the event away."}
	case strings.HasPrefix(f.Reason, rule.OrderUnknown):
		return []string{"The spans in which the two can have happened overlap. A meter that reads more often, or with a steadier delay, " +
			"makes them narrower; so does a line that senses the controller's drive outputs."}
	case strings.HasPrefix(f.Reason, rule.EndedFirst):
		return []string{"What had begun was still going on when the trial ended. A longer wait at the end of the script would settle it."}
	}
	return y.budget()
}

// budget tells which source of uncertainty weighs most and what would have to become
// of it.
func (y *story) budget() []string {
	a := y.f.Appraisal
	if a == nil || len(a.Lines) == 0 {
		return []string{"The limit lies inside the span in which the value can lie. Narrower spans would decide: a meter that reads more often, or finer."}
	}
	top, share, rest := heaviest(a.Lines)
	source, known := appraise.SourceNumbered(top.Source)
	if !known {
		return nil
	}
	told := []string{fmt.Sprintf("Of the uncertainty, %q makes up the most: %.0f %% of the variance.", source.Name, math.Round(100*share))}
	return append(told, "What would decide it: "+source.Remedy+y.enough(top, rest)+".")
}

// heaviest is the line that adds most to the variance, its part of it, and the
// standard uncertainty that would be left without it.
func heaviest(lines []rule.BudgetLine) (top rule.BudgetLine, share, rest float64) {
	all, most := 0.0, -1.0
	for _, l := range lines {
		v := variance(l)
		all += v
		if v > most {
			top, most = l, v
		}
	}
	if all == 0 {
		return top, 0, 0
	}
	return top, most / all, math.Sqrt(max(0, all-most))
}

func variance(l rule.BudgetLine) float64 {
	v := float64(l.Width) * float64(l.Width)
	if s, ok := appraise.SourceNumbered(l.Source); ok && s.IsHalfWidth() {
		v /= 3
	}
	return v
}

// enough says how small the heaviest source would have to be for the value to be
// clear of its limit, or that it alone would not do.
func (y *story) enough(top rule.BudgetLine, rest float64) string {
	a := y.f.Appraisal
	room := math.Abs(float64(a.Value - y.f.Limit))
	half := max(float64(a.High-a.Value), float64(a.Value-a.Low))
	if a.Standard <= 0 || half <= 0 {
		return ""
	}
	want := room * float64(a.Standard) / half // the standard uncertainty at which it would be clear
	if rest >= want {
		return "; that alone would not do, as the value lies so near to its limit"
	}
	width := math.Sqrt(want*want-rest*rest) / math.Sqrt(variance(top)) // of what it is now
	if width >= 1 || y.f.Unit != rule.Nanoseconds {
		return ""
	}
	return fmt.Sprintf("; its part of ± %s would have to become ± %s or less", spell(time.Duration(top.Width), time.Duration(top.Width/9)),
		down(time.Duration(float64(top.Width)*width)))
}

// down is a time cut off after its first two figures.
func down(d time.Duration) string {
	place := time.Duration(1)
	for place*100 <= d {
		place *= 10
	}
	return spell(d/place*place, place)
}

// void tells which trouble of the bench it was.
func (y *story) void() Diagnosis {
	d, why, next := Diagnosis{Verdict: rule.Void, Headline: "the bench failed"}, "", amiss
	if y.t != nil {
		why = y.t.Reason
		for _, trouble := range y.t.Troubles {
			code, text := reports.ReadTrouble(trouble)
			d.Sentences = append(d.Sentences, fmt.Sprintf("Trouble of the bench (%s): %s.", cmp.Or(code, "trouble"), strings.TrimSuffix(text, ".")))
			why = cmp.Or(why, text)
			if code == rig.GuardCurrent || code == rig.GuardDrive {
				d.Headline, next = "the bench ended the trial", guarded
			}
		}
	}
	if why != "" {
		d.Headline += ": " + why
	}
	d.Sentences = append(d.Sentences, next)
	return d
}

// What to do about a trouble of the bench.
const (
	amiss   = "Nothing is said of the controller. Put the bench right, see with pintle check --bench that it is fit, and perform the trial again."
	guarded = "Until then no rule was found broken, so nothing is said of the controller. Either it did not end by itself what the guard ended, " +
		"or the guard allows less than the controller's claims do: pintle check warns of that."
)
