package uncertainty

import (
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"pintle/rig/share"
)

// An Outcome is a decision with its risk.
type Outcome struct {
	Decision Decision `json:"decision"`
	Reason   string   `json:"reason"`
	Rule     Rule     `json:"rule"`
	// BrokenMillionths is the probability that the limit is broken given this
	// reading, in millionths; 1 000 000 where nothing was decided.
	BrokenMillionths int64 `json:"broken_millionths"`
	// MostMillionths is that of the worst reading which the rule would still have
	// passed with this uncertainty; 0 where it could have passed none.
	MostMillionths int64 `json:"most_millionths"`
}

// Decide applies the rule. Whatever does not allow a decision (no rule, no limit,
// a reading without uncertainty) gives NoDecision with the reason.
func (r Rule) Decide(x Reading, l Limits) Outcome {
	o := Outcome{Rule: r, BrokenMillionths: 1_000_000}
	if err := errors.Join(r.Check(), l.check(), x.check()); err != nil {
		o.Reason = "not decided: " + strings.ReplaceAll(err.Error(), "\n", "; ")
		return o
	}
	if l.HasUpper {
		o.Decision = max(o.Decision, r.side(x.Value-l.Upper, r.guard(x.High-x.Value)))
	}
	if l.HasLower {
		o.Decision = max(o.Decision, r.side(l.Lower-x.Value, r.guard(x.Value-x.Low)))
	}
	o.BrokenMillionths = share.Of(x.broken(x.Value, l))
	low, high, any := r.PassZone(x, l)
	if any {
		o.MostMillionths = r.mostRisk(x, l, low, high)
	}
	o.Reason = r.reason(o.Decision, any)
	return o
}

// side decides on one side: over is by how much the value lies beyond the limit.
func (r Rule) side(over, w int64) Decision {
	switch r.Kind {
	case SimpleAcceptance:
		if over <= 0 {
			return Pass
		}
	case GuardedAcceptance:
		if over <= -w {
			return Pass
		}
	case GuardedRejection:
		if over <= w {
			return Pass
		}
	case FourWay:
		switch {
		case over <= -w:
			return Pass
		case over <= 0:
			return ConditionalPass
		case over <= w:
			return ConditionalFail
		}
	}
	return Fail
}

// PassZone is where a value must read to be passed with the reading's uncertainty;
// a side without a limit reaches to the end of the int64. There is none where the
// rule or the limits are wrong, or where the guard bands of two limits leave no
// room: then this measurement can pass nothing, and the claim cannot be shown.
func (r Rule) PassZone(x Reading, l Limits) (low, high int64, ok bool) {
	if errors.Join(r.Check(), l.check(), x.check()) != nil {
		return 0, 0, false
	}
	low, high = math.MinInt64, math.MaxInt64
	sign := int64(1)
	if r.Kind == GuardedRejection {
		sign = -1
	}
	if l.HasUpper {
		high = l.Upper - sign*r.guard(x.High-x.Value)
	}
	if l.HasLower {
		low = l.Lower + sign*r.guard(x.Value-x.Low)
	}
	return low, high, low <= high
}

// mostRisk is the larger of the risks at the ends of the zone, between which the
// risk of one normal about the value is smaller.
func (r Rule) mostRisk(x Reading, l Limits, low, high int64) int64 {
	risk := 0.0
	if l.HasUpper {
		risk = max(risk, x.broken(high, l))
	}
	if l.HasLower {
		risk = max(risk, x.broken(low, l))
	}
	return share.Of(risk)
}

// Means tells what is so of a value that was decided so by the four-way statement: it ...
func (d Decision) Means() string { return InFourWays().reason(d, true) }

func (r Rule) reason(d Decision, room bool) string {
	switch {
	case !room && d != Pass:
		return "the guard bands leave no room between the limits: this measurement can pass no value"
	case r.Kind == SimpleAcceptance && d == Pass:
		return "reads within the limit"
	case r.Kind == SimpleAcceptance:
		return "reads beyond the limit"
	case r.Kind == GuardedRejection && d == Pass:
		return "reads not beyond the limit by more than the guard band"
	case d == Pass:
		return "reads within the limit by the guard band or more"
	case r.Kind == GuardedAcceptance:
		return "does not read within the limit by the guard band"
	case d == ConditionalPass:
		return "reads within the limit, by less than the guard band"
	case d == ConditionalFail:
		return "reads beyond the limit, by no more than the guard band"
	}
	return "reads beyond the limit by more than the guard band"
}

// String is the rule in a few words: "guarded acceptance, w = 0.83 U".
func (r Rule) String() string {
	if r.Check() != nil {
		return "no decision rule"
	}
	if !r.guards() {
		return ruleKinds[r.Kind].short
	}
	return fmt.Sprintf("%s, w = %s", ruleKinds[r.Kind].short, r.multiple())
}

func (r Rule) multiple() string {
	if r.GuardPercent == 100 {
		return "U"
	}
	return trim(float64(r.GuardPercent)/100) + " U"
}

// Text is the rule in full sentences for a certificate, with the publication that
// it follows and what it risks. The figures of risk hold for one limit and a
// normal distribution; coverage is the probability that U is stated for.
func (r Rule) Text(coverage float64) string {
	k, err := CoverageFactor(coverage, 0)
	if r.Check() != nil || err != nil {
		return "No decision rule is stated, so nothing is decided."
	}
	w := fmt.Sprintf("w = %s, where U is the expanded uncertainty for a coverage of %s", r.multiple(), share.Percent(share.Of(coverage)))
	at := func(multiples float64) string {
		return Percent(share.Of(upperTail(multiples * k * float64(r.GuardPercent) / 100)))
	}
	switch r.Kind {
	case SimpleAcceptance:
		return "Simple acceptance (JCGM 106:2012; ILAC-G8:09/2019): passed if the measured value keeps the limit, else failed. " +
			"At the limit itself the risk of passing what breaks it, and of failing what keeps it, is up to 50 %."
	case GuardedAcceptance:
		return "Guarded acceptance (JCGM 106:2012; ILAC-G8:09/2019): passed if the measured value keeps the limit by a guard band " +
			w + ", else failed. The risk that a passed value breaks the limit is at most " + at(1) +
			"; a failed value may keep it, with a probability of up to " + at(-1) + "."
	case GuardedRejection:
		return "Guarded rejection (JCGM 106:2012): failed only if the measured value is beyond the limit by more than a guard band " +
			w + ", else passed. The risk that a failed value keeps the limit is at most " + at(1) +
			"; a passed value may break it, with a probability of up to " + at(-1) + "."
	}
	return "Four-way statement (ILAC-G8:09/2019): pass if the measured value keeps the limit by a guard band " + w +
		"; conditional pass if it keeps it by less; conditional fail if it is beyond it by no more than the guard band; fail if by more. " +
		"The risk of a wrong pass or fail is at most " + at(1) + ", that of a wrong conditional one up to 50 %."
}

// Text is the outcome in a sentence for a certificate.
func (o Outcome) Text() string {
	if o.Decision == NoDecision {
		return o.Reason
	}
	return fmt.Sprintf("%s: %s; probability that the limit is broken %s", strings.ReplaceAll(o.Decision.String(), "-", " "), o.Reason, Percent(o.BrokenMillionths))
}

// Percent writes a probability in millionths as a percentage: "15.87 %", with four decimals below 1
// and above 99 %: "0.135 %", "under 0.0001 %".
func Percent(millionths int64) string {
	switch {
	case millionths <= 0:
		return "under 0.0001 %"
	case millionths >= share.Whole:
		return "over 99.9999 %"
	case millionths < 10_000 || millionths > 990_000:
		return share.Percent(millionths)
	}
	return share.Percent((millionths + 50) / 100 * 100)
}

func trim(x float64) string { return strconv.FormatFloat(x, 'f', -1, 64) }
