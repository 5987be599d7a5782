package shift

import (
	"fmt"
	"math"
	"math/rand/v2"
	"os/exec"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/need"
)

func TestPublished(t *testing.T) {
	// Shier, "The Mann-Whitney U test", 2004, as scipy's documentation has it.
	got := MannWhitney([]int64{19, 22, 16, 29, 24}, []int64{20, 11, 17, 12})
	assert.Equal(t, 17.0, got.U)
	assert.InDelta(t, 1.0/9, got.P, 1e-12)
	r := rank([]int64{16, 19, 22, 24, 29}, []int64{11, 12, 17, 20})
	assert.InDelta(t, 0.111346887, r.normal().outside(14), 5e-10, "normal, with continuity")
	assert.InDelta(t, 0.1, MannWhitney([]int64{1, 2, 3}, []int64{4, 5, 6}).P, 1e-15)
	// Hollander and Wolfe 1973, p. 69; data in R's help page of wilcox.test.
	got = MannWhitney([]float64{.80, .83, 1.89, 1.04, 1.45, 1.38, 1.91, 1.64, .73, 1.46}, []float64{1.15, .88, .90, .74, 1.21})
	assert.Equal(t, 35.0, got.U)
	assert.InDelta(t, 0.1272061, got.Greater, 5e-8)
	assert.InDelta(t, 0.2544123, got.P, 5e-8)
	// Holm 1979 step-down: a worked example restated by GeeksforGeeks, and one by hand.
	p := []float64{.01, .04, .03, .005}
	assert.InDeltaSlice(t, []float64{.03, .06, .06, .02}, Holm(p), 1e-12)
	assert.Equal(t, []bool{true, false, false, true}, Reject(p, 0.05), "Hochberg would reject all four")
	assert.InDeltaSlice(t, []float64{.05, .08, .09, .09, .09}, Holm([]float64{.01, .02, .03, .04, .05}), 1e-12)
	assert.Equal(t, []float64{1, 0.02, 1}, Holm([]float64{math.NaN(), 0.02 / 3, 2}))
}

// brute deals the values out in all ways.
func brute(a, b []int64) (two, less, greater float64) {
	all, total := append(slices.Clone(a), b...), 0.0
	u2 := func(mask int) (u int) {
		for i, x := range all {
			for j, y := range all {
				switch {
				case mask>>i&1 == 0 || mask>>j&1 == 1 || x < y:
				case x > y:
					u += 2
				default:
					u++
				}
			}
		}
		return u
	}
	here, mean := u2(1<<len(a)-1), len(a)*len(b)
	for mask := range 1 << len(all) {
		ones := 0
		for i := range all {
			ones += mask >> i & 1
		}
		if ones != len(a) {
			continue
		}
		u := u2(mask)
		total++
		two += count(max(u-mean, mean-u) >= max(here-mean, mean-here))
		less, greater = less+count(u <= here), greater+count(u >= here)
	}
	return two / total, less / total, greater / total
}

func count(is bool) float64 {
	if is {
		return 1
	}
	return 0
}

func values(t *rapid.T, name string, n int, top int64) []int64 {
	return rapid.SliceOfN(rapid.Int64Range(-top, top), n, n).Draw(t, name)
}

// TestAgainstAllWays goes through every pair of sizes of at most ten values.
func TestAgainstAllWays(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	for m := 1; m < 10; m++ {
		for n := 1; m+n <= 10; n++ {
			for _, top := range []int64{1, 2, 3, 5, 1000} {
				a, b := sample(random, m, func() int64 { return random.Int64N(top) }), sample(random, n, func() int64 { return random.Int64N(top) })
				got := MannWhitney(a, b)
				two, less, greater := brute(a, b)
				require.True(t, got.Exact)
				require.InDeltaSlice(t, []float64{two, less, greater}, []float64{got.P, got.Less, got.Greater}, 1e-14, "%v %v", a, b)
				require.LessOrEqual(t, got.Least, got.P)
			}
		}
	}
}

func sample(_ *rand.Rand, n int, draw func() int64) []int64 {
	s := make([]int64, n)
	for i := range s {
		s[i] = draw()
	}
	return s
}

func TestProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		top := rapid.SampledFrom([]int64{0, 1, 4, 50, 1e6}).Draw(t, "top")
		a := values(t, "a", rapid.IntRange(1, 30).Draw(t, "m"), top)
		b := values(t, "b", rapid.IntRange(1, 30).Draw(t, "n"), top)
		by := rapid.Int64Range(-1e9, 1e9).Draw(t, "by") * 2
		x, y := MannWhitney(a, b), MannWhitney(b, a)
		require.Equal(t, float64(x.M*x.N), x.U+y.U)
		require.InDeltaSlice(t, []float64{x.P, x.Less, x.Greater, x.Least}, []float64{y.P, y.Greater, y.Less, y.Least}, 1e-12)
		bent := func(s []int64) []float64 {
			out := make([]float64, len(s))
			for i, v := range s {
				out[i] = math.Cbrt(float64(v)) - 7
			}
			return out
		}
		require.Equal(t, x, MannWhitney(bent(a), bent(b)), "only the order counts")
		moved := slices.Clone(b)
		for i := range moved {
			moved[i] += by
		}
		e, f, g := HodgesLehmann(a, b, 0.95), HodgesLehmann(a, moved, 0.95), HodgesLehmann(b, a, 0.95)
		require.Equal(t, []int64{-e.Shift, -e.High, -e.Low}, []int64{g.Shift, g.Low, g.High})
		require.Equal(t, e.Shift+by, f.Shift)
		d := []int64{}
		for _, p := range a {
			for _, q := range b {
				d = append(d, q-p)
			}
		}
		slices.Sort(d)
		low, high := d[(len(d)-1)/2], d[len(d)/2]
		require.InDelta(t, float64(low+high)/2, float64(e.Shift), 0.5, "the median of the differences written out")
		if e.Covered {
			require.Equal(t, []int64{e.Low + by, e.High + by}, []int64{f.Low, f.High})
			require.True(t, e.Low <= e.Shift && e.Shift <= e.High)
			require.GreaterOrEqual(t, e.Confidence, 0.95-1e-9)
		} else {
			require.NotEmpty(t, e.Why)
			require.Equal(t, 4, e.Needed)
		}
	})
}

func TestCorners(t *testing.T) {
	for _, n := range []int{1, 3, 59, 1000} {
		got := MannWhitney(make([]int64, n), make([]int64, n))
		assert.Equal(t, []float64{1, 1, 1, 1}, []float64{got.P, got.Less, got.Greater, got.Least}, "%d equal", n)
	}
	for _, got := range []Test{MannWhitney(nil, []int64{1}), MannWhitney([]float64{1, math.NaN()}, []float64{1})} {
		assert.False(t, got.Tested)
		assert.Equal(t, 1.0, got.P)
		assert.NotEmpty(t, got.Why)
	}
	assert.Equal(t, "not tested", Test{}.Method())
	assert.False(t, HodgesLehmann([]int64{math.MaxInt64}, []int64{math.MinInt64}, 0.95).Found)
	three := HodgesLehmann([]int64{1, 2, 3}, []int64{4, 5, 6}, 0.9) // 2 of 20 ways
	assert.True(t, three.Covered)
	assert.InDelta(t, 0.9, three.Confidence, 1e-12)
	assert.False(t, HodgesLehmann([]int64{1, 2, 3}, []int64{4, 5, 6}, 0.91).Covered)
}

func TestFewest(t *testing.T) {
	assert.Equal(t, 4, Fewest(1, 0.05))  // 2/70 after 2/20
	assert.Equal(t, 7, Fewest(74, 0.05)) // 2·74/3432 after 2·74/924
	assert.Equal(t, 0, Fewest(0, 0.05))
	assert.Equal(t, 0, Fewest(1, 0))
}

// TestChangeOver says how far off the approximation is just beyond what is counted.
func TestChangeOver(t *testing.T) {
	assert.True(t, untied(100, 100).affordable())
	assert.True(t, untied(1, 10000).affordable())
	tied := ranking{m: 100, n: 100, sizes: slices.Repeat([]int{2}, 100)}
	assert.True(t, tied.affordable())
	far := func(r ranking) (absolute, relative float64) {
		e, l := r.count(), r.normal()
		for by := e.mean % e.unit; by <= e.mean; by += e.unit {
			p, q := e.outside(by), l.outside(by)
			absolute = max(absolute, math.Abs(p-q))
			if p >= 1e-4 {
				relative = max(relative, math.Abs(q/p-1))
			}
			if p < 1e-6 {
				break
			}
		}
		return absolute, relative
	}
	n := 100
	for untied(n, n).affordable() {
		n++
	}
	absolute, relative := far(untied(n, n))
	t.Logf("%d a side: P off by %.2g, by %.2g of itself where it is 1e-4 or more", n, absolute, relative)
	assert.Less(t, absolute, 1e-3)
	assert.Less(t, relative, 0.15)
}

// trial is a stop time in nanoseconds, as a meter with the step reads it.
func trial(r *rand.Rand, mean, sd float64, step int64) int64 {
	return int64(mean+sd*r.NormFloat64()) / step * step
}

// TestFalseAlarms: identical builds, 40 rules, half of them with heavy ties. An
// exact P is worked out where the approximation is under 0.02; Holm flags a pair
// only for a P of at most 0.05/40.
func TestFalseAlarms(t *testing.T) {
	const pairs, rules, trials = 1000, 40, 59
	random, flagged := rand.New(rand.NewPCG(3, 4)), 0
	for range pairs {
		least := 1.0
		for rule := range rules {
			step := []int64{1, 2_000_000, 1, 20_000_000}[rule%4] // sd 10 ms
			draw := func() int64 { return trial(random, 150e6, 10e6, step) }
			a, b := sample(random, trials, draw), sample(random, trials, draw)
			x, y, _ := ordered(a, b)
			r := rank(x, y)
			if r.normal().outside(max(r.u2-r.mean(), r.mean()-r.u2)) < 0.02 {
				least = min(least, MannWhitney(a, b).P)
			}
		}
		flagged += int(count(least*rules <= 0.05))
	}
	t.Logf("%d of %d pairs flagged, nominal 5 %%", flagged, pairs)
	assert.LessOrEqual(t, flagged, 71) // 50 and three standard deviations of 6.9
	assert.Positive(t, flagged, "a test that never flags is not one")
}

func TestSlowerBuildIsFlagged(t *testing.T) {
	random, flagged := rand.New(rand.NewPCG(5, 6)), 0
	const runs = 200
	for range runs {
		a := sample(random, 59, func() int64 { return trial(random, 100e6, 15e6, 10_000_000) })
		b := sample(random, 59, func() int64 { return trial(random, 115e6, 15e6, 10_000_000) })
		p := slices.Repeat([]float64{1}, 40)
		p[17] = MannWhitney(a, b).P
		e := Erode(a, b, Question[int64]{Bound: AtMost, Limit: 200e6, Adjusted: Holm(p)[17], Rules: 40, Alpha: 0.05, Least: 0.1, Confidence: 0.95})
		flagged += int(count(e.Verdict == Eroded))
	}
	t.Logf("%d of %d flagged", flagged, runs)
	assert.GreaterOrEqual(t, flagged, runs*95/100)
}

func TestErode(t *testing.T) {
	a, b := []int64{10, 11, 12, 13, 14, 15, 16, 17}, []int64{20, 21, 22, 23, 24, 25, 26, 27}
	q := Question[int64]{Bound: AtMost, Limit: 37, Adjusted: 0.05, Rules: 1, Alpha: 0.05, Least: 0.5, Confidence: 0.95}
	e := Erode(a, b, q)
	assert.Equal(t, Eroded, e.Verdict, "at alpha and at the least share")
	assert.Equal(t, []int64{20, 10}, []int64{e.MarginA, e.MarginB})
	assert.Equal(t, 0.5, e.Lost)
	assert.Equal(t, Gained, Erode(b, a, Question[int64]{AtMost, 47, 0, 0.05, 1, 0.05, 0.5, 0.95}).Verdict)
	assert.Equal(t, Gained, Erode(a, b, Question[int64]{AtLeast, 0, 0, 0.05, 1, 0.05, 0.5, 0.95}).Verdict)
	q.Least = math.Nextafter(0.5, 1)
	assert.Equal(t, None, Erode(a, b, q).Verdict)
	q.Least, q.Adjusted = 0.5, math.Nextafter(0.05, 1)
	assert.Equal(t, None, Erode(a, b, q).Verdict)
	q.Adjusted, q.Rules = 1, 74
	assert.Equal(t, Unknown, Erode(a[:5], b[:5], q).Verdict)
	assert.Contains(t, Erode(a[:5], b[:5], q).Why, "with 5 and 5 trials over 74 rules nothing could have been found: it takes 7")
	q.Limit = 17
	assert.Equal(t, Unknown, Erode(a, b, q).Verdict, "no margin")
	assert.Equal(t, Unknown, Erode(a, b, Question[int64]{}).Verdict)
	assert.Equal(t, Unknown, Erosion[int64]{}.Verdict)
}

// list writes a sample for R and Python.
func list(s []int64) string {
	return strings.ReplaceAll(strings.Trim(fmt.Sprint(s), "[]"), " ", ",")
}

func ask(t *testing.T, cmd *exec.Cmd) (got []float64) {
	out, err := cmd.Output()
	require.NoError(t, err)
	for _, word := range strings.Fields(string(out)) {
		var v float64
		_, err := fmt.Sscan(word, &v)
		require.NoError(t, err)
		got = append(got, v)
	}
	return got
}

func TestAgainstR(t *testing.T) {
	path := need.Tool(t, "Rscript", "apt-get install r-base-core")
	random := rand.New(rand.NewPCG(5, 6))
	for _, size := range [][2]int{{5, 7}, {12, 30}, {59, 59}} {
		a := sample(random, size[0], func() int64 { return random.Int64N(1e9) })
		b := sample(random, size[1], func() int64 { return random.Int64N(1e9) + 2e8 })
		got := ask(t, exec.Command(path, "-e", fmt.Sprintf(`a<-c(%s); b<-c(%s); r<-wilcox.test(b,a,exact=TRUE,conf.int=TRUE)
g<-wilcox.test(a,b,exact=TRUE,alternative="g"); l<-wilcox.test(a,b,exact=TRUE,alternative="l")
cat(sprintf("%%.17g", c(g$statistic, r$p.value, l$p.value, g$p.value, r$estimate, r$conf.int)))`, list(a), list(b))))
		x, e := MannWhitney(a, b), HodgesLehmann(a, b, 0.95)
		assert.InDeltaSlice(t, got[:4], []float64{x.U, x.P, x.Less, x.Greater}, 1e-12)
		assert.InDeltaSlice(t, got[4:], []float64{float64(e.Shift), float64(e.Low), float64(e.High)}, 0.5)
	}
}

func TestAgainstScipyWithTies(t *testing.T) {
	path := need.Tool(t, "python3", "apt-get install python3-scipy")
	if exec.Command(path, "-c", "import scipy.stats").Run() != nil {
		path = "/usr/bin/python3" // the system's own, where another comes first
		if exec.Command(path, "-c", "import scipy.stats").Run() != nil {
			need.Missing(t, "scipy is not installed", "apt-get install python3-scipy")
		}
	}
	a, b := []int64{1, 2, 2, 3, 3, 9}, []int64{2, 3, 4, 9, 9}
	got := ask(t, exec.Command(path, "-c", fmt.Sprintf(`
import scipy.stats as s, numpy as np
a=[%s]; b=[%s]
u=lambda x,y: s.mannwhitneyu(x,y,method="asymptotic").statistic
f=lambda x,y: abs(u(x,y)-len(x)*len(y)/2)
k=dict(permutation_type="independent",n_resamples=np.inf)
print(s.permutation_test((a,b),f,alternative="greater",**k).pvalue, *[s.permutation_test((a,b),u,alternative=w,**k).pvalue for w in ("less","greater")])`, list(a), list(b))))
	x := MannWhitney(a, b)
	assert.InDeltaSlice(t, got, []float64{x.P, x.Less, x.Greater}, 1e-12)
}

func Benchmark(bench *testing.B) {
	random := rand.New(rand.NewPCG(1, 2))
	for _, c := range []struct {
		name string
		n    int
		step int64
	}{{"59", 59, 1}, {"59 tied", 59, 5e7}, {"1000", 1000, 1}} {
		draw := func() int64 { return random.Int64N(1e9) / c.step * c.step }
		a, b := sample(random, c.n, draw), sample(random, c.n, draw)
		bench.Run(c.name+"/test", func(bench *testing.B) {
			bench.ReportAllocs()
			for bench.Loop() {
				MannWhitney(a, b)
			}
		})
		bench.Run(c.name+"/shift", func(bench *testing.B) {
			bench.ReportAllocs()
			for bench.Loop() {
				HodgesLehmann(a, b, 0.95)
			}
		})
	}
}
