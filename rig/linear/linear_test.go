package linear

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestExponential(t *testing.T) {
	for _, x := range []float64{0, 1e-9, 0.1, 1, 7.5, 40} {
		t.Run(fmt.Sprint(x), func(t *testing.T) {
			e := Exponential(Matrix{{-1}, {0, -2}, {1}, {0, 0, 0, 0, 1}, {}}, x)
			assert.InDelta(t, math.Exp(-x), e[0][0], 1e-13*math.Exp(-x))
			assert.InDelta(t, math.Exp(-2*x), e[1][1], 1e-13*math.Exp(-2*x))
			assert.InDelta(t, -math.Expm1(-x), e[2][0], 1e-13, "the integral")
			assert.InDelta(t, x, e[3][4], 1e-13*x, "a ramp")
			assert.Equal(t, 1.0, e[4][4])
		})
	}
	spin := Exponential(Matrix{{0, 1}, {-1, 0}}, 2)
	assert.InDelta(t, math.Cos(2), spin[0][0], 1e-15)
	assert.InDelta(t, math.Sin(2), spin[0][1], 1e-15)
}

// motor is a brushed motor as its textbook equations have it, with current, speed,
// angle as the state, and V/L, torque/J as the inputs.
func motor(r, l, k, j, b float64) Matrix {
	return Matrix{{-r / l, -k / l, 0, 1, 0}, {k / j, -b / j, 0, 0, 1}, {0, 1}}
}

// Parameters and poles are those of the University of Michigan and Carnegie Mellon
// control tutorials, "DC Motor Speed"; values at the instants were worked out from
// them by a Runge-Kutta integration with steps of 10 µs.
func TestPublishedMotor(t *testing.T) {
	table := TabulateTriples(motor(1, 0.5, 0.01, 0.01, 0.1))
	for _, v := range []struct{ t, w, i float64 }{
		{0.1, 0.006855537, 0.181264482},
		{0.2, 0.019592292, 0.329651998},
		{0.5, 0.054170100, 0.631925747},
		{1, 0.083037111, 0.864130155},
		{2, 0.097623489, 0.980793804},
		{3, 0.099592764, 0.996543078},
		{60, 0.0999001, 0.9990010},
	} {
		s := table.Over(time.Duration(v.t*1e9), State{}, Input{1 / 0.5, 0})
		assert.InDeltaf(t, v.i, s[0], 1e-7, "current at %g s", v.t)
		assert.InDeltaf(t, v.w, s[1], 1e-7, "speed at %g s", v.t)
		if v.t < 60 {
			assert.InDeltaf(t, v.i, s[0], 1e-9, "current at %g s", v.t)
			assert.InDeltaf(t, v.w, s[1], 1e-9, "speed at %g s", v.t)
		}
	}
}

// step is the closed form of a step of voltage and load from rest (any textbook of
// control: partial fractions of the second-order transfer function).
func step(r, l, k, j, b, v, load, at float64) (i, w float64) {
	under := r*b + k*k
	half := (j*r + b*l) / (2 * j * l)
	square := half*half - under/(j*l)
	form := func(end, slope float64) float64 {
		if square > 0 {
			root := math.Sqrt(square)
			s1, s2 := -half+root, -half-root
			a := (slope + s2*end) / (s1 - s2)
			return end + a*math.Exp(s1*at) + (-end-a)*math.Exp(s2*at)
		}
		swing := math.Sqrt(-square)
		return end + math.Exp(-half*at)*(-end*math.Cos(swing*at)+(slope-half*end)/swing*math.Sin(swing*at))
	}
	return form((b*v+k*load)/under, v/l), form((k*v-r*load)/under, -load/j)
}

func TestClosedForms(t *testing.T) {
	for name, c := range map[string]struct{ r, l, k, j, b, v, load, tolerance float64 }{
		"real poles":    {0.8, 0.9e-3, 0.06, 4e-4, 2e-5, 24, 0.3, 1e-11},
		"complex poles": {0.3, 20e-3, 0.2, 2e-4, 1e-5, 24, 0.5, 1e-11},
		// The position variant of the same tutorials, electrical time constant below a
		// microsecond: parameters from memory of the published example.
		"stiff": {4, 2.75e-6, 0.0274, 3.2284e-6, 3.5077e-6, 1, 0, 1e-9},
	} {
		t.Run(name, func(t *testing.T) {
			table := TabulateTriples(motor(c.r, c.l, c.k, c.j, c.b))
			for at := time.Duration(17); at < 3*time.Second; at += at/2 + 1 {
				s := table.Over(at, State{}, Input{c.v / c.l, -c.load / c.j})
				i, w := step(c.r, c.l, c.k, c.j, c.b, c.v, c.load, at.Seconds())
				require.InDeltaf(t, i, s[0], c.tolerance*c.v/c.r, "current at %v", at)
				require.InDeltaf(t, w, s[1], c.tolerance*c.v/c.k, "speed at %v", at)
			}
		})
	}
	_, w := step(4, 2.75e-6, 0.0274, 3.2284e-6, 3.5077e-6, 1, 0, 10)
	assert.InDelta(t, 35.8268, w, 1e-4, "the stiff one's gain, rad/s a volt")
}

func drawEquations(t *rapid.T) (*Triples, State, Input) {
	f := func(label string, from, to float64) float64 { return rapid.Float64Range(from, to).Draw(t, label) }
	table := TabulateTriples(motor(f("r", 0.1, 5), f("l", 1e-4, 0.1), f("k", 0.01, 0.3), f("j", 1e-5, 1e-2), f("b", 0, 1e-3)))
	return table, State{f("i", -10, 10), f("w", -100, 100), f("x", 0, 1)}, Input{f("u", -1e4, 1e4), f("torque", -100, 100)}
}

// Two stretches one after the other are one of their length.
func TestStretchesAddUp(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		table, s, u := drawEquations(t)
		a := time.Duration(rapid.Int64Range(0, 3e9).Draw(t, "a"))
		b := time.Duration(rapid.Int64Range(0, 3e9).Draw(t, "b"))
		whole, parts := table.Over(a+b, s, u), table.Over(b, table.Over(a, s, u), u)
		for i := range whole {
			require.InDelta(t, whole[i], parts[i], 1e-9*(1+math.Abs(whole[i])))
		}
		n := rapid.IntRange(0, Bits-1).Draw(t, "n")
		require.Equal(t, table.Over(1<<n, s, u), table.Bit(n).Apply(s, u))
	})
}

func TestFirstFindsTheNanosecond(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		table, s, u := drawEquations(t)
		d := time.Duration(rapid.Int64Range(1, Longest).Draw(t, "d"))
		change := time.Duration(rapid.Int64Range(1, int64(d)).Draw(t, "change"))
		// The third variable is made a clock.
		clock := TabulateTriples(Matrix{{}, {}, {0, 0, 0, 1}})
		got, end := clock.First(d, State{}, Input{1}, func(s State) bool { return s[2] < (float64(change)-0.5)*1e-9 })
		require.Equal(t, change, got)
		require.InDelta(t, change.Seconds(), end[2], 1e-15)

		got, _ = table.First(d, s, u, func(State) bool { return true })
		require.Equal(t, d, got, "never past the end")
		got, _ = table.First(d, s, u, func(State) bool { return false })
		require.Equal(t, time.Duration(1), got)
	})
}

// The table of pairs and that of triples are the same equations.
func TestPairsAgreeWithTriples(t *testing.T) {
	a := Matrix{{-900, -60, 0}, {150, -0.5, 0}, {1, 0, 0}}
	pairs, triples := TabulatePairs(a), TabulateTriples(a)
	for d := time.Duration(1); d < Longest; d *= 3 {
		i, w, q := pairs.Apply(d, 3, 40)
		s := triples.Over(d, State{3, 40, 0}, Input{})
		require.InDelta(t, s[0], i, 1e-12)
		require.InDelta(t, s[1], w, 1e-11)
		require.InDelta(t, s[2], q, 1e-12)
		e := PairOver(a, d)
		i, w, _ = e.Apply(3, 40)
		require.InDelta(t, s[0], i, 1e-12)
		require.InDelta(t, s[1], w, 1e-11)
	}
	i, _, _ := pairs.Bit(20).Apply(3, 40)
	want, _, _ := pairs.Apply(1<<20, 3, 40)
	assert.Equal(t, want, i)
}

func BenchmarkOver(b *testing.B) {
	triples := TabulateTriples(motor(0.8, 0.9e-3, 0.06, 4e-4, 2e-5))
	pairs := TabulatePairs(Matrix{{-900, -60, 0}, {150, -0.5, 0}, {1, 0, 0}})
	b.Run("triples", func(b *testing.B) {
		b.ReportAllocs()
		s := State{}
		for b.Loop() {
			s = triples.Over(123_456_789, s, Input{26000, 0})
		}
	})
	b.Run("one bit", func(b *testing.B) {
		b.ReportAllocs()
		s := State{}
		for b.Loop() {
			s = triples.Bit(20).Apply(s, Input{26000, 0})
		}
	})
	b.Run("pairs", func(b *testing.B) {
		b.ReportAllocs()
		i, w := 3.0, 40.0
		for b.Loop() {
			i, w, _ = pairs.Apply(123_456_789, i, w)
			i++
		}
	})
	b.Run("tabulate", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			TabulateTriples(motor(0.8, 0.9e-3, 0.06, 4e-4, 2e-5))
		}
	})
}
