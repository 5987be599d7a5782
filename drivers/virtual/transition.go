package virtual

import "time"

// A step takes the motor's deviation from its steady state over a fixed time:
// current and speed at the end, and the charge that flows meanwhile.
type step struct{ ii, iw, wi, ww, qi, qw float64 }

func (s *step) apply(i, w float64) (float64, float64, float64) {
	return float64(s.ii*i) + float64(s.iw*w),
		float64(s.wi*i) + float64(s.ww*w),
		float64(s.qi*i) + float64(s.qw*w)
}

// Any time is a sum of digits in base 64, each with its own step, so a time that
// no one foresaw costs a few steps and no exponential.
const (
	digitBits = 6
	digits    = 5
	longest   = 1<<(digitBits*digits) - 1 // nanoseconds that the digits reach
)

type steps [digits][1 << digitBits]step

// tabulate works out the steps of dx/dt = a x, where x is current, speed, charge.
func tabulate(a matrix) *steps {
	var t steps
	for level := range t {
		for digit := range t[level] {
			t[level][digit] = stepOver(a, time.Duration(digit)<<(digitBits*level))
		}
	}
	return &t
}

func stepOver(a matrix, d time.Duration) step {
	e := exponential(a, float64(d)*1e-9)
	return step{ii: e[0][0], iw: e[0][1], wi: e[1][0], ww: e[1][1], qi: e[2][0], qw: e[2][1]}
}

// apply takes a deviation over at most longest nanoseconds.
func (t *steps) apply(d time.Duration, i, w float64) (float64, float64, float64) {
	var charge float64
	for level := digits - 1; level >= 0; level-- {
		digit := d >> (digitBits * level) & (1<<digitBits - 1)
		if digit == 0 {
			continue
		}
		var q float64
		i, w, q = t[level][digit].apply(i, w)
		charge += q
	}
	return i, w, charge
}

// bit is the step over 2^n nanoseconds.
func (t *steps) bit(n int) *step { return &t[n/digitBits][1<<(n%digitBits)] }

type matrix [3][3]float64

func (a matrix) times(b matrix) (c matrix) {
	for i := range c {
		for j := range c[i] {
			c[i][j] = float64(a[i][0]*b[0][j]) + float64(a[i][1]*b[1][j]) + float64(a[i][2]*b[2][j])
		}
	}
	return c
}

// norm is the largest row sum of magnitudes.
func (a matrix) norm() (n float64) {
	for _, row := range a {
		n = max(n, magnitude(row[0])+magnitude(row[1])+magnitude(row[2]))
	}
	return n
}

// exponential is e^(a t) by scaling, a Taylor series and squaring (Moler and Van
// Loan, SIAM Review 45, 2003, method 3): sums and products only, so the same to
// the last bit everywhere. The series is cut where its next term is below 1e-20.
func exponential(a matrix, t float64) matrix {
	squarings := 0
	for n := a.norm() * t; n > 0.25; n /= 2 {
		t /= 2
		squarings++
	}
	for i := range a {
		for j := range a[i] {
			a[i][j] *= t
		}
	}
	sum := matrix{{1, 0, 0}, {0, 1, 0}, {0, 0, 1}}
	term := sum
	for k := 1; k <= 14; k++ {
		term = term.times(a)
		for i := range sum {
			for j := range sum[i] {
				term[i][j] /= float64(k)
				sum[i][j] += term[i][j]
			}
		}
	}
	for ; squarings > 0; squarings-- {
		sum = sum.times(sum)
	}
	return sum
}

func magnitude(x float64) float64 {
	if x < 0 {
		return -x
	}
	return x
}

func sign(x float64) float64 {
	switch {
	case x > 0:
		return 1
	case x < 0:
		return -1
	}
	return 0
}
