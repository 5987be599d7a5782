package reliability_test

import (
	"math"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	. "pintle/rig/reliability"
)

// What cannot be asked is an error everywhere, and never a figure that is none.
func TestNoFigureFromNothing(t *testing.T) {
	nan := math.NaN()
	for _, p := range []float64{0, 1, -0.1, 1.1, nan, math.Inf(1), math.Inf(-1), 95} {
		for what, ask := range map[string]func() (float64, error){
			"reliability of a plan":  func() (float64, error) { n, err := Plan{p, 0.95, 0}.Trials(); return float64(n), err },
			"confidence of a plan":   func() (float64, error) { n, err := Plan{0.95, p, 0}.Trials(); return float64(n), err },
			"reliability shown":      func() (float64, error) { return DemonstratedReliability(59, 0, p) },
			"confidence shown":       func() (float64, error) { return DemonstratedConfidence(59, 0, p) },
			"lower bound":            func() (float64, error) { return LowerBound(1, 59, p) },
			"upper bound":            func() (float64, error) { x, err := UpperBound(1, 59, p); return x - 1, err },
			"interval":               func() (float64, error) { i, err := ClopperPearson(1, 59, p); return i.Low + i.High, err },
			"coverage":               func() (float64, error) { n, err := Tolerance{p, 0.95}.OneSided(1); return float64(n), err },
			"confidence of coverage": func() (float64, error) { n, err := Tolerance{0.95, p}.TwoSided(1); return float64(n), err },
			"bound":                  func() (float64, error) { b, err := Tolerance{p, 0.95}.UpperBound(ramp(99), 0); return b.Achieved, err },
			"quantile":               func() (float64, error) { _, _, x, err := Quantile{p, 0.95}.Ranks(99); return x, err },
			"quantile's confidence":  func() (float64, error) { b, err := Quantile{0.5, p}.Interval(ramp(99), 0); return b.Achieved, err },
			"quantile of nothing":    func() (float64, error) { b, err := Quantile{p, 0.95}.Interval(nil, 0); return b.Achieved, err },
		} {
			got, err := ask()
			require.ErrorContains(t, err, "it is a proportion above 0 and below 1", "%s of %v", what, p)
			assert.Zero(t, got, what)
		}
	}
	for _, x := range []struct {
		events, trials int
		want           string
	}{
		{0, 0, "no trials were made: nothing is proved"}, {0, -1, "-1 trials; it takes 1 to 1000000"}, {0, MaxTrials + 1, "1000001 trials"},
		{-1, 5, "-1 events in 5 trials"}, {6, 5, "6 events in 5 trials"},
	} {
		for _, ask := range []func() error{
			func() error { _, err := DemonstratedReliability(x.trials, x.events, 0.95); return err },
			func() error { _, err := DemonstratedConfidence(x.trials, x.events, 0.95); return err },
			func() error { _, err := ClopperPearson(x.events, x.trials, 0.95); return err },
			func() error { _, err := LowerBound(x.events, x.trials, 0.95); return err },
			func() error { _, err := UpperBound(x.events, x.trials, 0.95); return err },
		} {
			require.ErrorContains(t, ask(), x.want)
		}
	}
	_, err := Plan{2, -1, -3}.Trials()
	require.EqualError(t, err, "plan a demonstration: a reliability of 2; it is a proportion above 0 and below 1\na confidence of -1; it is a proportion above 0 and below 1\n-3 failures allowed; it takes 0 to 999999")
	_, err = Tolerance{0.95, 0.95}.OneSided(0)
	require.ErrorContains(t, err, "order 0; it takes 1 to 500000")
	_, err = Tolerance{0.999999, 0.95}.OneSided(1)
	require.ErrorContains(t, err, "more than 1000000 trials")
	_, err = Tolerance{0.999999, 0.95}.UpperBound(ramp(5), 0)
	require.ErrorContains(t, err, "more than 1000000 trials")
	for missing, want := range map[int]string{-1: "-1 missing values", 0: "no trials were made", MaxTrials + 1: "1000001 missing values"} {
		_, err := Tolerance{0.95, 0.95}.UpperBound(nil, missing)
		require.ErrorContains(t, err, want)
		_, err = Quantile{0.5, 0.95}.Interval(nil, missing)
		require.ErrorContains(t, err, want)
	}
	_, err = Tolerance{0.95, 0.95}.UpperBound(ramp(1), MaxTrials)
	require.ErrorContains(t, err, "1000001 trials; it takes 1 to 1000000")
	_, _, _, err = Quantile{0.5, 0.95}.Ranks(0)
	require.ErrorContains(t, err, "no trials were made")
}

// Extreme but allowed: figures stay figures.
func TestExtremes(t *testing.T) {
	for _, c := range []float64{1e-300, 1e-9, 0.5, 1 - 1e-9, 1 - 1e-15} {
		for _, x := range []struct{ k, n int }{{0, 1}, {1, 1}, {1, 2}, {0, MaxTrials}, {1, MaxTrials}, {MaxTrials / 2, MaxTrials}, {MaxTrials - 1, MaxTrials}, {MaxTrials, MaxTrials}} {
			i, err := ClopperPearson(x.k, x.n, c)
			require.NoError(t, err)
			share := float64(x.k) / float64(x.n)
			require.True(t, 0 <= i.Low && i.Low <= share+1e-9 && share-1e-9 <= i.High && i.High <= 1, "%v at %v: %v", x, c, i)
			shown, err := DemonstratedReliability(x.n, x.n-x.k, c)
			require.NoError(t, err)
			require.True(t, 0 <= shown && shown <= 1)
		}
		for _, r := range []float64{1e-300, 1e-9, 0.5, 1 - 1e-9, 1 - 1e-15} {
			shown, err := DemonstratedConfidence(1000, 3, r)
			require.NoError(t, err)
			require.True(t, 0 <= shown && shown <= 1)
			if n, err := (Plan{r, c, 2}).Trials(); err == nil {
				require.True(t, n >= 3 && n <= MaxTrials)
			}
		}
	}
	none, err := DemonstratedConfidence(5, 5, 0.5)
	require.NoError(t, err)
	assert.Zero(t, none, "nothing passed, nothing is shown")
	r, err := DemonstratedReliability(5, 5, 0.95)
	require.NoError(t, err)
	assert.Zero(t, r)
}

// The plan, the reliability it shows and the confidence it shows are one relation.
func TestPlanAndBoundsAgree(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		p := Plan{rapid.Float64Range(0.05, 0.9999).Draw(t, "r"), rapid.Float64Range(0.01, 0.9999).Draw(t, "c"), rapid.IntRange(0, 20).Draw(t, "f")}
		n, err := p.Trials()
		require.NoError(t, err)
		shown := func(n int) float64 {
			r, err := DemonstratedReliability(n, p.Allowed, p.Confidence)
			require.NoError(t, err)
			return r
		}
		require.GreaterOrEqual(t, shown(n), p.Reliability-1e-10)
		if n-1 > p.Allowed {
			require.Less(t, shown(n-1), p.Reliability+1e-10)
		}
		c, err := DemonstratedConfidence(n, p.Allowed, shown(n))
		require.NoError(t, err)
		require.InDelta(t, p.Confidence, c, 1e-9)
		more := p
		more.Allowed++
		require.Greater(t, trialsOf(t, more), n, "a failure more takes more trials")
		for _, harder := range []Plan{{p.Reliability + (1-p.Reliability)/2, p.Confidence, p.Allowed}, {p.Reliability, p.Confidence + (1-p.Confidence)/2, p.Allowed}} {
			require.GreaterOrEqual(t, trialsOf(t, harder), n)
		}
	})
}

func trialsOf(t *rapid.T, p Plan) int {
	n, err := p.Trials()
	require.NoError(t, err)
	return n
}

// Intervals cover the truth as often as they say, exactly: the probability of all
// counts whose interval leaves it out is at most the rest, and at most half on
// either side.
func TestClopperPearsonCovers(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1, 60).Draw(t, "n")
		p := rapid.Float64Range(0.001, 0.999).Draw(t, "p")
		c := rapid.SampledFrom([]float64{0.5, 0.9, 0.95, 0.99}).Draw(t, "c")
		var below, above, before float64
		lowBefore := -1.0
		for k := 0; k <= n; k++ {
			i, err := ClopperPearson(k, n, c)
			require.NoError(t, err)
			require.Greater(t, i.Low, lowBefore, "bounds rise with the count")
			lowBefore = i.Low
			mirror, err := ClopperPearson(n-k, n, c)
			require.NoError(t, err)
			require.InDelta(t, 1-mirror.High, i.Low, 1e-12)
			cdf := 1.0
			if k < n {
				up, err := DemonstratedConfidence(n, k, 1-p) // P(X > k)
				require.NoError(t, err)
				cdf = 1 - up
			}
			if chance := cdf - before; p < i.Low {
				below += chance
			} else if p > i.High {
				above += chance
			}
			before = cdf
		}
		require.LessOrEqual(t, below, (1-c)/2+1e-12)
		require.LessOrEqual(t, above, (1-c)/2+1e-12)
	})
}

// One-sided bounds are the ends of the two-sided interval of half the doubt.
func TestOneSidedIsHalf(t *testing.T) {
	i, err := ClopperPearson(7, 50, 0.90)
	require.NoError(t, err)
	low, err := LowerBound(7, 50, 0.95)
	require.NoError(t, err)
	high, err := UpperBound(7, 50, 0.95)
	require.NoError(t, err)
	assert.InDelta(t, i.Low, low, 1e-15)
	assert.InDelta(t, i.High, high, 1e-15)
}

func TestToleranceBounds(t *testing.T) {
	ask := Tolerance{0.95, 0.95}
	sample := ramp(124)
	kept := slices.Clone(sample)
	high, err := ask.UpperBound(sample, 0)
	require.NoError(t, err)
	low, err := ask.LowerBound(sample, 0)
	require.NoError(t, err)
	assert.Equal(t, kept, sample, "the sample is left as it is")
	assert.Equal(t, []int64{122, 3}, []int64{high.Value, low.Value})
	assert.Equal(t, []int{122, 3}, []int{high.Rank, low.Rank})
	assert.Equal(t, high.Achieved, low.Achieved)

	// Values that never came lie beyond all others.
	for _, x := range []struct {
		missing   int
		found     bool
		high, low int64
	}{{0, true, 122, 3}, {1, true, 122, 2}, {2, true, 122, 1}, {3, false, 0, 0}} {
		high, err := ask.UpperBound(ramp(124-x.missing), x.missing)
		require.NoError(t, err)
		low, err := ask.LowerBound(ramp(124-x.missing), x.missing)
		require.NoError(t, err)
		assert.Equal(t, []bool{x.found, x.found}, []bool{high.Found, low.Found})
		assert.Equal(t, []int64{x.high, x.low}, []int64{high.Value, low.Value}, "%d missing", x.missing)
		if !x.found {
			assert.Equal(t, "no bound exists: it is the value of rank 122 of 124, and 3 are missing at that end", high.Why)
			assert.Equal(t, "no bound exists: it is the value of rank 3 of 124, and 3 are missing at that end", low.Why)
		}
	}
	few, err := ask.UpperBound(ramp(58), 0)
	require.NoError(t, err)
	assert.Equal(t, Bound{Trials: 58, Needed: 59, Why: "no bound exists: 58 trials are too few to cover 0.95 at a confidence of 0.95, which takes 59"}, few)
	all, err := ask.UpperBound(nil, 59)
	require.NoError(t, err)
	assert.False(t, all.Found, "nothing but missing values")
}

// The bound's rank is the best there is, and its order the one whose size Wilks
// gives.
func TestToleranceRankIsBest(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ask := Tolerance{rapid.Float64Range(0.3, 0.99).Draw(t, "coverage"), rapid.Float64Range(0.3, 0.99).Draw(t, "confidence")}
		n := rapid.IntRange(1, 700).Draw(t, "n")
		b, err := ask.UpperBound(ramp(n), 0)
		require.NoError(t, err)
		require.Equal(t, n >= b.Needed, b.Found)
		if !b.Found {
			return
		}
		require.GreaterOrEqual(t, b.Achieved, ask.Confidence-1e-12)
		order := n - b.Rank + 1
		size, err := ask.OneSided(order)
		require.NoError(t, err)
		require.LessOrEqual(t, size, n)
		next, err := ask.OneSided(order + 1)
		require.NoError(t, err)
		require.Greater(t, next, n)
	})
}

// In 4000 samples of 93 values of a skewed quantity the bound covers 95 % in as many
// as it says.
func TestToleranceBySimulation(t *testing.T) {
	const runs = 4000
	random, covers := dice(7), 0
	for range runs {
		sample := make([]int64, 93)
		for i := range sample {
			sample[i] = int64(1e9 * -math.Log(1-random.roll()))
		}
		b, err := Tolerance{0.95, 0.95}.UpperBound(sample, 0)
		require.NoError(t, err)
		if float64(b.Value) >= 1e9*-math.Log(0.05) {
			covers++
		}
	}
	bounds, err := ClopperPearson(covers, runs, 0.999)
	require.NoError(t, err)
	assert.True(t, bounds.Low <= 0.95002 && 0.95002 <= bounds.High, "%d of %d cover, %v", covers, runs, bounds)
}

func TestQuantileInterval(t *testing.T) {
	median := Quantile{0.5, 0.95}
	got, err := median.Interval(ramp(10), 0)
	require.NoError(t, err)
	assert.Equal(t, []any{true, 2, 9, int64(2), int64(9)}, []any{got.Found, got.LowRank, got.HighRank, got.Low, got.High})
	for _, x := range []struct {
		n, missing int
		why        string
	}{
		{5, 0, "no interval exists: 5 trials are too few to hold the quantile at 0.5 on both sides at a confidence of 0.95"},
		{8, 2, "no interval exists: its upper end is the value of rank 9 of 10, and 2 are missing"},
		{9, 1, ""},
	} {
		got, err := median.Interval(ramp(x.n), x.missing)
		require.NoError(t, err)
		assert.Equal(t, x.why, got.Why)
		assert.Equal(t, x.why == "", got.Found)
	}
	low, high, _, err := Quantile{0.95, 0.95}.Ranks(59)
	require.NoError(t, err)
	assert.Equal(t, []int{52, 60}, []int{low, high}, "bounded from below only: P(X <= 51) is .009, P(X <= 52) .027 of 59 at .95")
	for at, want := range map[float64]string{0.95: "59 trials are too few to hold the quantile at 0.95 on both sides", 0.05: "59 trials are too few to hold the quantile at 0.05 on both sides"} {
		got, err := Quantile{at, 0.95}.Interval(ramp(59), 0)
		require.NoError(t, err)
		assert.False(t, got.Found)
		assert.Contains(t, got.Why, want)
	}
	rapid.Check(t, func(t *rapid.T) {
		q := Quantile{rapid.Float64Range(0.01, 0.99).Draw(t, "at"), rapid.Float64Range(0.5, 0.999).Draw(t, "confidence")}
		n := rapid.IntRange(1, 300).Draw(t, "n")
		low, high, achieved, err := q.Ranks(n)
		require.NoError(t, err)
		require.True(t, 0 <= low && low <= high && high <= n+1, "%d to %d", low, high)
		require.True(t, achieved >= q.Confidence-1e-12 && achieved <= 1)
		l, h, _, err := Quantile{1 - q.At, q.Confidence}.Ranks(n)
		require.NoError(t, err)
		require.Equal(t, []int{low, high}, []int{n + 1 - h, n + 1 - l}, "the other way up")
	})
}
