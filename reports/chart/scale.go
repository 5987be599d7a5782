package chart

import (
	"strconv"
	"strings"
	"time"

	"pintle/rig/signal"
)

// A ruling is a set of good numbers along an axis, in whole nanoseconds or
// microamperes: main ticks at multiples of step, fine ones at multiples of fine.
type ruling struct{ step, fine int64 }

// rule125 finds the least step of 1, 2 or 5 times a power of ten that is at
// least want.
func rule125(want int64) ruling {
	for p := int64(1); p <= 1e18; p *= 10 {
		for _, m := range []int64{1, 2, 5} {
			if s := m * p; s >= want {
				fine := s / 5
				if m == 2 {
					fine = s / 4
				}
				return ruling{s, max(fine, 1)}
			}
		}
	}
	return ruling{5e18, 1e18}
}

// multiples calls f with every multiple of step from lo to hi, both included.
func multiples(lo, hi, step int64, f func(int64)) {
	first := lo / step * step
	if first < lo {
		first += step
	}
	for v := first; v <= hi; v += step {
		f(v)
	}
}

// decimals gives how many digits after the point a multiple of step needs, where
// one is written as unit.
func decimals(step, unit int64) int {
	n := 0
	for unit > 1 && step%unit != 0 {
		unit /= 10
		n++
	}
	return n
}

// seconds writes an instant in seconds, with a true minus sign.
func seconds(t signal.Instant, digits int) string {
	return signed(strconv.FormatFloat(float64(t)/float64(time.Second), 'f', digits, 64))
}

// amperes writes a current in amperes.
func amperes(c int64, digits int) string {
	return signed(strconv.FormatFloat(float64(c)/float64(signal.Ampere), 'f', digits, 64))
}

func signed(s string) string {
	if rest, negative := strings.CutPrefix(s, "-"); negative {
		return "−" + rest
	}
	return s
}
