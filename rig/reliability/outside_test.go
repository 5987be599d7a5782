package reliability_test

import (
	"fmt"
	"math"
	"os/exec"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

	"pintle/rig/need"
	. "pintle/rig/reliability"
)

// counts are events in trials, from the least to the most.
var counts = [][2]int{{1, 2}, {1, 59}, {3, 59}, {58, 59}, {7, 50}, {20, 100}, {500, 1000}, {2, 12345}, {1, 1_000_000}, {1234, 1_000_000}, {499_000, 1_000_000}, {999_998, 1_000_000}}

// outsideCases are figures that two outside libraries are asked for, each as one
// number a line.
func outsideCases(t *testing.T) (ours []float64, r, python []string) {
	ask := func(our float64, err error, r1, python1 string) {
		require.NoError(t, err)
		ours, r, python = append(ours, our), append(r, r1), append(python, python1)
	}
	for _, x := range counts {
		k, n := x[0], x[1]
		for _, tail := range []float64{0.05, 0.005} {
			low, err := LowerBound(k, n, 1-tail)
			ask(low, err, fmt.Sprintf("qbeta(%v,%d,%d)", tail, k, n-k+1), fmt.Sprintf("stats.beta.ppf(%v,%d,%d)", tail, k, n-k+1))
			high, err := UpperBound(k, n, 1-tail)
			ask(high, err, fmt.Sprintf("qbeta(%v,%d,%d,lower.tail=FALSE)", tail, k+1, n-k), fmt.Sprintf("stats.beta.isf(%v,%d,%d)", tail, k+1, n-k))
		}
		share := float64(k) / float64(n)
		for _, failure := range []float64{0.3 * share, share, min(0.999, 1.5*share)} {
			shown, err := DemonstratedConfidence(n, k, 1-failure)
			p := 1 - (1 - failure) // as it comes out of the reliability
			ask(shown, err, fmt.Sprintf("pbinom(%d,%d,%.17g,lower.tail=FALSE)", k, n, p), fmt.Sprintf("stats.binom.sf(%d,%d,%.17g)", k, n, p))
		}
	}
	for _, n := range []int{59, 93, 100, 150, 1000} {
		b, err := Tolerance{0.95, 0.95}.UpperBound(ramp(n), 0)
		ask(b.Achieved, err, fmt.Sprintf("pbinom(qbinom(0.95,%d,0.95),%d,0.95)", n, n), fmt.Sprintf("stats.binom.cdf(stats.binom.ppf(0.95,%d,0.95),%d,0.95)", n, n))
		low, _, achieved, err := Quantile{0.5, 0.95}.Ranks(n)
		ask(float64(low), err, fmt.Sprintf("qbinom(0.025,%d,0.5)", n), fmt.Sprintf("stats.binom.ppf(0.025,%d,0.5)", n))
		ask(achieved, err, fmt.Sprintf("1-2*pbinom(%d,%d,0.5)", low-1, n), fmt.Sprintf("1-2*stats.binom.cdf(%d,%d,0.5)", low-1, n))
	}
	for _, p := range []Plan{{0.95, 0.95, 0}, {0.95, 0.95, 7}, {0.999, 0.99, 3}, {0.9999, 0.9, 11}, {0.2, 0.9, 40}} {
		n, err := p.Trials()
		r1 := fmt.Sprintf("{n<-%d; while(pbinom(%d,n,%.17g)>%.17g) n<-n+1; n}", p.Allowed+1, p.Allowed, 1-p.Reliability, 1-p.Confidence)
		python1 := fmt.Sprintf("next(n for n in range(max(%d,%d),10**6) if stats.binom.cdf(%d,n,%.17g)<=%.17g)", p.Allowed+1, n-30, p.Allowed, 1-p.Reliability, 1-p.Confidence)
		ask(float64(n), err, r1, python1)
	}
	return ours, r, python
}

func compareOutside(t *testing.T, ours []float64, asked []string, cmd *exec.Cmd, within float64) {
	t.Helper()
	out, err := cmd.Output()
	require.NoError(t, err)
	lines := strings.Fields(string(out))
	require.Len(t, lines, len(ours))
	worst := 0.0
	for i, line := range lines {
		theirs, err := strconv.ParseFloat(line, 64)
		require.NoError(t, err)
		if theirs == 0 {
			assert.Less(t, ours[i], 1e-300, asked[i])
			continue
		}
		assert.InEpsilon(t, theirs, ours[i], within, asked[i])
		worst = max(worst, math.Abs(theirs-ours[i])/theirs)
	}
	t.Logf("%d figures, at worst %.1g of themselves apart", len(ours), worst)
}

func TestAgainstR(t *testing.T) {
	path := need.Tool(t, "Rscript", "apt-get install r-base-core")
	ours, asked, _ := outsideCases(t)
	compareOutside(t, ours, asked, exec.Command(path, "-e", "cat(sprintf('%.17g', c("+strings.Join(asked, ",")+")), sep='\n')"), 1e-11)
}

// scipy gives the path of a Python that has it.
func scipy(t *testing.T) string {
	path := need.Tool(t, "python3", "apt-get install python3-scipy")
	if exec.Command(path, "-c", "import scipy.stats").Run() != nil {
		path = "/usr/bin/python3" // the system's own, where another comes first
		if exec.Command(path, "-c", "import scipy.stats").Run() != nil {
			need.Missing(t, "scipy is not installed", "apt-get install python3-scipy")
		}
	}
	return path
}

func TestAgainstScipy(t *testing.T) {
	path := scipy(t)
	ours, _, asked := outsideCases(t)
	compareOutside(t, ours, asked, exec.Command(path, "-c", "from scipy import stats\nfor x in ["+strings.Join(asked, ",")+"]: print(repr(float(x)))"), 1e-9)
}

// The three dimensions of Sobol's sequence that are used, before they are scrambled:
// scipy.stats.qmc holds Joe and Kuo's table and goes by the Gray code.
func TestSobolAgainstScipy(t *testing.T) {
	path := scipy(t)
	out, err := exec.Command(path, "-c", "from scipy.stats import qmc\nfor row in qmc.Sobol(3, scramble=False).random_base2(12): print(*[int(x*2**32) for x in row])").Output()
	require.NoError(t, err)
	rows := strings.Split(strings.TrimSpace(string(out)), "\n")
	require.Len(t, rows, 1<<12)
	for i, row := range rows {
		gray := uint32(i ^ i>>1)
		require.Equal(t, fmt.Sprint(Sobol(gray, 0), Sobol(gray, 1), Sobol(gray, 2)), row, "point %d", i)
	}
}

// The published first points: van der Corput's sequence in base 2, and the first
// points of Sobol's in three dimensions, as many textbooks print them (from memory).
func TestSobolFirstPoints(t *testing.T) {
	for i, want := range [][3]float64{
		{0, 0, 0}, {.5, .5, .5}, {.75, .25, .25}, {.25, .75, .75}, {.375, .375, .625}, {.875, .875, .125}, {.625, .125, .875}, {.125, .625, .375},
	} {
		gray := uint32(i ^ i>>1)
		for d, x := range want {
			assert.Equal(t, x, float64(Sobol(gray, Dimension(d)))/(1<<32), "point %d, dimension %d", i, d)
		}
	}
}

// The binomial distribution of gonum, whose incomplete beta function is good to
// fewer digits at many trials.
func TestAgainstGonum(t *testing.T) {
	for _, x := range counts {
		k, n := x[0], x[1]
		share := float64(k) / float64(n)
		for _, failure := range []float64{0.7 * share, share, min(0.999, 1.5*share)} {
			got, err := DemonstratedConfidence(n, k, 1-failure)
			require.NoError(t, err)
			assert.InDelta(t, 1-distuv.Binomial{N: float64(n), P: failure}.CDF(float64(k)), got, 1e-8, "%d in %d at %v", k, n, failure)
		}
		low, err := LowerBound(k, n, 0.95)
		require.NoError(t, err)
		assert.InEpsilon(t, distuv.Beta{Alpha: float64(k), Beta: float64(n - k + 1)}.Quantile(0.05), low, 1e-7, "%d in %d", k, n)
	}
}
