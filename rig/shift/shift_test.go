package shift

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"os/exec"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/need"
)

func TestPublished(t *testing.T) {
	// Shier, "The Mann-Whitney U test", 2004, as scipy's documentation has it.
	males, females := []int64{19, 22, 16, 29, 24}, []int64{20, 11, 17, 12}
	got := MannWhitney(females, males)
	assert.Equal(t, 17.0, got.U)
	assert.InDelta(t, 1.0/9, got.P, 1e-12)
	assert.True(t, got.Exact)
	assert.Equal(t, 3.0, MannWhitney(males, females).U)
	// Two of the twenty ways to deal six values out.
	got = MannWhitney([]int64{1, 2, 3}, []int64{4, 5, 6})
	assert.InDelta(t, 0.1, got.P, 1e-12)
	// Hollander and Wolfe, Nonparametric Statistical Methods, 1973, p. 69 (data in R's
	// help page of wilcox.test; 0.1272 one-sided, from memory).
	x := []int64{80, 83, 189, 104, 145, 138, 191, 164, 73, 146}
	y := []int64{115, 88, 90, 74, 121}
	got = MannWhitney(y, x)
	assert.Equal(t, 35.0, got.U)
	assert.InDelta(t, 0.2544123, got.P, 5e-8)
	// Holm: an example that goes round the web (GeeksforGeeks) and one worked by hand.
	assert.InDeltaSlice(t, []float64{.03, .06, .06, .02}, Holm([]float64{.01, .04, .03, .005}), 1e-12)
	assert.InDeltaSlice(t, []float64{.05, .08, .09, .09, .09}, Holm([]float64{.01, .02, .03, .04, .05}), 1e-12)
}

// brute deals the values out in all ways.
func brute(a, b []int64) float64 {
	all := append(slices.Clone(a), b...)
	rank := make([]int64, len(all))
	for i, x := range all {
		for _, y := range all {
			switch {
			case y < x:
				rank[i] += 2
			case y == x:
				rank[i]++
			}
		}
		rank[i]++
	}
	sum := func(mask int) (w int64) {
		for i, r := range rank {
			if mask>>i&1 == 1 {
				w += r
			}
		}
		return w
	}
	n, mean := len(b), int64(len(b))*int64(len(all)+1)
	here := sum((1<<len(b) - 1) << len(a))
	away := max(here-mean, mean-here)
	total, far := 0, 0
	for mask := range 1 << len(all) {
		ones := 0
		for i := range all {
			ones += mask >> i & 1
		}
		if ones != n {
			continue
		}
		total++
		if d := sum(mask) - mean; d >= away || -d >= away {
			far++
		}
	}
	return float64(far) / float64(total)
}

func TestAgainstAllWays(t *testing.T) {
	ties := 0
	rapid.Check(t, func(t *rapid.T) {
		m := rapid.IntRange(1, 6).Draw(t, "m")
		n := rapid.IntRange(1, 10-m).Draw(t, "n")
		top := rapid.Int64Range(0, 12).Draw(t, "top")
		a := rapid.SliceOfN(rapid.Int64Range(0, top), m, m).Draw(t, "a")
		b := rapid.SliceOfN(rapid.Int64Range(0, top), n, n).Draw(t, "b")
		got := MannWhitney(a, b)
		require.True(t, got.Exact)
		require.InDelta(t, brute(a, b), got.P, 1e-12, "%v %v", a, b)
		require.InDelta(t, got.P, MannWhitney(b, a).P, 1e-12, "either way round")
		require.InDelta(t, float64(m*n), got.U+MannWhitney(b, a).U, 1e-12)
		up := func(s []int64) (out []int64) {
			for _, x := range s {
				out = append(out, x*x*x+7)
			}
			return out
		}
		require.Equal(t, got, MannWhitney(up(a), up(b)), "ranks alone count")
		if got.Ties {
			ties++
		}
	})
	if !t.Failed() && ties < 10 {
		t.Fatalf("only %d draws with ties", ties)
	}
}

func TestEstimateKeepsToItsWord(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		draw := func(name string) []int64 {
			return rapid.SliceOfN(rapid.Int64Range(-1000, 1000), 1, 30).Draw(t, name)
		}
		a, b := draw("a"), draw("b")
		e := HodgesLehmann(a, b, 0.95)
		by := rapid.Int64Range(-500, 500).Draw(t, "by")
		moved := make([]int64, len(b))
		for i := range b {
			moved[i] = b[i] + by
		}
		f := HodgesLehmann(a, moved, 0.95)
		require.Equal(t, e.Shift+by, f.Shift)
		require.Equal(t, e.Covered, f.Covered)
		if e.Covered {
			require.Equal(t, []int64{e.Low + by, e.High + by}, []int64{f.Low, f.High})
			require.True(t, e.Low <= e.Shift && e.Shift <= e.High)
			require.GreaterOrEqual(t, e.Reached, 0.95)
		}
		g := HodgesLehmann(b, a, 0.95)
		require.InDelta(t, -e.Shift, g.Shift, 1, "the other way round, but for half a unit")
	})
	assert.False(t, HodgesLehmann([]int64{1, 2}, []int64{3}, 0.95).Covered, "too few to say")
	assert.Equal(t, Estimate{}, HodgesLehmann(nil, []int64{1}, 0.95))
}

func TestCorners(t *testing.T) {
	assert.Equal(t, 1.0, MannWhitney(nil, []int64{1}).P)
	same := MannWhitney([]int64{5, 5, 5}, []int64{5, 5})
	assert.Equal(t, 1.0, same.P, "all equal tells nothing")
	assert.Equal(t, 1.0, MannWhitney(make([]int64, 1000), make([]int64, 1000)).P)
	assert.Empty(t, Holm(nil))
	assert.Equal(t, []float64{1, 1}, Holm([]float64{0.9, 0.7}))
}

func TestFewest(t *testing.T) {
	for _, tests := range []int{1, 10, 300} {
		n := Fewest(tests, 0.05)
		apart := func(n int) float64 {
			a, b := make([]int64, n), make([]int64, n)
			for i := range n {
				a[i], b[i] = int64(i), int64(i+n)
			}
			return MannWhitney(a, b).P * float64(tests)
		}
		assert.LessOrEqual(t, apart(n), 0.05, "%d tests", tests)
		assert.Greater(t, apart(n-1), 0.05, "%d tests", tests)
	}
}

// Where the count gives way to the normal approximation the two differ by little.
func TestApproximationAtTheChangeOver(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	worst := 0.0
	for range 200 {
		a, b := make([]int64, 70), make([]int64, 70)
		by := random.Int64N(300)
		for i := range a {
			a[i], b[i] = random.Int64N(1e6), random.Int64N(1e6)+by*1000
		}
		groups, w := ranked(a, b)
		if len(groups) < 140 {
			continue
		}
		mean := int64(70 * 141)
		away := max(w-mean, mean-w)
		exact, normal := plain(70, 70, away), approximate(groups, 70, 70, float64(away)/2)
		if exact > 1e-4 {
			worst = max(worst, math.Abs(math.Log(normal/exact)))
		}
	}
	t.Logf("at 70 a side the approximation is off by a factor of at most %.4f where P is above 0.0001", math.Exp(worst))
	assert.Less(t, worst, 0.25)
	tied := MannWhitney(slices.Repeat([]int64{1, 2, 3}, 20), slices.Repeat([]int64{1, 2, 3, 4}, 15))
	assert.True(t, tied.Exact, "59 a side are counted with ties too")
}

// Two samples of one distribution, 40 rules at once, with the steps of a meter: all
// pairs of runs together are flagged no more often than stated.
func TestFalseAlarms(t *testing.T) {
	const pairs, rules, trials = 1000, 40, 59
	random := rand.New(rand.NewPCG(3, 4))
	flagged := 0
	for pair := range pairs {
		ps := make([]float64, rules)
		for r := range ps {
			step := []int64{1, 1000}[r%2]
			if r == 7 && pair%20 == 0 { // counting ties out takes longer
				step = 50_000
			}
			draw := func() []int64 {
				s := make([]int64, trials)
				for i := range s {
					s[i] = int64(random.NormFloat64()*100_000) / step * step
				}
				return s
			}
			ps[r] = MannWhitney(draw(), draw()).P
		}
		if slices.Min(Holm(ps)) <= 0.05 {
			flagged++
		}
	}
	// The binomial's mean of 50 and three standard deviations of 6.9.
	assert.LessOrEqual(t, flagged, 71, "of %d pairs at a nominal 5 %%", pairs)
	t.Logf("%d of %d pairs flagged, nominal 5 %%", flagged, pairs)
}

// R's wilcox.test and scipy's mannwhitneyu, where they are installed.
func TestAgainstR(t *testing.T) {
	need.Tool(t, "Rscript", "apt-get install r-base-core")
	random := rand.New(rand.NewPCG(5, 6))
	for range 5 {
		a, b := make([]int64, 7+random.IntN(20)), make([]int64, 5+random.IntN(20))
		for i := range a {
			a[i] = random.Int64N(1e9)
		}
		for i := range b {
			b[i] = random.Int64N(1e9) + 2e8
		}
		list := func(s []int64) (text string) {
			for i, x := range s {
				if i > 0 {
					text += ","
				}
				text += fmt.Sprint(x)
			}
			return text
		}
		out, err := exec.Command("Rscript", "-e", fmt.Sprintf(
			`r <- wilcox.test(c(%s), c(%s), exact=TRUE, conf.int=TRUE); cat(sprintf("[%%.15g,%%.15g,%%.15g,%%.15g,%%.15g]", r$statistic, r$p.value, r$estimate, r$conf.int[1], r$conf.int[2]))`,
			list(b), list(a))).Output()
		require.NoError(t, err)
		var want []float64
		require.NoError(t, json.Unmarshal(out, &want), "%s", out)
		got, e := MannWhitney(a, b), HodgesLehmann(a, b, 0.95)
		assert.Equal(t, want[0], got.U)
		assert.InEpsilon(t, want[1], got.P, 1e-9)
		assert.InDelta(t, want[2], e.Shift, 1)
		assert.InDelta(t, want[3], e.Low, 1e-3)
		assert.InDelta(t, want[4], e.High, 1e-3)
	}
}

func TestAgainstScipyWithTies(t *testing.T) {
	need.Tool(t, "python3", "apt-get install python3 python3-scipy")
	if err := exec.Command("python3", "-c", "import scipy.stats").Run(); err != nil {
		need.Missing(t, "scipy", "apt-get install python3-scipy")
	}
	a, b := []int64{1, 2, 2, 3, 3, 3, 9, 4}, []int64{2, 3, 4, 4, 5, 9, 9}
	out, err := exec.Command("python3", "-c", `
import scipy.stats as s, numpy as np
a=[1,2,2,3,3,3,9,4]; b=[2,3,4,4,5,9,9]
f=lambda x,y: abs(s.mannwhitneyu(y,x,method="asymptotic").statistic-len(x)*len(y)/2)
r=s.permutation_test((a,b),f,permutation_type="independent",n_resamples=np.inf,alternative="greater")
print(r.pvalue)`).Output()
	require.NoError(t, err)
	var want float64
	_, err = fmt.Sscan(string(out), &want)
	require.NoError(t, err)
	assert.InDelta(t, want, MannWhitney(a, b).P, 1e-9)
}

func BenchmarkMannWhitney(bench *testing.B) {
	random := rand.New(rand.NewPCG(1, 2))
	draw := func(n int, step int64) []int64 {
		s := make([]int64, n)
		for i := range s {
			s[i] = random.Int64N(1e9) / step * step
		}
		return s
	}
	for _, c := range []struct {
		name string
		n    int
		step int64
	}{{"59 a side", 59, 1}, {"59 a side, tied", 59, 5e7}, {"1000 a side", 1000, 1}} {
		a, b := draw(c.n, c.step), draw(c.n, c.step)
		bench.Run(c.name, func(bench *testing.B) {
			for bench.Loop() {
				MannWhitney(a, b)
			}
		})
		bench.Run(c.name+", shift", func(bench *testing.B) {
			for bench.Loop() {
				HodgesLehmann(a, b, 0.95)
			}
		})
	}
}
