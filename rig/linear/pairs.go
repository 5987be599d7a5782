package linear

import "time"

// A time is a sum of digits in base 64.
const (
	digitBits = 6
	digits    = 5
	// Bits is how many binary digits of nanoseconds a table has.
	Bits = digitBits * digits
	// Longest is the longest time that a table reaches, in nanoseconds: about 1.07 s.
	Longest = 1<<Bits - 1
)

// A Pair takes two variables without a constant part, and a third that only sums
// up, over a fixed time.
type Pair struct{ AA, AB, BA, BB, SA, SB float64 }

// PairOver works out the pair of the first two variables of a, over a time; s is
// the third one.
func PairOver(a Matrix, d time.Duration) Pair {
	e := Exponential(a, float64(d)*1e-9)
	return Pair{AA: e[0][0], AB: e[0][1], BA: e[1][0], BB: e[1][1], SA: e[2][0], SB: e[2][1]}
}

// Apply gives the two variables at the end, and by how much the sum grew.
func (p *Pair) Apply(a, b float64) (float64, float64, float64) {
	return float64(p.AA*a) + float64(p.AB*b),
		float64(p.BA*a) + float64(p.BB*b),
		float64(p.SA*a) + float64(p.SB*b)
}

// Pairs is a table of a Pair for every digit.
type Pairs [digits][1 << digitBits]Pair

// TabulatePairs works out the table of a set of equations.
func TabulatePairs(a Matrix) *Pairs {
	var t Pairs
	for level := range t {
		for digit := range t[level] {
			t[level][digit] = PairOver(a, time.Duration(digit)<<(digitBits*level))
		}
	}
	return &t
}

// Apply takes two variables over a time from 0 to Longest.
func (t *Pairs) Apply(d time.Duration, a, b float64) (float64, float64, float64) {
	var sum float64
	for level := digits - 1; level >= 0; level-- {
		digit := d >> (digitBits * level) & (1<<digitBits - 1)
		if digit == 0 {
			continue
		}
		var s float64
		a, b, s = t[level][digit].Apply(a, b)
		sum += s
	}
	return a, b, sum
}

// Bit is the pair over 2^n nanoseconds, n from 0 to Bits-1.
func (t *Pairs) Bit(n int) *Pair { return &t[n/digitBits][1<<(n%digitBits)] }
