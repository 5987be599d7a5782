package uncertainty_test

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"

	. "pintle/rig/uncertainty"
)

// near holds a value to the printed digits: within half a unit of the last place.
func near(t *testing.T, want, got, place float64, what string) {
	t.Helper()
	assert.InDelta(t, want, got, place/2*(1+1e-9), what)
}

func linear(t *testing.T, b Budget) Linear {
	t.Helper()
	l, err := b.Linear()
	require.NoError(t, err)
	return l
}

func factor(t *testing.T, coverage, dof float64) float64 {
	t.Helper()
	k, err := CoverageFactor(coverage, dof)
	require.NoError(t, err)
	return k
}

// JCGM 100:2008, 4.4.3: twenty readings of a temperature.
func TestTypeA(t *testing.T) {
	r := Readings{96.90, 98.18, 98.25, 98.61, 99.03, 99.49, 99.56, 99.74, 99.89, 100.07,
		100.33, 100.42, 100.68, 100.95, 101.11, 101.20, 101.57, 101.84, 102.36, 102.72}
	near(t, 100.145, r.Mean(), 1e-3, "mean")
	near(t, 1.489, r.Deviation(), 1e-3, "s")
	near(t, 1.48884448, r.Deviation(), 1e-8, "s in full")
	in, err := r.Input("temperature", "twenty readings")
	require.NoError(t, err)
	near(t, 0.333, in.Standard, 1e-3, "s of the mean")
	near(t, 0.33291575, in.Standard, 1e-8, "s of the mean in full")
	assert.Equal(t, 19.0, in.Dof)
	assert.Equal(t, Normal, in.Distribution)

	for _, few := range []Readings{nil, {1}} {
		_, err := few.Input("temperature", "")
		require.ErrorContains(t, err, "it takes 2")
	}
}

// JCGM 100:2008, 4.4.5 and 4.4.6 (±4 °C); the divisors of NIST Technical Note 1297,
// clause 4.
func TestDivisors(t *testing.T) {
	for _, x := range []struct {
		in    Input
		want  float64
		place float64
	}{
		{Input{Distribution: Rectangular, HalfWidth: 4}, 2.3, 0.1},
		{Input{Distribution: Rectangular, HalfWidth: 4}, 2.309, 1e-3},
		{Input{Distribution: Triangular, HalfWidth: 4}, 1.6, 0.1},
		{Input{Distribution: Triangular, HalfWidth: 4}, 1.633, 1e-3},
		{Input{Distribution: Rectangular, HalfWidth: 1}, 0.577350, 1e-6},
		{Input{Distribution: Triangular, HalfWidth: 1}, 0.408248, 1e-6},
		{Input{Distribution: Arcsine, HalfWidth: 1}, 0.707107, 1e-6},
		{Input{Distribution: Trapezoid, HalfWidth: 1, Beta: 0.5}, 0.456435, 1e-6},
		{Input{Distribution: Trapezoid, HalfWidth: 1, Beta: 1}, 0.577350, 1e-6}, // is rectangular
		{Input{Distribution: Trapezoid, HalfWidth: 1}, 0.408248, 1e-6},          // is triangular
		{Input{Distribution: Normal, Standard: 7}, 7, 1e-6},
		{Resolution("tick", 1e6, ""), 0.28868e6, 10},  // 1 ms
		{Resolution("step", 10e6, ""), 2.8868e6, 1e2}, // ten of them
	} {
		near(t, x.want, x.in.StandardUncertainty(), x.place, x.in.Distribution.String())
	}
}

// JCGM 100:2008, table G.2 and clause G.6; computed for more columns with gonum,
// four cells (16 degrees of freedom, and infinitely many at 95.45 %) read in print.
func TestStudentFactors(t *testing.T) {
	coverages := []float64{0.6827, 0.90, 0.95, 0.9545, 0.99, 0.9973}
	for dof, row := range map[float64][]float64{
		1:   {1.8374, 6.3138, 12.7062, 13.9678, 63.6567, 235.784},
		2:   {1.3213, 2.9200, 4.3027, 4.5266, 9.9248, 19.2060},
		3:   {1.1969, 2.3534, 3.1824, 3.3068, 5.8409, 9.2187},
		4:   {1.1417, 2.1318, 2.7764, 2.8693, 4.6041, 6.6201},
		5:   {1.1105, 2.0150, 2.5706, 2.6487, 4.0321, 5.5070},
		8:   {1.0666, 1.8595, 2.3060, 2.3664, 3.3554, 4.2766},
		10:  {1.0526, 1.8125, 2.2281, 2.2837, 3.1693, 3.9569},
		16:  {1.0323, 1.7459, 2.1199, 2.1689, 2.9208, 3.5441},
		19:  {1.0270, 1.7291, 2.0930, 2.1405, 2.8609, 3.4472},
		20:  {1.0257, 1.7247, 2.0860, 2.1330, 2.8453, 3.4221},
		30:  {1.0170, 1.6973, 2.0423, 2.0868, 2.7500, 3.2703},
		50:  {1.0101, 1.6759, 2.0086, 2.0513, 2.6778, 3.1571},
		100: {1.0050, 1.6602, 1.9840, 2.0253, 2.6259, 3.0767},
	} {
		for i, want := range row {
			place := 1e-4
			if want > 100 {
				place = 1e-3
			}
			near(t, want, factor(t, coverages[i], dof), place, "k")
		}
	}
	for coverage, want := range map[float64]float64{0.90: 1.644854, 0.95: 1.959964, 0.9545: 2.000002, 0.99: 2.575829} {
		near(t, want, factor(t, coverage, 0), 1e-6, "k of the normal distribution")
		near(t, want, factor(t, coverage, 1e15), 1e-6, "k of very many degrees of freedom")
	}
	near(t, 2.12, factor(t, 0.95, 16), 0.01, "table G.2")
	near(t, 2.17, factor(t, 0.9545, 16), 0.01, "table G.2")
	near(t, 2.92, factor(t, 0.99, 16), 0.01, "table G.2")
}

// Student's t has a closed quantile with one and two degrees of freedom: tan(πp/2)
// and p·√(2/(1-p²)).
func TestStudentFactorsClosedForm(t *testing.T) {
	for _, p := range []float64{0.5, 0.6827, 0.9, 0.95, 0.99, 0.9973} {
		assert.InEpsilon(t, math.Tan(math.Pi*p/2), factor(t, p, 1), 1e-8)
		assert.InEpsilon(t, p*math.Sqrt(2/(1-p*p)), factor(t, p, 2), 1e-8)
	}
}

// Past 50 degrees of freedom the factor comes from an expansion: against gonum's
// quantile, and across the seam.
func TestStudentFactorsNearTheNormal(t *testing.T) {
	for _, p := range []float64{0.5, 0.6827, 0.9, 0.95, 0.9545, 0.99, 0.9973, 0.9999} {
		for _, dof := range []float64{50, 50.001, 51, 60.5, 99, 120, 199, 200, 200.001, 300, 1000, 12_345} {
			want := -distuv.StudentsT{Sigma: 1, Nu: dof}.Quantile((1 - p) / 2)
			assert.InDelta(t, want, factor(t, p, dof), 1.1e-9, "%v, %v", p, dof)
		}
	}
}

func TestCoverageFactorRefuses(t *testing.T) {
	for _, x := range [][2]float64{{0, 5}, {1, 5}, {-1, 5}, {math.NaN(), 5}, {0.95, 0.5}, {0.95, -1}, {0.95, math.NaN()}} {
		_, err := CoverageFactor(x[0], x[1])
		require.Error(t, err, "%v", x)
	}
}

// JCGM 100:2008, G.4.1: relative uncertainties of 0.25, 0.57 and 0.82 % with 9, 4
// and 14 degrees of freedom. The document works on with the rounded 1.03 and gets
// 19.0; unrounded it is 18.9987, which truncates to 18.
func TestWelchSatterthwaite(t *testing.T) {
	b := Budget{Quantity: "y", Unit: "%", Inputs: []Input{
		{Name: "a", Distribution: Normal, Standard: 0.25, Dof: 9, Sensitivity: 1},
		{Name: "b", Distribution: Normal, Standard: 0.57, Dof: 4, Sensitivity: 1},
		{Name: "c", Distribution: Normal, Standard: 0.82, Dof: 14, Sensitivity: 1},
	}}
	l := linear(t, b)
	near(t, 1.03, l.Standard, 0.01, "u")
	near(t, 1.0294659, l.Standard, 1e-7, "u in full")
	near(t, 19.0, l.Dof, 0.1, "dof as printed")
	near(t, 18.9987, l.Dof, 1e-4, "dof in full")
	near(t, 19.038, math.Pow(1.03/l.Standard, 4)*l.Dof, 1e-3, "dof from the rounded u")
	assert.Equal(t, 18.0, l.DofUsed)
	near(t, 2.10, l.Factor, 0.01, "k of 18")
	near(t, 2.2, l.Expanded, 0.1, "U")
	near(t, l.Dof, WelchSatterthwaite([]float64{0.25, 0.57, 0.82}, []float64{9, 4, 14}), 1e-12, "the bare formula")

	b.DofRounding = AsComputed
	l = linear(t, b)
	assert.Equal(t, l.Dof, l.DofUsed)
	near(t, 2.09, l.Factor, 0.01, "t95(19) as printed")
	near(t, 2.2, l.Expanded, 0.1, "U")
}

// JCGM 100:2008, G.4.2.
func TestDofOfDoubt(t *testing.T) {
	near(t, 8, DofOf(0.25), 1e-9, "a quarter")
	near(t, 50, DofOf(0.10), 1e-9, "a tenth")
	near(t, 2, DofOf(0.50), 1e-9, "a half")
	assert.Zero(t, DofOf(0))
	assert.Zero(t, DofOf(-1))
}

func endGauge() Budget {
	const lS = 50.000623e6 // nm
	return Budget{
		Quantity: "length of the end gauge", Unit: "nm", Coverage: 0.99,
		Inputs: []Input{
			{Name: "lS", Value: lS, Distribution: Normal, Standard: 25, Dof: 18},
			{Name: "d", Value: 215, Distribution: Normal, Standard: 9.7, Dof: 25.6},
			{Name: "αS", Value: 11.5e-6, Distribution: Rectangular, HalfWidth: 2e-6},
			{Name: "θ", Value: -0.1, Distribution: Normal, Standard: 0.41},
			{Name: "δα", Distribution: Rectangular, HalfWidth: 1e-6, Dof: 50},
			{Name: "δθ", Distribution: Rectangular, HalfWidth: 0.05, Dof: 2},
		},
		Model: func(x []float64) float64 { return x[0] + x[1] - x[0]*(x[4]*x[3]+x[2]*x[5]) },
	}
}

// JCGM 100:2008, H.1: calibration of an end gauge.
func TestEndGauge(t *testing.T) {
	// d itself: 5.8 nm with 24, 3.9 with 5, 6.7 with 8 degrees of freedom.
	d := linear(t, Budget{Quantity: "d", Inputs: []Input{
		{Name: "repeat", Distribution: Normal, Standard: 5.8, Dof: 24, Sensitivity: 1},
		{Name: "random", Distribution: Normal, Standard: 3.9, Dof: 5, Sensitivity: 1},
		{Name: "systematic", Distribution: Normal, Standard: 6.7, Dof: 8, Sensitivity: 1},
	}})
	near(t, 9.7, d.Standard, 0.1, "u(d)")
	near(t, 25.6, d.Dof*math.Pow(9.7/d.Standard, 4), 0.1, "dof of d, from the rounded u(d) as printed")

	l := linear(t, endGauge())
	near(t, 50.000838, l.Value/1e6, 1e-6, "l")
	for i, want := range []struct{ u, place float64 }{{25, 1}, {9.7, 0.1}, {0, 0.1}, {0, 0.1}, {2.9, 0.1}, {16.6, 0.1}} {
		near(t, want.u, math.Abs(l.Lines[i].Contribution), want.place, l.Lines[i].Input.Name)
	}
	near(t, 32, l.Standard, 1, "u")
	near(t, 31.66, l.Standard, 0.02, "u in full") // 31.66 or 31.67 with the digits of u(d)
	near(t, 16.7, l.Dof, 0.2, "dof, which the document prints as 16.7 and truncates")
	assert.Equal(t, 16.0, l.DofUsed, "dof as printed")
	near(t, 2.92, l.Factor, 0.01, "k")
	near(t, 92.5, l.Expanded, 0.2, "U from the unrounded u; the document prints 93, 2.92 times the rounded 32")
	near(t, 93, 2.92*math.Round(l.Standard), 1, "U as printed")

	// The same with the sensitivities of the document and its rounded inputs.
	b := endGauge()
	b.Model, b.Offset = nil, l.Value
	const lS, αS, θ = 50.000623e6, 11.5e-6, -0.1
	b.Inputs = []Input{
		{Name: "lS", Distribution: Normal, Standard: 25, Dof: 18, Sensitivity: 1},
		{Name: "d", Distribution: Normal, Standard: 9.7, Dof: 25.6, Sensitivity: 1},
		{Name: "δα", Distribution: Normal, Standard: 0.58e-6, Dof: 50, Sensitivity: -lS * θ},
		{Name: "δθ", Distribution: Normal, Standard: 0.029, Dof: 2, Sensitivity: -lS * αS},
	}
	r := linear(t, b)
	near(t, 1002, l.Standard*l.Standard, 2, "u²")
	near(t, 31.71, r.Standard, 0.01, "u from rounded inputs")
	near(t, 16.66, r.Dof, 0.1, "dof from rounded inputs")
}

// JCGM 100:2008, H.1.7: the products of δα with θ and of αS with δθ add 11.7 and
// 1.7 nm, and make it 34 nm. Drawing finds them without being told.
func TestEndGaugeBeyondTheLinearForm(t *testing.T) {
	const lS = 50.000623e6
	near(t, 11.7, lS*1e-6/math.Sqrt(3)*0.41, 0.3, "δα·θ") // 11.7 from u(δα) = 0.57e-6 or 0.58e-6
	near(t, 1.7, lS*1.2e-6*0.029, 0.1, "αS·δθ")
	b := endGauge()
	for i := range b.Inputs {
		b.Inputs[i].Dof = 0 // those of the terms alone; Student's t would widen them
	}
	s, err := b.Simulate(Simulation{Seed: 1, Draws: 400_000})
	require.NoError(t, err)
	near(t, 34, s.Standard, 1, "u")
	near(t, 50.000838, s.Value/1e6, 1e-6, "l")
}

// JCGM 100:2008, H.2: resistance, reactance and impedance from five simultaneous
// readings of voltage, current and phase. Full precision as published with the
// SUNCAL test suite of Sandia National Laboratories; the readings are table H.2's.
func TestCorrelatedReadings(t *testing.T) {
	v := Readings{5.007, 4.994, 5.005, 4.990, 4.999}
	i := Readings{19.663e-3, 19.639e-3, 19.640e-3, 19.685e-3, 19.678e-3}
	φ := Readings{1.0456, 1.0438, 1.0468, 1.0428, 1.0433}
	b := Budget{Unit: "Ω", Quantity: "R"}
	for _, x := range []struct {
		name string
		r    Readings
	}{{"V", v}, {"I", i}, {"φ", φ}} {
		in, err := x.r.Input(x.name, "five readings")
		require.NoError(t, err)
		b.Add(in)
	}
	for _, x := range []struct {
		a, b string
		p, q Readings
		want float64
	}{{"V", "I", v, i, -0.36}, {"V", "φ", v, φ, 0.86}, {"I", "φ", i, φ, -0.65}} {
		r, err := Correlate(x.p, x.q)
		require.NoError(t, err)
		near(t, x.want, r, 0.01, x.a+x.b)
		b.Correlations = append(b.Correlations, Correlation{x.a, x.b, r})
	}
	var sensitivities [][]float64
	for _, x := range []struct {
		name          string
		model         Model
		value, u      float64
		printed       float64
		printedU      float64
		simulatedSlop float64
	}{
		{"R", func(x []float64) float64 { return x[0] / x[1] * math.Cos(x[2]) }, 127.73217, 0.071071, 127.732, 0.071, 0.001},
		{"X", func(x []float64) float64 { return x[0] / x[1] * math.Sin(x[2]) }, 219.84651, 0.295582, 219.847, 0.295, 0.003},
		{"Z", func(x []float64) float64 { return x[0] / x[1] }, 254.25970, 0.236336, 254.260, 0.236, 0.003},
	} {
		b.Quantity, b.Model = x.name, x.model
		l := linear(t, b)
		near(t, x.value, l.Value, 1e-5, x.name)
		near(t, x.u, l.Standard, 2e-6, x.name)
		near(t, x.printed, l.Value, 1e-3, x.name)
		near(t, x.printedU, l.Standard, 1.3e-3, x.name) // X: the document's 0.295 is 0.2956 cut off
		assert.InDelta(t, 4, l.Dof, 1e-9, "read together five times")
		assert.Equal(t, 4.0, l.DofUsed)
		shares, row := 0.0, []float64{}
		for _, line := range l.Lines {
			shares += line.Share
			row = append(row, line.Contribution)
		}
		assert.InDelta(t, 1, shares, 1e-9)
		sensitivities = append(sensitivities, row)

		s, err := b.Simulate(Simulation{Seed: 3, Draws: 100_000})
		require.NoError(t, err)
		assert.InDelta(t, x.value, s.Value, x.simulatedSlop)
		assert.InDelta(t, x.u, s.Standard, x.simulatedSlop)
	}
	// The correlations of the results: r(R,X), r(R,Z), r(X,Z). The two with R are
	// from memory for the printed value.
	at := map[string]int{"V": 0, "I": 1, "φ": 2}
	together := func(p, q []float64) float64 {
		sum := p[0]*q[0] + p[1]*q[1] + p[2]*q[2]
		for _, c := range b.Correlations {
			i, j := at[c.A], at[c.B]
			sum += c.R * (p[i]*q[j] + p[j]*q[i])
		}
		return sum
	}
	for _, x := range []struct {
		i, j int
		want float64
	}{{0, 1, -0.588}, {0, 2, -0.485}, {1, 2, 0.993}} {
		p, q := sensitivities[x.i], sensitivities[x.j]
		near(t, x.want, together(p, q)/math.Sqrt(together(p, p)*together(q, q)), 1e-3, "r")
	}
}

func TestCorrelateRefuses(t *testing.T) {
	for _, x := range [][2]Readings{{{1, 2}, {1, 2, 3}}, {{1}, {1}}, {{1, 1}, {1, 2}}} {
		_, err := Correlate(x[0], x[1])
		require.Error(t, err)
	}
}

// JCGM 100:2008, H.3: calibration of a thermometer by a straight line.
func TestCalibrationLine(t *testing.T) {
	x := []float64{21.521, 22.012, 22.512, 23.003, 23.507, 23.999, 24.513, 25.002, 25.503, 26.010, 26.511}
	y := []float64{-.171, -.169, -.166, -.159, -.164, -.165, -.156, -.157, -.159, -.161, -.160}
	l, err := FitLine(x, y, 20)
	require.NoError(t, err)
	for _, c := range []struct{ want, got, place float64 }{
		{-0.1712, l.Intercept, 1e-4}, {0.0029, l.UIntercept, 1e-4}, {0.00218, l.Slope, 1e-5}, {0.00067, l.USlope, 1e-5},
		{-0.930, l.Correlation, 1e-3}, {0.0035, l.Residual, 1e-4}, {-0.1494, l.At(30), 1e-4}, {0.0041, l.UAt(30), 1e-4},
		{-0.17120379, l.Intercept, 1e-8}, {0.00287760, l.UIntercept, 1e-8}, {0.0021826977, l.Slope, 1e-10},
		{0.00066793877, l.USlope, 1e-11}, {-0.93042960, l.Correlation, 1e-8}, {0.0034975640, l.Residual, 1e-10},
		{-0.14937681, l.At(30), 1e-8}, {0.004138596, l.UAt(30), 1e-9}, {1.10096583e-4, l.Residual * l.Residual * 9, 1e-12},
	} {
		near(t, c.want, c.got, c.place, "")
	}
	assert.Equal(t, 9.0, l.Dof)
	in := l.Input("correction", 30, "calibration")
	assert.Equal(t, l.UAt(30), in.Standard)
	assert.Equal(t, 9.0, in.Dof)

	for _, bad := range [][2][]float64{{{1, 2}, {1, 2}}, {{1, 2, 3}, {1, 2}}, {{2, 2, 2}, {1, 2, 3}}} {
		_, err := FitLine(bad[0], bad[1], 0)
		require.Error(t, err)
	}
}

// A certificate's 100 ± 0.6 with k = 2 (JCGM 100:2008, 4.3.3).
func TestExpandedInput(t *testing.T) {
	in := Expanded("reference", 100, 0.6, 2, "certificate")
	in.Sensitivity = 1
	assert.Equal(t, 0.3, in.Standard)
	assert.Equal(t, 0.3, linear(t, Budget{Quantity: "q", Inputs: []Input{in}}).Standard)
	in = Expanded("reference", 100, 0.6, 0, "certificate")
	in.Sensitivity = 1
	_, err := (&Budget{Inputs: []Input{in}}).Linear()
	require.ErrorContains(t, err, "NaN")
}
