package shift

import (
	"fmt"
	"math"
	"strings"
)

// A Bound says on which side of a limit a quantity has to stay.
type Bound uint8

const (
	NoBound Bound = 0
	AtMost  Bound = 1
	AtLeast Bound = 2
)

// A Verdict says what became of a margin.
type Verdict uint8

const (
	Unknown Verdict = 0 // nothing was or could have been found out
	None    Verdict = 1 // no change of the least share or more was shown
	Eroded  Verdict = 2
	Gained  Verdict = 3
)

// String is the verdict in a word.
func (v Verdict) String() string {
	switch v {
	case None:
		return "none"
	case Eroded:
		return "eroded"
	case Gained:
		return "gained"
	}
	return "unknown"
}

// A Question asks what B leaves of A's margin to a limit.
type Question[T Quantity] struct {
	Bound      Bound
	Limit      T
	Quantile   float64 // the margin is that of this quantile, counted towards the limit; 0 or 1: of the worst value
	Adjusted   float64 // P of the two samples after Holm, 0 to 1
	Rules      int     // over which it was adjusted, 1 or more
	Alpha      float64 // above 0, below 1; an Adjusted of at most this is no chance
	Least      float64 // share of A's margin that is worth telling, 0 or more
	Confidence float64 // of the interval, above 0 and below 1
}

// An Erosion is what B leaves of A's margin. Shares are of A's margin; below 0
// there is more of it than there was. The interval is that of one rule, not of all.
type Erosion[T Quantity] struct {
	Verdict Verdict
	Why     string  // it is Unknown
	MarginA T       // from the limit to A's value; below 0 beyond the limit
	MarginB T       // and to B's
	Lost    float64 // share that the Hodges-Lehmann shift has cost
	Low     float64 // its interval, if Covered
	High    float64
	Covered bool
}

// Erode says which share of A's margin the shift from A to B has cost. It is
// Unknown if A had no margin, if there is no interval, or if so few trials over so
// many rules could not have shown anything.
func Erode[T Quantity](a, b []T, q Question[T]) Erosion[T] {
	e := HodgesLehmann(a, b, q.Confidence)
	if why := q.mistakes(e); why != "" {
		return Erosion[T]{Why: why}
	}
	x, y, _ := ordered(a, b)
	o := Erosion[T]{MarginA: q.margin(x), MarginB: q.margin(y)}
	if o.MarginA <= 0 {
		o.Why = "A had no margin to the limit"
		return o
	}
	share := func(v T) float64 { return float64(v) / float64(o.MarginA) }
	o.Lost, o.Low, o.High, o.Covered = share(e.Shift), share(e.Low), share(e.High), e.Covered
	if q.Bound == AtLeast {
		o.Lost, o.Low, o.High = 0-o.Lost, 0-o.High, 0-o.Low
	}
	o.Verdict, o.Why = q.verdict(o.Lost, e)
	return o
}

func (q Question[T]) verdict(lost float64, e Estimate[T]) (Verdict, string) {
	switch {
	case !e.Covered:
		return Unknown, e.Why
	case q.Adjusted > q.Alpha && !Reachable(e.M, e.N, q.Rules, q.Alpha):
		return Unknown, fmt.Sprintf("with %d and %d trials over %d rules nothing could have been found: it takes %d a side", e.M, e.N, q.Rules, Fewest(q.Rules, q.Alpha))
	case q.Adjusted <= q.Alpha && lost > 0 && lost >= q.Least:
		return Eroded, ""
	case q.Adjusted <= q.Alpha && lost < 0 && -lost >= q.Least:
		return Gained, ""
	}
	return None, ""
}

// margin is the distance from the limit to the quantile of a sorted sample.
func (q Question[T]) margin(s []T) T {
	at := len(s)
	if q.Quantile > 0 {
		at = max(1, int(math.Ceil(float64(q.Quantile*float64(len(s)))-1e-9)))
	}
	if q.Bound == AtLeast {
		return s[len(s)-at] - q.Limit
	}
	return q.Limit - s[at-1]
}

func (q Question[T]) mistakes(e Estimate[T]) string {
	var wrong []string
	say := func(bad bool, what string) {
		if bad {
			wrong = append(wrong, what)
		}
	}
	say(!e.Found, e.Why)
	say(q.Bound != AtMost && q.Bound != AtLeast, "the limit has no side")
	say(q.Limit != q.Limit || tooFar([]T{q.Limit}) != "", "the limit is no number to measure from")
	say(!(q.Quantile >= 0 && q.Quantile <= 1), "the quantile is not within 0 and 1")
	say(!(q.Adjusted >= 0 && q.Adjusted <= 1), "the adjusted P is not within 0 and 1")
	say(q.Rules < 1, "there is no rule")
	say(!proportion(q.Alpha), "alpha is not above 0 and below 1")
	say(!proportion(q.Confidence), "the confidence is not above 0 and below 1")
	say(!(q.Least >= 0), "the least share is not 0 or more")
	return strings.Join(wrong, "; ")
}
