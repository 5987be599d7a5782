package reliability_test

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	. "pintle/rig/reliability"
)

// near holds a value to the printed digits: within half a unit of the last place.
func near(t *testing.T, want, got, place float64, what string) {
	t.Helper()
	assert.InDelta(t, want, got, place/2*(1+1e-6), what)
}

func trials(t *testing.T, p Plan) int {
	t.Helper()
	n, err := p.Trials()
	require.NoError(t, err)
	return n
}

// The success-run theorem, n = ⌈ln(1-C)/ln R⌉, as in handbooks of reliability; the
// table was worked out again. 95/95 gives the 59 that is known as Wilks' number.
func TestSuccessRun(t *testing.T) {
	reliabilities := []float64{0.80, 0.90, 0.95, 0.99, 0.995, 0.999}
	for confidence, row := range map[float64][]int{
		0.50: {4, 7, 14, 69, 139, 693},
		0.60: {5, 9, 18, 92, 183, 916},
		0.80: {8, 16, 32, 161, 322, 1609},
		0.90: {11, 22, 45, 230, 460, 2302},
		0.95: {14, 29, 59, 299, 598, 2995},
		0.99: {21, 44, 90, 459, 919, 4603},
	} {
		for i, want := range row {
			assert.Equal(t, want, trials(t, Plan{Reliability: reliabilities[i], Confidence: confidence}), "R %v C %v", reliabilities[i], confidence)
		}
	}
	// Which is which: 45 is a confidence of 90 % in a reliability of 95 %, and not
	// the other way round.
	for text, want := range map[string]int{"95/90": 45, "90/95": 29, "95/95": 59, "99/95": 299, "90/90": 22} {
		p, err := ParsePlan(text)
		require.NoError(t, err)
		assert.Equal(t, want, trials(t, p), text)
	}
	for _, x := range []struct{ r, c, want float64 }{
		{0.90, 0.90, 21.854}, {0.95, 0.90, 44.891}, {0.90, 0.95, 28.433}, {0.95, 0.95, 58.404}, {0.99, 0.95, 298.073},
	} {
		unrounded := math.Log(1-x.c) / math.Log(x.r)
		near(t, x.want, unrounded, 1e-3, "unrounded")
		assert.Equal(t, int(math.Ceil(x.want)), trials(t, Plan{Reliability: x.r, Confidence: x.c}))
	}
}

// The two forms of the success-run theorem: 59 trials without failure show 95.0492 %
// in the classic form, which is ours, and 95.1297 % with a uniform prior, which public
// calculators also call the success-run theorem.
func TestClassicFormNotBayes(t *testing.T) {
	got, err := DemonstratedReliability(59, 0, 0.95)
	require.NoError(t, err)
	near(t, 95.0492, 100*got, 1e-4, "classic")
	near(t, 95.1297, 100*math.Pow(0.05, 1.0/60), 1e-4, "uniform prior")
	assert.Equal(t, 58, int(math.Ceil(math.Log(0.05)/math.Log(0.95)-1)), "uniform prior: one trial fewer")
	assert.Equal(t, 59, trials(t, Plan{Reliability: 0.95, Confidence: 0.95}))
	shown, err := DemonstratedConfidence(58, 0, 0.95)
	require.NoError(t, err)
	assert.Less(t, shown, 0.95, "58 trials are too few in the form used here")
}

// With failures allowed: smallest n whose binomial probability of at most f failures
// is at most 1-C; worked out again.
func TestFailuresAllowed(t *testing.T) {
	for plan, row := range map[string][]int{ // reliability/confidence
		"90/90": {22, 38, 52, 65, 78, 91},
		"90/95": {29, 46, 61, 76, 89, 103},
		"95/90": {45, 77, 105, 132, 158, 184},
		"95/95": {59, 93, 124, 153, 181, 208},
		"99/95": {299, 473, 628, 773, 913, 1049},
		"99/90": {230, 388, 531, 667, 798, 926},
	} {
		p, err := ParsePlan(plan)
		require.NoError(t, err)
		for f, want := range row {
			p.Allowed = f
			assert.Equal(t, want, trials(t, p), "%s with %d", plan, f)
		}
	}
}

// Lower bound of the reliability after n passes, (1-C)^(1/n); worked out again.
func TestReliabilityAfterPasses(t *testing.T) {
	for confidence, row := range map[float64]map[int]float64{
		0.95: {10: .741134, 22: .872695, 29: .901855, 45: .935596, 59: .950492, 100: .970487, 299: .990031},
		0.90: {10: .794328, 22: .900628, 45: .950119},
	} {
		for n, want := range row {
			got, err := DemonstratedReliability(n, 0, confidence)
			require.NoError(t, err)
			near(t, want, got, 1e-6, fmt.Sprint(n, " at ", confidence))
		}
	}
}

// SciPy's documentation of BinomTestResult.proportion_ci (7/50, whose lower end
// 0.05819170033997342 carries 4·10⁻¹³ of SciPy's root finder: R's qbeta and binom.test
// give 0.0581917003403721); R's binom.test as printed in SciPy's tests (20/100, 10/10);
// 0/59 and 0/22 worked out with R.
func TestClopperPearson(t *testing.T) {
	for _, x := range []struct {
		k, n      int
		low, high float64
		place     float64
	}{
		{7, 50, 0.05819170033997, 0.26739600249701, 1e-12},
		{7, 50, 0.05819170034037, 0.26739600249701, 1e-14},
		{20, 100, 0.1266555521020, 0.2918426890886, 1e-13},
		{10, 10, 0.6915028922, 1, 1e-10},
		{0, 59, 0, 0.0606089010, 1e-10},
		{0, 22, 0, 0.1543725128, 1e-10},
	} {
		got, err := ClopperPearson(x.k, x.n, 0.95)
		require.NoError(t, err)
		what := fmt.Sprint(x.k, "/", x.n)
		near(t, x.low, got.Low, x.place, what)
		near(t, x.high, got.High, x.place, what)
		if x.k == 0 {
			assert.Zero(t, got.Low)
		}
		if x.k == x.n {
			assert.Equal(t, 1.0, got.High)
		}
	}
	low, err := LowerBound(10, 10, 0.95)
	require.NoError(t, err)
	near(t, 0.7411344491, low, 1e-10, "10/10 one-sided")
	for n, want := range map[int]float64{59: .0495076099, 22: .1273054317} {
		got, err := UpperBound(0, n, 0.95)
		require.NoError(t, err)
		near(t, want, got, 1e-10, "one-sided")
	}
}

// Wilks, Annals of Mathematical Statistics 12 (1941) 91 and 13 (1942) 400; the 59 of
// 95/95 is in print there and in many places since, the others were worked out.
func TestWilksSizes(t *testing.T) {
	for _, x := range []struct {
		coverage, confidence float64
		one, two             []int
	}{
		{0.90, 0.95, []int{29, 46, 61, 76, 89}, []int{46, 76, 103}},
		{0.95, 0.95, []int{59, 93, 124, 153, 181}, []int{93, 153, 208}},
		{0.95, 0.99, []int{90, 130, 165, 198, 229}, []int{130, 198, 259}},
		{0.99, 0.95, []int{299, 473, 628, 773, 913}, []int{473, 773, 1049}},
		{0.99, 0.99, []int{459, 662, 838, 1001, 1157}, []int{662, 1001, 1307}},
	} {
		asked := Tolerance{x.coverage, x.confidence}
		for i, want := range x.one {
			got, err := asked.OneSided(i + 1)
			require.NoError(t, err)
			assert.Equal(t, want, got, "%v, order %d", asked, i+1)
		}
		for i, want := range x.two {
			got, err := asked.TwoSided(i + 1)
			require.NoError(t, err)
			assert.Equal(t, want, got, "%v, two-sided order %d", asked, i+1)
		}
	}
}

// Symmetric ranks around the median (order statistics and the binomial
// distribution, as in Conover, "Practical Nonparametric Statistics"); worked out
// again.
func TestMedianRanks(t *testing.T) {
	for _, x := range []struct {
		n, low, high int
		achieved     float64
		place        float64
	}{
		{6, 1, 6, .96875, 1e-5}, {8, 1, 8, .992188, 1e-6}, {10, 2, 9, .978516, 1e-6}, {12, 3, 10, .961426, 1e-6},
		{15, 4, 12, .964844, 1e-6}, {20, 6, 15, .958611, 1e-6}, {25, 8, 18, .956715, 1e-6}, {30, 10, 21, .957226, 1e-6},
		{50, 18, 33, .967161, 1e-6}, {100, 40, 61, .964800, 1e-6},
	} {
		low, high, achieved, err := Quantile{0.5, 0.95}.Ranks(x.n)
		require.NoError(t, err)
		assert.Equal(t, []int{x.low, x.high}, []int{low, high}, "n %d", x.n)
		near(t, x.achieved, achieved, x.place, fmt.Sprint("n ", x.n))
	}
}

// Upper 95 % bound of the 95th percentile by order statistics; worked out again.
func TestUpperBoundOfPercentile(t *testing.T) {
	for _, x := range []struct {
		n, rank  int
		achieved float64
	}{{59, 59, .95151}, {93, 92, .95002}, {100, 99, .96292}, {124, 122, .95047}, {150, 148, .98185}, {200, 196, .97355}, {300, 292, .96593}} {
		b, err := Tolerance{0.95, 0.95}.UpperBound(ramp(x.n), 0)
		require.NoError(t, err)
		require.True(t, b.Found, b.Why)
		assert.Equal(t, x.rank, b.Rank, "n %d", x.n)
		assert.Equal(t, int64(x.rank), b.Value)
		near(t, x.achieved, b.Achieved, 1e-5, fmt.Sprint("n ", x.n))
	}
	for n := 1; n < 59; n++ {
		b, err := Tolerance{0.95, 0.95}.UpperBound(ramp(n), 0)
		require.NoError(t, err)
		require.False(t, b.Found, "no bound exists below 59 trials")
		require.Equal(t, 59, b.Needed)
	}
}

// ramp is 1 to n, largest first.
func ramp(n int) []int64 {
	sample := make([]int64, n)
	for i := range sample {
		sample[i] = int64(n - i)
	}
	return sample
}

// The rule of three, 3/n for -ln 0.05 = 2.995732 (Hanley and Lippman-Hand, JAMA 249,
// 1983, 1743-1745; from memory), against the exact bound; worked out again.
func TestRuleOfThree(t *testing.T) {
	near(t, 2.995732, -math.Log(0.05), 1e-6, "-ln 0.05")
	for _, x := range []struct {
		n            int
		three, exact float64
		place        float64
	}{
		{10, .3, .258866, 1e-6}, {30, .1, .095034, 1e-6}, {59, .050847, .049508, 1e-6},
		{100, .03, .029513, 1e-6}, {300, .01, .009936, 1e-6}, {1000, .003, .0029912, 1e-7},
	} {
		got, err := UpperBound(0, x.n, 0.95)
		require.NoError(t, err)
		near(t, x.exact, got, x.place, fmt.Sprint("n ", x.n))
		near(t, x.three, 3/float64(x.n), 1e-6, "3/n")
		assert.Less(t, got, 3/float64(x.n), "the rule is on the safe side")
	}
}
