package linear

import "time"

// A Triple takes three variables over a fixed time under two inputs that stay the
// same meanwhile: the fourth and fifth variable of the equations, whose own rows
// are zero.
type Triple [3][5]float64

// A State is three variables.
type State [3]float64

// An Input is what is constant.
type Input [2]float64

// Apply gives the state at the end.
func (p *Triple) Apply(s State, u Input) State {
	return State{
		float64(p[0][0]*s[0]) + float64(p[0][1]*s[1]) + float64(p[0][2]*s[2]) + float64(p[0][3]*u[0]) + float64(p[0][4]*u[1]),
		float64(p[1][0]*s[0]) + float64(p[1][1]*s[1]) + float64(p[1][2]*s[2]) + float64(p[1][3]*u[0]) + float64(p[1][4]*u[1]),
		float64(p[2][0]*s[0]) + float64(p[2][1]*s[1]) + float64(p[2][2]*s[2]) + float64(p[2][3]*u[0]) + float64(p[2][4]*u[1]),
	}
}

// Triples is a table of a Triple for every digit, with the equations themselves.
type Triples struct {
	rate Triple
	step [digits][1 << digitBits]Triple
}

// TabulateTriples works out the table of a set of equations. The rows of its fourth
// and fifth variable must be zero.
func TabulateTriples(a Matrix) *Triples {
	t := &Triples{rate: tripleOf(&a)}
	for level := range t.step {
		var e [1 << digitBits]Matrix
		e[0] = Unit()
		e[1] = Exponential(a, float64(int64(1)<<(digitBits*level))*1e-9)
		for digit := 2; digit < len(e); digit++ {
			e[digit] = e[digit/2].Times(&e[digit-digit/2])
		}
		for digit := range e {
			t.step[level][digit] = tripleOf(&e[digit])
		}
	}
	return t
}

func tripleOf(a *Matrix) Triple { return Triple{a[0], a[1], a[2]} }

// Rate is how fast the state changes, per second.
func (t *Triples) Rate(s State, u Input) State { return t.rate.Apply(s, u) }

// Over takes a state over any time that is not negative.
func (t *Triples) Over(d time.Duration, s State, u Input) State {
	for ; d > Longest; d -= Longest {
		s = t.within(Longest, s, u)
	}
	return t.within(d, s, u)
}

func (t *Triples) within(d time.Duration, s State, u Input) State {
	for level := digits - 1; level >= 0; level-- {
		if digit := d >> (digitBits * level) & (1<<digitBits - 1); digit > 0 {
			s = t.step[level][digit].Apply(s, u)
		}
	}
	return s
}

// Bit is the triple over 2^n nanoseconds, n from 0 to Bits-1.
func (t *Triples) Bit(n int) *Triple { return &t.step[n/digitBits][1<<(n%digitBits)] }

// First goes to the last nanosecond before d at which hold still says yes, and one
// further: it gives that time, 1 to d, and the state there. Within d hold must
// change from yes to no once at most.
func (t *Triples) First(d time.Duration, s State, u Input, hold func(State) bool) (time.Duration, State) {
	gone := time.Duration(0)
	for n := Bits - 1; n >= 0; n-- {
		part := time.Duration(1) << n
		if gone+part >= d {
			continue
		}
		if next := t.Bit(n).Apply(s, u); hold(next) {
			s, gone = next, gone+part
		}
	}
	return gone + 1, t.Bit(0).Apply(s, u)
}
