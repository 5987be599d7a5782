package uncertainty

import (
	"errors"
	"fmt"
	"math"
	"slices"
)

// A Reading is a measured value in whole units, with what is known of it. The zero
// value has no uncertainty and does not say that it needs none, so nothing is
// decided from it.
type Reading struct {
	Value    int64 `json:"value"`
	Standard int64 `json:"standard"` // standard uncertainty, rounded up
	Low      int64 `json:"low"`      // the ends of the coverage interval: Value-U, Value+U
	High     int64 `json:"high"`
	Exact    bool  `json:"exact,omitempty"` // a count, which has no uncertainty

	drawn  []float64 // sorted, less the origin; tell the risk in place of the normal distribution
	origin float64
	wider  bool // the drawing did not settle: the larger of both risks
}

// Count is a reading that is known exactly.
func Count(n int64) Reading { return Reading{Value: n, Low: n, High: n, Exact: true} }

// Plain is a reading from its value, standard and expanded uncertainty.
func Plain(value, standard, expanded int64) Reading {
	return Reading{Value: value, Standard: standard, Low: value - expanded, High: value + expanded}
}

// mostUnits keeps sums, products with a guard's percentage and conversions exact.
const mostUnits = 1 << 52

func (x Reading) check() error {
	for _, v := range []int64{x.Value, x.Standard, x.Low, x.High} {
		if v > mostUnits || v < -mostUnits {
			return fmt.Errorf("the reading's %d is beyond what can be counted", v)
		}
	}
	switch {
	case x.Exact && (x.Standard != 0 || x.Low != x.Value || x.High != x.Value):
		return errors.New("the reading is said to be exact and has an uncertainty")
	case !x.Exact && x.Standard <= 0:
		return errors.New("the reading has no uncertainty")
	case x.Low > x.Value || x.High < x.Value:
		return errors.New("the reading lies outside its own interval")
	case !x.Exact && x.Low == x.High:
		return errors.New("the reading has no expanded uncertainty")
	}
	return nil
}

// reading rounds the value to the nearest unit and everything uncertain away from
// it.
func reading(quantity string, value, standard float64, c CoverageInterval) (Reading, error) {
	for _, x := range []float64{value, standard, c.Low, c.High} {
		if !(math.Abs(x) < mostUnits) {
			return Reading{}, fmt.Errorf("make a reading of %s: %v is not a number of whole units", quantity, x)
		}
	}
	r := Reading{Value: int64(math.Round(value)), Standard: up(standard)}
	r.Low, r.High = min(r.Value, -up(-c.Low)), max(r.Value, up(c.High))
	return r, nil
}

// up rounds up to a whole unit. What is over by less than a 2048th of one is over
// by the arithmetic only: 20 000 000.000 000 004 ns are 20 ms.
func up(x float64) int64 { return int64(math.Ceil(math.Round(x*1024) / 1024)) }

// broken is the probability that the quantity breaks its limits, were the value
// read at the given place instead.
func (x Reading) broken(at int64, l Limits) float64 {
	if x.Exact {
		if l.keeps(at) {
			return 0
		}
		return 1
	}
	normal := SpecificRisk(float64(at), float64(x.Standard), l)
	if len(x.drawn) == 0 {
		return normal
	}
	shift := float64(at-x.Value) + x.origin
	below, above := 0, len(x.drawn)
	if l.HasLower {
		below, _ = slices.BinarySearch(x.drawn, float64(l.Lower)-shift)
	}
	if l.HasUpper {
		above, _ = slices.BinarySearch(x.drawn, math.Nextafter(float64(l.Upper)-shift, math.Inf(1)))
	}
	drawn := float64(below+len(x.drawn)-above) / float64(len(x.drawn))
	if x.wider {
		return max(normal, drawn)
	}
	return drawn
}

// Limits are what a quantity must keep, in the same unit. A value at a limit
// keeps it. The zero value has none, and nothing is decided against it.
type Limits struct {
	HasLower bool  `json:"has_lower,omitempty"`
	HasUpper bool  `json:"has_upper,omitempty"`
	Lower    int64 `json:"lower,omitempty"`
	Upper    int64 `json:"upper,omitempty"`
}

// AtMost, AtLeast and Within make limits of one side, the other, or both.
func AtMost(upper int64) Limits        { return Limits{HasUpper: true, Upper: upper} }
func AtLeast(lower int64) Limits       { return Limits{HasLower: true, Lower: lower} }
func Within(lower, upper int64) Limits { return Limits{true, true, lower, upper} }

func (l Limits) keeps(x int64) bool {
	return !(l.HasUpper && x > l.Upper) && !(l.HasLower && x < l.Lower)
}

func (l Limits) check() error {
	switch {
	case !l.HasLower && !l.HasUpper:
		return errors.New("there is no limit")
	case l.HasLower && l.HasUpper && l.Lower > l.Upper:
		return fmt.Errorf("the lower limit %d lies above the upper one %d", l.Lower, l.Upper)
	case max(l.Lower, l.Upper) > mostUnits || min(l.Lower, l.Upper) < -mostUnits:
		return errors.New("a limit is beyond what can be counted")
	}
	return nil
}

// SpecificRisk is the probability that a quantity breaks its limits given its
// measured value and standard uncertainty, normal about the value (JCGM 106:2012,
// 7.2 and 7.4, little being known beforehand). It is 1 where there is no limit,
// where limits exclude each other or where the uncertainty is not positive: what
// cannot be told is not safe.
func SpecificRisk(value, standard float64, l Limits) float64 {
	if !(standard > 0) || math.IsInf(standard, 0) || math.IsNaN(value) || l.check() != nil {
		return 1
	}
	risk := 0.0
	if l.HasUpper {
		risk += upperTail((float64(l.Upper) - value) / standard)
	}
	if l.HasLower {
		risk += upperTail((value - float64(l.Lower)) / standard)
	}
	return min(1, risk)
}

// upperTail is the probability of a standard normal quantity above z.
func upperTail(z float64) float64 { return math.Erfc(z/math.Sqrt2) / 2 }
