package quantity

import (
	"errors"
	"math/big"
	"strings"
	"time"

	"pintle/rig/signal"
)

// A Value is an exact figure with its dimension. The zero Value is no figure.
type Value struct {
	Of  Dimension
	rat *big.Rat // in the dimension's base unit; never changed once made
}

// Of whole numbers of base units.
func whole(d Dimension, n int64) Value { return Value{d, new(big.Rat).SetInt64(n)} }

// OfTime makes a value of a duration.
func OfTime(d time.Duration) Value { return whole(Time, int64(d)) }

// OfCurrent makes a value of a current.
func OfCurrent(c signal.Current) Value { return whole(Current, int64(c)) }

var errTooLarge = errors.New("is too large")

// Int gives the value in whole base units, halves rounded away from zero.
func (v Value) Int() (int64, error) {
	if v.rat == nil {
		return 0, errors.New("is no figure")
	}
	half := big.NewRat(1, 2)
	if v.rat.Sign() < 0 {
		half.Neg(half)
	}
	r := half.Add(half, v.rat)
	n := new(big.Int).Quo(r.Num(), r.Denom())
	if !n.IsInt64() {
		return 0, errTooLarge
	}
	return n.Int64(), nil
}

// Duration gives a time; a value of another dimension or size gives none.
func (v Value) Duration() time.Duration {
	n, err := v.Int()
	if err != nil || v.Of != Time {
		return 0
	}
	return time.Duration(n)
}

// Current gives a current; a value of another dimension or size gives none.
func (v Value) Current() signal.Current {
	n, err := v.Int()
	if err != nil || v.Of != Current {
		return 0
	}
	return signal.Current(n)
}

// Float gives the value in the dimension's SI unit (a percentage as a fraction),
// for models; decisions use whole numbers.
func (v Value) Float() float64 {
	if v.rat == nil {
		return 0
	}
	f, _ := v.si().Float64()
	return f
}

// si gives the value in the dimension's SI unit.
func (v Value) si() *big.Rat { return new(big.Rat).Quo(v.rat, perSI(v.Of)) }

// fromSI is a value of so many SI units.
func fromSI(d Dimension, n *big.Rat) Value { return Value{d, new(big.Rat).Mul(n, perSI(d))} }

// perSI is how many base units make an SI unit; of an angle, a degree.
func perSI(d Dimension) *big.Rat {
	switch d {
	case Time:
		return ratio(1_000_000_000, 1)
	case Current, Voltage:
		return ratio(1_000_000, 1)
	}
	return ratio(1, 1)
}

// Sign is -1, 0 or 1.
func (v Value) Sign() int {
	if v.rat == nil {
		return 0
	}
	return v.rat.Sign()
}

// Cmp compares two values of one dimension.
func (v Value) Cmp(o Value) int { return v.rat.Cmp(o.rat) }

// String gives the value in the largest unit that leaves a whole number in front
// of the point and at most three digits behind it, such as 1.5s or 120ms.
func (v Value) String() string {
	if v.rat == nil {
		return "no figure"
	}
	return v.in(v.handy())
}

// handy is the unit in which the value is printed.
func (v Value) handy() unit {
	best := v.smallest()
	if v.Of == Number || v.rat.Sign() == 0 {
		return best
	}
	for _, u := range units {
		if u.of != v.Of || u.name == "min" || u.name == "h" || ratio(u.num, u.den).Cmp(ratio(best.num, best.den)) <= 0 {
			continue
		}
		if new(big.Rat).Abs(v.rat).Cmp(ratio(u.num, u.den)) >= 0 {
			best = u
		}
	}
	return best
}

func (v Value) smallest() unit {
	if v.Of == Number {
		return unit{"", Number, 1, 1}
	}
	for _, u := range units {
		if u.of == v.Of {
			return u
		}
	}
	return unit{"", v.Of, 1, 1}
}

func (v Value) in(u unit) string {
	s := new(big.Rat).Quo(v.rat, ratio(u.num, u.den)).FloatString(9)
	return strings.TrimSuffix(strings.TrimRight(s, "0"), ".") + u.name
}

// Times is the value multiplied by a factor.
func (v Value) Times(factor float64) Value {
	f := new(big.Rat).SetFloat64(factor)
	if v.rat == nil || f == nil {
		return Value{}
	}
	return Value{v.Of, f.Mul(f, v.rat)}
}
