package shift

import (
	"fmt"
	"math"
	"slices"
)

// A Quantity is a whole number or a real one, in any unit.
type Quantity interface{ ~int64 | ~float64 }

// The largest values of which differences are taken; 2^60 ns are 36 years.
const (
	mostWhole = 1 << 60
	mostReal  = 1e300
)

func whole[T Quantity]() bool {
	one, two := T(1), T(2)
	return one/two == 0
}

// ordered sorts copies of both samples. Why is not empty if they cannot be put in
// order.
func ordered[T Quantity](a, b []T) (x, y []T, why string) {
	for i, s := range [][]T{a, b} {
		if len(s) == 0 {
			return nil, nil, fmt.Sprintf("sample %c has no values", 'A'+i)
		}
		for at, v := range s {
			if v != v {
				return nil, nil, fmt.Sprintf("value %d of sample %c is not a number", at, 'A'+i)
			}
		}
	}
	x, y = slices.Clone(a), slices.Clone(b)
	slices.Sort(x)
	slices.Sort(y)
	return x, y, ""
}

// tooFar says why no differences can be taken of what ordered gave, if so.
func tooFar[T Quantity](sorted ...[]T) string {
	most := mostReal
	if whole[T]() {
		most = mostWhole
	}
	for i, s := range sorted {
		for _, v := range []T{s[0], s[len(s)-1]} {
			if math.Abs(float64(v)) > most {
				return fmt.Sprintf("value %v of sample %c is beyond %g, no differences can be taken", v, 'A'+i, most)
			}
		}
	}
	return ""
}
