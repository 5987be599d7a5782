package reliability_test

import (
	"math/big"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	. "pintle/rig/reliability"
)

// exactTail is the probability of at most k events in n trials, in exact fractions.
func exactTail(k, n int, p *big.Rat) *big.Rat {
	q := new(big.Rat).Sub(big.NewRat(1, 1), p)
	sum := new(big.Rat)
	for j := 0; j <= min(k, n); j++ {
		term := new(big.Rat).SetInt(new(big.Int).Binomial(int64(n), int64(j)))
		for range j {
			term.Mul(term, p)
		}
		for range n - j {
			term.Mul(term, q)
		}
		sum.Add(sum, term)
	}
	return sum
}

// bigTail is the same with 300 bits, by recursion from the likeliest term's side.
func bigTail(k, n int, p *big.Float) *big.Float {
	f := func(x float64) *big.Float { return new(big.Float).SetPrec(300).SetFloat64(x) }
	q := new(big.Float).Sub(f(1), p)
	odds := new(big.Float).Quo(p, q)
	term, square := f(1), new(big.Float).Set(q)
	for m := n; m > 0; m >>= 1 {
		if m&1 == 1 {
			term.Mul(term, square)
		}
		square = new(big.Float).SetPrec(300).Mul(square, square)
	}
	sum := new(big.Float).Set(term)
	for j := 1; j <= k; j++ {
		term.Mul(term, odds).Mul(term, f(float64(n-j+1))).Quo(term, f(float64(j)))
		sum.Add(sum, term)
	}
	return sum
}

// The number of trials against exact fractions of the decimals that were meant, ties
// included.
func TestTrialsExactly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		r := rapid.Int64Range(2, 99).Draw(t, "reliability in per cent")
		c := rapid.Int64Range(2, 99).Draw(t, "confidence in per cent")
		f := rapid.IntRange(0, 3).Draw(t, "failures")
		p := Plan{float64(r) / 100, float64(c) / 100, f}
		n, err := p.Trials()
		require.NoError(t, err)
		if n > 150 {
			t.Skip("the fractions get long")
		}
		limit := big.NewRat(100-c, 100)
		require.LessOrEqual(t, exactTail(f, n, big.NewRat(100-r, 100)).Cmp(limit), 0, "%d trials are enough", n)
		require.Positive(t, exactTail(f, n-1, big.NewRat(100-r, 100)).Cmp(limit), "%d are not", n-1)
	})
}

// Figures that meet the confidence exactly: 0.9² is 0.81 on paper only.
func TestTrialsTies(t *testing.T) {
	for _, x := range []struct {
		text string
		want int
	}{{"90/19", 2}, {"50/50", 1}, {"50/75", 2}, {"20/80", 1}, {"20/96", 2}, {"20/99.2", 3}, {"90/27.1", 3}, {"99/1.99", 2}, {"70/51", 2}, {"60/64", 2}} {
		p, err := ParsePlan(x.text)
		require.NoError(t, err)
		assert.Equal(t, x.want, trials(t, p), x.text)
		seen, err := DemonstratedConfidence(x.want, 0, p.Reliability)
		require.NoError(t, err)
		assert.InDelta(t, p.Confidence, seen, 1e-15, x.text)
	}
}

// Tails of up to a million trials against 300 bits.
func TestTailsOfManyTrials(t *testing.T) {
	for _, x := range []struct {
		k, n int
		r    float64
	}{
		{0, 1_000_000, 0.999997}, {1, 1_000_000, 0.999995}, {5, 1_000_000, 0.99999}, {100, 1_000_000, 0.9999}, {60, 1_000_000, 0.9999},
		{2000, 1_000_000, 0.998}, {2000, 900_000, 0.998}, {3, 2995, 0.999}, {500, 1000, 0.5}, {400, 1000, 0.5}, {30, 31, 0.03}, {15, 16, 0.2}, {16, 17, 0.2},
		{999_990, 1_000_000, 0.00001}, {1, 2, 0.5},
	} {
		p := new(big.Float).SetPrec(300).Sub(big.NewFloat(1), big.NewFloat(x.r))
		want, _ := new(big.Float).Sub(big.NewFloat(1), bigTail(x.k, x.n, p)).Float64()
		got, err := DemonstratedConfidence(x.n, x.k, x.r)
		require.NoError(t, err)
		assert.InEpsilon(t, want, got, 2e-13, "%+v", x)
	}
}

// Tails of few trials, to nearly all digits of a float64.
func TestTailsOfFewTrials(t *testing.T) {
	for n := 2; n <= 60; n++ {
		for k := 0; k < n; k++ {
			for _, r := range []float64{0.03125, 0.5, 0.90625} { // 1-r has few bits, too
				got, err := DemonstratedConfidence(n, k, r)
				require.NoError(t, err)
				want, _ := bigTail(n-k-1, n, new(big.Float).SetPrec(300).SetFloat64(r)).Float64()
				require.InEpsilon(t, want, got, 5e-14, "more than %d of %d at %v", k, n, 1-r)
			}
		}
	}
}

// The largest numbers of trials, and just too many.
func TestTrialsAtTheEdge(t *testing.T) {
	p := Plan{Reliability: 0.999998, Confidence: 0.8}
	n := trials(t, p) // ln 0.2/ln 0.999998 = 804718.2
	assert.Equal(t, 804719, n)
	for _, f := range []int{0, 1, 7, 50} {
		p := Plan{Reliability: 0.9999, Confidence: 0.95, Allowed: f}
		n := trials(t, p)
		fail := new(big.Float).SetPrec(300).Sub(big.NewFloat(1), big.NewFloat(0.9999))
		assert.LessOrEqual(t, bigTail(f, n, fail).Cmp(big.NewFloat(0.05)), 0)
		assert.Positive(t, bigTail(f, n-1, fail).Cmp(big.NewFloat(0.05)))
	}
	_, err := Plan{Reliability: 0.999998, Confidence: 0.9}.Trials()
	require.EqualError(t, err, "plan the demonstration of 99.9998/90 with 0 failures allowed: it needs more than 1000000 trials")
	_, err = Plan{Reliability: 0.999997, Confidence: 0.9503}.Trials() // ln 0.0497/ln 0.999997 = 1000579.5
	require.ErrorContains(t, err, "more than 1000000 trials")
	_, err = Plan{Reliability: 0.5, Confidence: 0.5, Allowed: MaxTrials - 1}.Trials()
	require.ErrorContains(t, err, "more than 1000000 trials")
	assert.Equal(t, 999_999, trials(t, Plan{Reliability: 0.5, Confidence: 0.5, Allowed: 499_999}), "of an odd number, fewer than half come with ½ exactly")
	assert.Equal(t, MaxTrials, trials(t, Plan{Reliability: 0.5, Confidence: 0.5001, Allowed: 499_999}))
}
