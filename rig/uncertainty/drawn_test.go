package uncertainty_test

import (
	"encoding/binary"
	"encoding/json"
	"fmt"
	"hash/fnv"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	. "pintle/rig/uncertainty"
)

func simulate(t *testing.T, b Budget, s Simulation) Simulated {
	t.Helper()
	out, err := b.Simulate(s)
	require.NoError(t, err)
	return out
}

func four(in Input) (b Budget) {
	b = Budget{Quantity: "sum of four", Unit: "1"}
	for i := range 4 {
		in.Name = fmt.Sprint("X", i+1)
		in.Sensitivity = 1
		b.Add(in)
	}
	return b
}

// JCGM 101:2008, 9.2.2, table 2: the sum of four normal quantities.
func TestFourNormal(t *testing.T) {
	b := four(Input{Distribution: Normal, Standard: 1})
	l := linear(t, b)
	near(t, 2.0, l.Standard, 1e-9, "u")
	near(t, 3.92, l.Expanded, 0.01, "U")
	s := simulate(t, b, Simulation{Seed: 1, Draws: 1_000_000})
	assert.InDelta(t, 0, s.Value, 0.01)
	near(t, 2.0, s.Standard, 0.01, "u")
	assert.InDelta(t, 3.92, s.Symmetric.High, 0.02)
	assert.InDelta(t, -3.92, s.Symmetric.Low, 0.02)
	assert.InDelta(t, 7.84, s.Shortest.Width(), 0.03)

	e, err := b.Evaluate(Simulation{Seed: 1, Digits: 1})
	require.NoError(t, err)
	assert.Equal(t, ByLinear, e.Used, e.Reason)
	assert.Equal(t, l.Low(), e.Interval.Low)
	assert.Contains(t, e.Reason, "good enough")
}

// JCGM 101:2008, 9.2.3, table 3: the sum of four rectangular quantities. The exact
// half-width is 2√3·(2 − (3/5)^¼).
func TestFourRectangular(t *testing.T) {
	b := four(Input{Distribution: Rectangular, Standard: 1})
	near(t, 3.92, linear(t, b).Expanded, 0.01, "U")
	s := simulate(t, b, Simulation{Seed: 2, Draws: 1_000_000})
	exact := 2 * math.Sqrt(3) * (2 - math.Pow(0.6, 0.25))
	near(t, 3.879407, exact, 1e-6, "closed form")
	near(t, 2.0, s.Standard, 0.01, "u")
	near(t, 3.88, (s.Symmetric.High-s.Symmetric.Low)/2, 0.02, "half of the interval")
	assert.InDelta(t, exact, s.Symmetric.Width()/2, 0.01)
	assert.InDelta(t, exact, s.Shortest.Width()/2, 0.01)

	// Two digits tell the two forms apart, one does not: half of 1 is 0.5.
	e, err := b.Evaluate(Simulation{Seed: 2, Digits: 2})
	require.NoError(t, err)
	assert.Equal(t, 0.05, e.Delta)
	assert.Equal(t, ByLinear, e.Used, "3.92 and 3.88 differ by less than 0.05: %s", e.Reason)
}

// JCGM 101:2008, 9.3: calibration of a mass standard. Inputs and the published
// 1.2341, 0.0754, [1.0834, 1.3825] are from memory; the linear figures and those of
// 10⁶ draws were worked out again.
func massStandard() Budget {
	return Budget{
		Quantity: "deviation from 100 g", Unit: "mg",
		Inputs: []Input{
			{Name: "mR", Value: 100_000.000, Distribution: Normal, Standard: 0.050},
			{Name: "δm", Value: 1.234, Distribution: Normal, Standard: 0.020},
			{Name: "ρa", Value: 1.20, Distribution: Rectangular, HalfWidth: 0.10},
			{Name: "ρw", Value: 8000, Distribution: Rectangular, HalfWidth: 1000},
			{Name: "ρr", Value: 8000, Distribution: Rectangular, HalfWidth: 50},
		},
		Model: func(x []float64) float64 {
			return (x[0]+x[1])*(1+(x[2]-1.2)*(1/x[3]-1/x[4])) - 100_000
		},
	}
}

func TestMassStandard(t *testing.T) {
	b := massStandard()
	l := linear(t, b)
	near(t, 1.2340, l.Value, 1e-4, "value")
	near(t, 0.0539, l.Standard, 1e-4, "u")
	near(t, 1.1285, l.Low(), 1e-4, "low")
	near(t, 1.3395, l.High(), 1e-4, "high")

	s := simulate(t, b, Simulation{Seed: 4, Draws: 1_000_000})
	assert.InDelta(t, 1.2340, s.Value, 3e-4)
	near(t, 0.0755, s.Standard, 4e-4, "u")
	assert.InDelta(t, 1.084, s.Shortest.Low, 2e-3)
	assert.InDelta(t, 1.383, s.Shortest.High, 2e-3)
	assert.InDelta(t, 1.0834, s.Shortest.Low, 2e-3, "published")
	assert.InDelta(t, 1.3825, s.Shortest.High, 2e-3, "published")

	for _, digits := range []int{1, 2} {
		e, err := b.Evaluate(Simulation{Seed: 4, Digits: digits})
		require.NoError(t, err)
		assert.Equal(t, ByMonteCarlo, e.Used, "%d digits: %s", digits, e.Reason)
		assert.Equal(t, e.Simulated.Symmetric.Low-e.Simulated.Steady, e.Interval.Low)
		assert.Equal(t, e.Simulated.Symmetric.High+e.Simulated.Steady, e.Interval.High)
		assert.Equal(t, e.Simulated.Value, e.Value)
		assert.Contains(t, e.Reason, "not good enough")
	}
}

// JCGM 101:2008, 9.4, as a power detector: y = x1² + x2² about nothing is
// exponential, with a mean of 2u²; its linear form has no uncertainty at all.
func TestSumOfSquares(t *testing.T) {
	const mean = 2 * 0.005 * 0.005
	b := Budget{
		Quantity: "squared reflection", Unit: "1",
		Inputs: []Input{
			{Name: "x1", Distribution: Normal, Standard: 0.005},
			{Name: "x2", Distribution: Normal, Standard: 0.005},
		},
		Model: func(x []float64) float64 { return x[0]*x[0] + x[1]*x[1] },
	}
	assert.Zero(t, linear(t, b).Standard)
	s := simulate(t, b, Simulation{Seed: 5, Draws: 1_000_000})
	near(t, 50e-6, s.Value, 0.3e-6, "mean")
	near(t, 50e-6, s.Standard, 0.4e-6, "u")
	near(t, 149.787e-6, -mean*math.Log(0.05), 1e-9, "closed form")
	assert.InDelta(t, 0, s.Shortest.Low, 0.2e-6)
	assert.InDelta(t, 149.787e-6, s.Shortest.High, 1.5e-6)
	assert.InDelta(t, 1.266e-6, s.Symmetric.Low, 0.05e-6)
	assert.InDelta(t, 184.444e-6, s.Symmetric.High, 2e-6)
	assert.InDelta(t, math.Exp(-2), s.Outside(math.Inf(-1), 2*mean), 0.002)

	e, err := b.Evaluate(Simulation{Seed: 5})
	require.NoError(t, err)
	assert.Equal(t, ByMonteCarlo, e.Used, "a linear form without uncertainty proves nothing")
}

// NPL report DEM-ES-011, 9.2: the logarithm of a rectangular quantity. The exact
// figures follow from its closed form.
func TestLogarithm(t *testing.T) {
	b := Budget{
		Quantity: "ln x", Unit: "1",
		Inputs: []Input{{Name: "x", Value: 0.6, Distribution: Rectangular, HalfWidth: 0.5}},
		Model:  func(x []float64) float64 { return math.Log(x[0]) },
	}
	l := linear(t, b)
	near(t, -0.511, l.Value, 1e-3, "value")
	near(t, 0.481, l.Standard, 1e-3, "u")
	near(t, 0.432, l.High(), 1e-3, "high")
	s := simulate(t, b, Simulation{Seed: 6, Draws: 1_000_000})
	assert.InDelta(t, -0.6649003, s.Value, 2e-3)
	assert.InDelta(t, 0.6062267, s.Standard, 2e-3)
	assert.InDelta(t, -1.8971200, s.Shortest.Low, 0.01)
	assert.InDelta(t, 0.0953102, s.Shortest.High, 0.001)
	near(t, -0.665, s.Value, 4e-3, "published")
	near(t, 0.606, s.Standard, 4e-3, "published")
	near(t, -1.895, s.Shortest.Low, 0.02, "published")
	near(t, 0.095, s.Shortest.High, 2e-3, "published")
	e, err := b.Evaluate(Simulation{Seed: 6})
	require.NoError(t, err)
	assert.Equal(t, ByMonteCarlo, e.Used, e.Reason)
}

// JCGM 101:2008, 7.9.2.
func TestTolerance(t *testing.T) {
	for _, x := range []struct {
		u      float64
		digits int
		want   float64
	}{
		{0.0539, 2, 0.0005}, {0.0539, 1, 0.005}, {2, 1, 0.5}, {2, 2, 0.05}, {9.96, 2, 0.5}, {9.94, 2, 0.05},
		{0.35, 2, 0.005}, {12_345, 2, 500}, {1e-9, 1, 5e-10}, {0, 2, 0},
	} {
		assert.Equal(t, x.want, Tolerance(x.u, x.digits), "%v", x)
	}
}

// Mean and standard uncertainty of each shape, as drawn; Student's t has those of
// JCGM 101:2008, 6.4.9.4: u·√(ν/(ν−2)).
func TestShapesAsDrawn(t *testing.T) {
	for _, in := range []Input{
		{Distribution: Normal, Standard: 2},
		{Distribution: Rectangular, HalfWidth: 2},
		{Distribution: Triangular, HalfWidth: 2},
		{Distribution: Arcsine, HalfWidth: 2},
		{Distribution: Trapezoid, HalfWidth: 2, Beta: 0.5},
		{Distribution: Trapezoid, HalfWidth: 2},
		{Distribution: Trapezoid, HalfWidth: 2, Beta: 1},
		{Distribution: Rectangular, Standard: 2},
		{Distribution: Arcsine, Standard: 2},
		{Distribution: Normal, Standard: 2, Dof: 9},
	} {
		in.Name, in.Value, in.Sensitivity = "x", 3, 1
		b := Budget{Quantity: "x", Inputs: []Input{in}}
		s := simulate(t, b, Simulation{Seed: 7, Draws: 200_000})
		want := in.StandardUncertainty()
		if in.Dof != 0 {
			want *= math.Sqrt(in.Dof / (in.Dof - 2))
		}
		assert.InDelta(t, 3, s.Value, 0.02, "%+v", in)
		assert.InEpsilon(t, want, s.Standard, 0.015, "%+v", in)
		if in.Distribution != Normal {
			a := want * in.Distribution.Divisor(in.Beta)
			assert.Zero(t, s.Outside(3-a, 3+a), "%+v", in)
			assert.NotZero(t, s.Outside(3-0.9*a, 3+0.9*a), "%+v", in)
		}
	}
}

// Intervals of single shapes as drawn against their closed forms: rectangular
// 0.95·a, triangular a·(1 − √0.05), arcsine a·sin(0.95·π/2), Student's t its k.
func TestIntervalsOfShapes(t *testing.T) {
	for _, x := range []struct {
		in   Input
		want float64
	}{
		{Input{Distribution: Rectangular, HalfWidth: 1}, 0.95},
		{Input{Distribution: Triangular, HalfWidth: 1}, 1 - math.Sqrt(0.05)},
		{Input{Distribution: Arcsine, HalfWidth: 1}, math.Sin(0.95 * math.Pi / 2)},
		{Input{Distribution: Normal, Standard: 1}, 1.959964},
		{Input{Distribution: Normal, Standard: 1, Dof: 1}, 12.7062},
		{Input{Distribution: Normal, Standard: 1, Dof: 1.5}, factor(t, 0.95, 1.5)},
		{Input{Distribution: Normal, Standard: 1, Dof: 3}, 3.1824},
		{Input{Distribution: Normal, Standard: 1, Dof: 25.6}, factor(t, 0.95, 25.6)},
	} {
		x.in.Name, x.in.Sensitivity = "x", 1
		s := simulate(t, Budget{Quantity: "x", Inputs: []Input{x.in}}, Simulation{Seed: 8, Draws: 400_000})
		assert.InEpsilon(t, x.want, s.Symmetric.High, 0.02, "%+v", x.in)
		assert.InEpsilon(t, -x.want, s.Symmetric.Low, 0.02, "%+v", x.in)
	}
}

// TestSameDrawsEverywhere holds figures to the bit. They were recorded here; that
// another machine finds them too is what the test is for: on arm64 the compiler
// puts a product and a sum into one rounding wherever it is let.
func TestSameDrawsEverywhere(t *testing.T) {
	b := Budget{Quantity: "all shapes", Unit: "ns", Inputs: []Input{
		{Name: "normal", Value: 1e6, Distribution: Normal, Standard: 1e3, Sensitivity: 1},
		{Name: "rectangular", Value: 2, Distribution: Rectangular, HalfWidth: 1e3, Sensitivity: -1},
		{Name: "triangular", Value: 3, Distribution: Triangular, HalfWidth: 1e3, Sensitivity: 1.1},
		{Name: "arcsine", Value: 4, Distribution: Arcsine, HalfWidth: 1e3, Sensitivity: 1},
		{Name: "trapezoid", Value: 5, Distribution: Trapezoid, HalfWidth: 1e3, Beta: 0.3, Sensitivity: 1},
		{Name: "t", Value: 6, Distribution: Normal, Standard: 1e3, Dof: 1.5, Sensitivity: 0.01},
		{Name: "t5", Value: 7, Distribution: Normal, Standard: 1e3, Dof: 5, Sensitivity: 0.3},
		{Name: "tied a", Value: 8, Distribution: Normal, Standard: 1e3, Sensitivity: 1},
		{Name: "tied b", Value: 9, Distribution: Normal, Standard: 1e3, Sensitivity: 1},
	}, Correlations: []Correlation{{"tied a", "tied b", 0.7}}}
	s := simulate(t, b, Simulation{Seed: 12345, Draws: 50_000})
	got := fmt.Sprintf("%x %x %x %x %x %x", s.Value, s.Standard, s.Shortest.Low, s.Shortest.High, s.Symmetric.Low, s.Symmetric.High)
	const want = "0x1.e84b00f16b33p+19 0x1.29f17cb07a476p+11 0x1.e61490816c9f4p+19 0x1.eaa0184d6b6e3p+19 0x1.e6040f453036p+19 0x1.ea91a3cb17e61p+19"
	assert.Equal(t, want, got)

	hash := fnv.New64a()
	b.Model = func(x []float64) float64 {
		sum := 0.0
		for _, v := range x {
			hash.Write(binary.LittleEndian.AppendUint64(nil, math.Float64bits(v)))
			sum += v
		}
		return sum
	}
	simulate(t, b, Simulation{Seed: 12345, Draws: 50_000})
	assert.Equal(t, uint64(0x84f914b4cab7ed5c), hash.Sum64(), "every value drawn")
	b.Model = nil

	again := simulate(t, b, Simulation{Seed: 12345, Draws: 50_000})
	assert.Equal(t, s, again)
	other := simulate(t, b, Simulation{Seed: 12346, Draws: 50_000})
	assert.NotEqual(t, s.Value, other.Value)
}

func TestAdaptiveDrawing(t *testing.T) {
	b := four(Input{Distribution: Rectangular, Standard: 1})
	one := simulate(t, b, Simulation{Seed: 1, Digits: 1})
	assert.True(t, one.Settled)
	assert.Equal(t, 0.5, one.Tolerance)
	assert.Equal(t, 20_000, one.Draws, "two batches are the fewest")
	two := simulate(t, b, Simulation{Seed: 1})
	assert.True(t, two.Settled)
	assert.Equal(t, 0.05, two.Tolerance)
	assert.GreaterOrEqual(t, two.Draws, one.Draws)

	// One that has no time to settle says so. Where the linear form is refuted all
	// the same, the draws are used; else whichever reaches farther.
	b = massStandard()
	s := simulate(t, b, Simulation{Seed: 1, Most: 20_000})
	assert.False(t, s.Settled)
	assert.Equal(t, 20_000, s.Draws)
	e, err := b.Evaluate(Simulation{Seed: 1, Most: 20_000})
	require.NoError(t, err)
	assert.Equal(t, ByMonteCarlo, e.Used)
	b = four(Input{Distribution: Rectangular, Standard: 1})
	e, err = b.Evaluate(Simulation{Seed: 1, Most: 20_000})
	require.NoError(t, err)
	assert.Equal(t, ByWider, e.Used)
	assert.LessOrEqual(t, e.Interval.Low, min(e.Linear.Low(), e.Simulated.Symmetric.Low))
	assert.GreaterOrEqual(t, e.Interval.High, max(e.Linear.High(), e.Simulated.Symmetric.High))
	assert.Contains(t, e.Reason, "did not settle")
	x, err := e.Reading()
	require.NoError(t, err)
	assert.Less(t, x.Low, x.High)

	// JCGM 101:2008, 7.9.4: a batch is 100/(1-p) where that is more.
	high := simulate(t, Budget{Quantity: "x", Coverage: 0.999, Inputs: []Input{{Name: "x", Distribution: Normal, Standard: 1, Sensitivity: 1}}}, Simulation{})
	assert.Zero(t, high.Draws%100_000)
}

// Whichever way is used, the drawing was steady enough to say so.
func TestMethodIsSure(t *testing.T) {
	seen := map[Method]bool{}
	for i := range 60 {
		// From one rectangular input to one normal one.
		b := Budget{Quantity: "x", Inputs: []Input{
			{Name: "a", Distribution: Rectangular, HalfWidth: float64(61 - i), Sensitivity: 1},
			{Name: "b", Distribution: Normal, Standard: float64(i+1) / 2, Sensitivity: 1},
		}}
		e, err := b.Evaluate(Simulation{Seed: uint64(i), Most: 60_000, Digits: 1 + i%2})
		require.NoError(t, err)
		worst, steady := max(e.LowDiffers, e.HighDiffers), e.Simulated.Steady
		fine := steady <= e.Simulated.Tolerance/5
		switch e.Used {
		case ByLinear:
			assert.True(t, worst+steady <= e.Delta || fine && worst <= e.Delta, "%d: %v %v %v", i, worst, steady, e.Delta)
		case ByMonteCarlo:
			assert.True(t, worst-steady > e.Delta || fine && worst > e.Delta, "%d: %v %v %v", i, worst, steady, e.Delta)
		default:
			assert.Equal(t, ByWider, e.Used)
			assert.False(t, fine)
		}
		seen[e.Used] = true
	}
	assert.Len(t, seen, 3, "all three ways were taken")
}

func TestDrawsAreInOrder(t *testing.T) {
	for _, draws := range []int{10_000, 10_007, 12_345, 99_999} {
		s := simulate(t, four(Input{Distribution: Rectangular, Standard: 1}), Simulation{Seed: 1, Draws: draws})
		assert.Equal(t, draws, s.Draws)
		last, all := 1.0, true
		for x := -8.0; x < 8; x += 0.01 {
			p := s.Outside(math.Inf(-1), x)
			all = all && p <= last
			last = p
		}
		assert.True(t, all, "the fraction above only falls")
		near(t, 0.5, s.Outside(math.Inf(-1), 0), 0.04, "half lies above the middle")
		near(t, 0.025, s.Outside(math.Inf(-1), s.Symmetric.High), 5e-4, "")
		near(t, 0.025, s.Outside(s.Symmetric.Low, math.Inf(1)), 5e-4, "")
	}
}

func TestSimulateRefuses(t *testing.T) {
	good := Input{Name: "a", Distribution: Normal, Standard: 1, Sensitivity: 1}
	rect := Input{Name: "b", Distribution: Rectangular, HalfWidth: 1, Sensitivity: 1}
	for want, x := range map[string]struct {
		b Budget
		s Simulation
	}{
		"3 significant digits": {Budget{Inputs: []Input{good}}, Simulation{Digits: 3}},
		"9 draws are fewer":    {Budget{Inputs: []Input{good}}, Simulation{Draws: 9}},
		"9 draws at most":      {Budget{Inputs: []Input{good}}, Simulation{Most: 9}},
		"rectangular and correlated": {Budget{Inputs: []Input{good, rect},
			Correlations: []Correlation{{"a", "b", 0.5}}}, Simulation{}},
		"the model gives NaN": {Budget{Inputs: []Input{good},
			Model: func(x []float64) float64 { return math.Log(x[0]) }}, Simulation{}},
		"there are no inputs": {},
	} {
		_, err := x.b.Simulate(x.s)
		require.ErrorContains(t, err, want)
	}
}

func TestOutsideWithoutDrawsIsAll(t *testing.T) {
	assert.Equal(t, 1.0, Simulated{}.Outside(math.Inf(-1), math.Inf(1)))
	s := simulate(t, four(Input{Distribution: Normal, Standard: 1}), Simulation{})
	var back Simulated
	text, err := json.Marshal(s)
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(text, &back))
	assert.Equal(t, s.Shortest, back.Shortest)
	assert.Equal(t, 1.0, back.Outside(math.Inf(-1), math.Inf(1)))
	assert.Zero(t, s.Outside(math.Inf(-1), math.Inf(1)))
}

func TestEvaluateExactInputs(t *testing.T) {
	b := Budget{Quantity: "count", Unit: "1", Inputs: []Input{{Name: "n", Value: 3, Distribution: Normal, Sensitivity: 1}}}
	e, err := b.Evaluate(Simulation{})
	require.NoError(t, err)
	assert.Equal(t, ByLinear, e.Used)
	assert.Equal(t, 3.0, e.Value)
	x, err := e.Reading()
	require.NoError(t, err)
	assert.Equal(t, NoDecision, Simple().Decide(x, AtMost(5)).Decision, "a budget without uncertainty decides nothing by itself")

	_, err = Evaluation{}.Reading()
	require.Error(t, err)
}
