package uncertainty_test

import (
	"flag"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"
	"unicode/utf8"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/signal"
	. "pintle/rig/uncertainty"
)

var update = flag.Bool("update", false, "write the golden files")

// stopTime is the budget of a barrier's stop time after its limit makes, as one
// bench of the demo would have it.
func stopTime() *Budget {
	b := NewDuration("stop time after the open limit makes",
		signal.Span{Early: 1000 * ms, Late: 1000*ms + 200_000}, signal.Span{Early: 1120 * ms, Late: 1140 * ms}, "bracket as recorded by the bench")
	b.Add(
		Delay("latency of the serial bridge", 0, 16*time.Millisecond, "the bridge's own timer, 16 ms where nobody has set it lower; between 0 and that whenever its buffer is not full"),
		ClockRate("clock", 50, 120*time.Millisecond, "crystal, data sheet"),
		Crossing("threshold", 0.02, 8, "noise of the meter at rest, 20 mA, over a fall of 8 A/s"),
	)
	repeat := Input{Name: "repeat", Distribution: Normal, Standard: 65_000, Dof: 3, Sensitivity: 1, Source: "four trials of one stop"}
	b.Add(repeat)
	return b
}

func TestTable(t *testing.T) {
	stop := stopTime()
	e, err := stop.Evaluate(Simulation{})
	require.NoError(t, err)
	gauge := linear(t, endGauge())
	tied := Budget{Quantity: "difference of two stops", Unit: "ns", DofRounding: AsComputed, Inputs: []Input{
		{Name: "first", Value: 150.25e6, Distribution: Normal, Standard: 2e6, Dof: 4, Sensitivity: -1, Source: "five trials"},
		{Name: "second", Value: 152.5e6, Distribution: Normal, Standard: 2e6, Dof: 4, Sensitivity: 1, Source: "five trials"},
		{Name: "draw", Unit: "A", Value: 7.5, Distribution: Trapezoid, HalfWidth: 0.5, Beta: 0.5, Sensitivity: -40e3, Source: "meter, data sheet"},
	}, Correlations: []Correlation{{"first", "second", 0.5}}}
	golden := map[string]string{
		"stop-time.txt": e.Linear.Table(Milliseconds) + "\n" + e.Text(Milliseconds),
		"end-gauge.txt": gauge.Table(Scale{}),
		"tied.txt":      linear(t, tied).Table(Milliseconds),
	}
	files, err := filepath.Glob("testdata/*.txt")
	require.NoError(t, err)
	if !*update {
		require.Len(t, files, len(golden), "testdata and the test do not hold the same tables")
	}
	for name, got := range golden {
		path := filepath.Join("testdata", name)
		if *update {
			require.NoError(t, os.WriteFile(path, []byte(got), 0o644))
		}
		want, err := os.ReadFile(path)
		require.NoError(t, err)
		assert.Equal(t, string(want), got, "run with -update if this is meant")
	}
}

func TestTableKeepsItsWidth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		number := rapid.OneOf(rapid.Float64Range(-1e15, 1e15), rapid.Float64Range(-1e-12, 1e-12), rapid.Float64Range(-1000, 1000))
		size := rapid.Map(number, math.Abs)
		text := rapid.StringOfN(rapid.RuneFrom([]rune("ab µΩ x")), 1, 120, -1)
		b := Budget{Quantity: "q", Unit: rapid.SampledFrom([]string{"ns", "µA"}).Draw(t, "unit")}
		for i := range rapid.IntRange(1, 5).Draw(t, "inputs") {
			in := Input{
				Name: string(rune('a'+i)) + text.Draw(t, "name"), Unit: rapid.SampledFrom([]string{"", "ns", "V"}).Draw(t, "in"),
				Value: number.Draw(t, "value"), Sensitivity: number.Filter(func(x float64) bool { return x != 0 }).Draw(t, "c"),
				Distribution: rapid.SampledFrom([]Distribution{Normal, Rectangular, Triangular, Arcsine, Trapezoid}).Draw(t, "d"),
				Dof:          rapid.SampledFrom([]float64{0, 1, 25.6, 1e12}).Draw(t, "dof"), Source: text.Draw(t, "source"),
			}
			in.Standard = size.Draw(t, "u")
			b.Add(in)
		}
		l, err := b.Linear()
		require.NoError(t, err)
		for line := range strings.Lines(l.Table(rapid.SampledFrom([]Scale{{}, Milliseconds}).Draw(t, "scale"))) {
			line = strings.TrimSuffix(line, "\n")
			if strings.Contains(strings.TrimLeft(line, " "), " ") {
				require.LessOrEqual(t, utf8.RuneCountInString(line), 80, "%q", line)
			}
			require.Equal(t, strings.TrimRight(line, " "), line)
		}
	})
}

func TestStated(t *testing.T) {
	for _, x := range []struct {
		value, u float64
		v, text  string
	}{
		{127.73217, 0.071071, "127.732", "0.071"}, {50.000838, 0.000093, "50.000838", "0.000093"},
		{122.95, 15.3, "123", "15"}, {12345, 678, "12350", "680"}, {1, 0, "1", "0"}, {0.5, 0.0999, "0.50", "0.10"},
		{1.2340, 0.1055, "1.23", "0.11"},
	} {
		v, u := Stated(x.value, x.u)
		assert.Equal(t, []string{x.v, x.text}, []string{v, u}, "%v ± %v", x.value, x.u)
	}
}

func TestBudgetCollectsAllMistakes(t *testing.T) {
	b := Budget{Quantity: "stop time", Coverage: 2, DofRounding: 9, Offset: math.Inf(1), Inputs: []Input{
		{},
		{Name: "a", Distribution: Rectangular, Standard: 1, HalfWidth: 1, Sensitivity: 1},
		{Name: "b", Distribution: Normal, HalfWidth: 1, Sensitivity: 1},
		{Name: "c", Distribution: Normal, Standard: -1, Sensitivity: 1},
		{Name: "d", Distribution: Normal, Standard: math.NaN(), Value: math.Inf(1), Sensitivity: math.NaN()},
		{Name: "e", Distribution: Rectangular, Beta: 0.5, Sensitivity: 1, Dof: 0.5},
		{Name: "f", Distribution: Trapezoid, Beta: 1.5, Sensitivity: 1},
		{Name: "f", Distribution: 77, Sensitivity: 1},
		{Name: "g", Distribution: Normal, Standard: 1},
	}, Correlations: []Correlation{{"a", "zz", 0.5}, {"a", "a", 0.5}, {"a", "b", 1.5}, {"c", "d", 0.1}, {"d", "c", 0.2}}}
	_, err := b.Linear()
	require.Error(t, err)
	for _, want := range []string{
		"budget of stop time: ", "coverage is 2", "rounding of degrees of freedom numbered 9", "offset is +Inf",
		`input "": has no name`, `input "": its distribution is none`, `input "a": has a standard uncertainty and a half-width`,
		`input "b": a normal distribution has no half-width`, `input "c": its standard uncertainty is -1`,
		`input "d": its standard uncertainty is NaN`, `input "d": its value is +Inf`, `input "d": its sensitivity is NaN`,
		`input "e": beta is 0.5`, `input "e": has 0.5 degrees`, `input "f": beta is 1.5`, `input "f": its distribution is 77?`,
		`input "f": there are two of this name`, `input "g": has no sensitivity`,
		`there is no input "zz"`, `correlation of "a" and "a"`, `"a" and "b": 1.5`, `"c" and "d": is stated more than once`,
	} {
		require.ErrorContains(t, err, want)
	}
	_, err = (&Budget{}).Linear()
	require.ErrorContains(t, err, "there are no inputs")
}

func TestCorrelationsThatCannotBe(t *testing.T) {
	in := func(name string) Input { return Input{Name: name, Distribution: Normal, Standard: 1, Sensitivity: 1} }
	b := Budget{Inputs: []Input{in("a"), in("b"), in("c")}, Correlations: []Correlation{{"a", "b", 0.9}, {"b", "c", 0.9}, {"a", "c", -0.9}}}
	_, err := b.Linear()
	require.ErrorContains(t, err, "contradict each other")
	b.Correlations = []Correlation{{"a", "b", 1}, {"b", "c", 1}, {"a", "c", 0.5}}
	_, err = b.Linear()
	require.ErrorContains(t, err, "contradict each other")
	b.Correlations = []Correlation{{"a", "b", 1}, {"b", "c", 1}, {"a", "c", 1}}
	l := linear(t, b)
	near(t, 3, l.Standard, 1e-9, "JCGM 100:2008, 5.2.2, note 1: what moves as one adds up")
	s := simulate(t, b, Simulation{})
	assert.InDelta(t, 3, s.Standard, 0.05)
	b.Correlations = []Correlation{{"a", "b", -1}}
	b.Inputs = b.Inputs[:2]
	assert.Zero(t, linear(t, b).Standard, "what moves against each other cancels")
}

func TestDofOfTiedInputsAreTheFewest(t *testing.T) {
	in := func(name string, dof float64) Input {
		return Input{Name: name, Distribution: Normal, Standard: 1, Dof: dof, Sensitivity: 1}
	}
	b := Budget{Inputs: []Input{in("a", 9), in("b", 4), in("c", 0), in("d", 20)}, Correlations: []Correlation{{"a", "b", 0.5}, {"b", "c", 0.1}}}
	l := linear(t, b)
	// Group a, b, c: variance 3 + 2·0.5 + 2·0.1 = 4.2 with 4; d: 1 with 20.
	near(t, 5.2, l.Standard*l.Standard, 1e-9, "u²")
	near(t, 5.2*5.2/(4.2*4.2/4+1.0/20), l.Dof, 1e-9, "dof")
}

func TestWholeDofStayWhole(t *testing.T) {
	for dof := 1.0; dof < 200; dof++ {
		b := Budget{Inputs: []Input{{Name: "a", Distribution: Normal, Standard: 0.1 * dof, Dof: dof, Sensitivity: 0.3}}}
		assert.Equal(t, dof, linear(t, b).DofUsed, "one input keeps its own")
	}
}

func TestModelSlopes(t *testing.T) {
	b := Budget{Inputs: []Input{
		{Name: "x", Value: 2, Distribution: Normal, Standard: 0.1},
		{Name: "exact", Value: 3, Distribution: Normal},
		{Name: "stated", Value: 1, Distribution: Normal, Standard: 1, Sensitivity: 7},
	}, Model: func(x []float64) float64 { return x[0]*x[0]*x[0] + math.Exp(x[1]) + x[2] }}
	l := linear(t, b)
	assert.InEpsilon(t, 12, l.Lines[0].Sensitivity, 1e-9)
	assert.InEpsilon(t, math.Exp(3), l.Lines[1].Sensitivity, 1e-9)
	assert.Equal(t, 7.0, l.Lines[2].Sensitivity)
	assert.Equal(t, 8+math.Exp(3)+1, l.Value, "the model is asked at the values themselves")

	b = Budget{Inputs: []Input{{Name: "x", Distribution: Rectangular, HalfWidth: 1}}, Model: func(x []float64) float64 { return math.Sqrt(x[0]) }}
	_, err := b.Linear()
	require.ErrorContains(t, err, `no slope against input "x"`)
	b.Inputs[0].Value = -5
	b.Inputs[0].Sensitivity = 1
	_, err = b.Linear()
	require.ErrorContains(t, err, "is no number")
}

func TestBudgetProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		size := rapid.Float64Range(1e-3, 1e6)
		var b Budget
		n := rapid.IntRange(1, 6).Draw(t, "n")
		fewest := math.Inf(1)
		sum := 0.0
		for i := range n {
			in := Input{Name: string(rune('a' + i)), Distribution: Normal, Standard: size.Draw(t, "u"), Sensitivity: rapid.SampledFrom([]float64{-2, -1, 0.5, 1, 3}).Draw(t, "c"),
				Dof: float64(rapid.IntRange(1, 60).Draw(t, "dof"))}
			fewest = min(fewest, in.Dof)
			sum += in.Dof
			b.Add(in)
		}
		l, err := b.Linear()
		require.NoError(t, err)
		shares, most := 0.0, 0.0
		for _, line := range l.Lines {
			shares += line.Share
			most = max(most, math.Abs(line.Contribution))
		}
		require.InDelta(t, 1, shares, 1e-9)
		require.GreaterOrEqual(t, l.Standard*(1+1e-12), most, "no smaller than its largest part")
		// JCGM 100:2008, G.4.1, note 2: between the fewest and the sum.
		require.GreaterOrEqual(t, l.Dof*(1+1e-9), fewest)
		require.LessOrEqual(t, l.Dof, sum*(1+1e-9))
		require.LessOrEqual(t, l.DofUsed, l.Dof*(1+1e-8))
		require.Greater(t, l.Factor, 1.9599)

		// Another unit for the result changes nothing but the unit.
		scaled := b
		scaled.Inputs = append([]Input(nil), b.Inputs...)
		for i := range scaled.Inputs {
			scaled.Inputs[i].Sensitivity *= 1e-9
		}
		m, err := scaled.Linear()
		require.NoError(t, err)
		require.InEpsilon(t, l.Expanded*1e-9, m.Expanded, 1e-9)
		require.Equal(t, l.DofUsed, m.DofUsed)

		// The order does not matter, and one input more makes it no smaller.
		more := b
		more.Inputs = append([]Input{{Name: "z", Distribution: Rectangular, HalfWidth: size.Draw(t, "a"), Sensitivity: 1}}, b.Inputs...)
		k, err := more.Linear()
		require.NoError(t, err)
		require.GreaterOrEqual(t, k.Standard, l.Standard*(1-1e-12))

		// Correlation: between nothing left and the plain sum, and 0 is none.
		if n >= 2 {
			r := rapid.Float64Range(-1, 1).Draw(t, "r")
			b.Correlations = []Correlation{{"a", "b", r}}
			c, err := b.Linear()
			require.NoError(t, err)
			p, q := l.Lines[0].Contribution, l.Lines[1].Contribution
			require.InEpsilon(t, 1+l.Standard*l.Standard+2*r*p*q, 1+c.Standard*c.Standard, 1e-6)
		}
	})
}
