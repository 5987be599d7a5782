package uncertainty_test

import (
	"fmt"
	"math"
	"os/exec"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig/need"
	. "pintle/rig/uncertainty"
)

// The figures that two outside libraries are asked for, each as one number a line.
func outsideCases(t *testing.T) (ours []float64, r, python []string) {
	for _, coverage := range []float64{0.5, 0.6827, 0.9, 0.95, 0.9545, 0.99, 0.9973} {
		for _, dof := range []float64{1, 1.5, 2, 3, 4.7, 8, 16, 18.9987, 25.6, 49, 50, 50.5, 51, 77.7, 120, 200, 201, 999, 1e4, 1e7} {
			ours = append(ours, factor(t, coverage, dof))
			r = append(r, fmt.Sprintf("qt(%v, %v)", (1+coverage)/2, dof))
			python = append(python, fmt.Sprintf("stats.t.ppf(%v, %v)", (1+coverage)/2, dof))
		}
		ours = append(ours, factor(t, coverage, 0))
		r = append(r, fmt.Sprintf("qnorm(%v)", (1+coverage)/2))
		python = append(python, fmt.Sprintf("stats.norm.ppf(%v)", (1+coverage)/2))
	}
	for _, z := range []float64{-9, -6, -3, -1.96, -0.5, 0, 0.7, 2, 5, 8} {
		ours = append(ours, SpecificRisk(z, 1, AtMost(0)))
		r = append(r, fmt.Sprintf("pnorm(%v)", z))
		python = append(python, fmt.Sprintf("stats.norm.cdf(%v)", z))
	}
	return ours, r, python
}

func compareOutside(t *testing.T, ours []float64, asked []string, cmd *exec.Cmd, within float64) {
	t.Helper()
	out, err := cmd.Output()
	require.NoError(t, err)
	lines := strings.Fields(string(out))
	require.Len(t, lines, len(ours))
	for i, line := range lines {
		theirs, err := strconv.ParseFloat(line, 64)
		require.NoError(t, err)
		assert.InDelta(t, theirs, ours[i], max(1e-9, within*math.Abs(theirs)), asked[i])
		if theirs < 1e-6 {
			assert.InEpsilon(t, theirs, ours[i], 1e-9, asked[i])
		}
	}
}

func TestAgainstR(t *testing.T) {
	path := need.Tool(t, "Rscript", "apt-get install r-base-core")
	ours, asked, _ := outsideCases(t)
	compareOutside(t, ours, asked, exec.Command(path, "-e", "cat(sprintf('%.17g', c("+strings.Join(asked, ",")+")), sep='\n')"), 1e-9)
}

func TestAgainstScipy(t *testing.T) {
	path := need.Tool(t, "python3", "apt-get install python3-scipy")
	if exec.Command(path, "-c", "import scipy.stats").Run() != nil {
		path = "/usr/bin/python3" // the system's own, where another comes first
		if exec.Command(path, "-c", "import scipy.stats").Run() != nil {
			need.Missing(t, "scipy is not installed", "apt-get install python3-scipy")
		}
	}
	// scipy 1.10's quantiles of t are good to some 2e-9 of themselves: its
	// 5.840909300 for 3 degrees of freedom is 5.840909310 in R and in print.
	ours, _, asked := outsideCases(t)
	compareOutside(t, ours, asked, exec.Command(path, "-c", "from scipy import stats\nfor x in ["+strings.Join(asked, ",")+"]: print(repr(float(x)))"), 1e-8)
}
