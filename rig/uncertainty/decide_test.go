package uncertainty_test

import (
	"encoding/json"
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/signal"
	. "pintle/rig/uncertainty"
)

const ms = 1_000_000

// What is said of a decision, by each rule: at the guard band's ends and a unit beyond.
func TestReasonsOfDecisions(t *testing.T) {
	const (
		within, beyond = "reads within the limit", "reads beyond the limit"
		clear, unclear = "reads within the limit by the guard band or more", "does not read within the limit by the guard band"
		kept, surely   = "reads not beyond the limit by more than the guard band", "reads beyond the limit by more than the guard band"
		mostly, barely = "reads within the limit, by less than the guard band", "reads beyond the limit, by no more than the guard band"
	)
	for value, want := range map[int64]map[Rule]string{
		1980: {Simple(): within, Guarded(): clear, RejectOnlySure(): kept, InFourWays(): clear},
		1981: {Simple(): within, Guarded(): unclear, RejectOnlySure(): kept, InFourWays(): mostly},
		2000: {Simple(): within, Guarded(): unclear, RejectOnlySure(): kept, InFourWays(): mostly},
		2001: {Simple(): beyond, Guarded(): unclear, RejectOnlySure(): kept, InFourWays(): barely},
		2020: {Simple(): beyond, Guarded(): unclear, RejectOnlySure(): kept, InFourWays(): barely},
		2021: {Simple(): beyond, Guarded(): unclear, RejectOnlySure(): surely, InFourWays(): surely},
	} {
		for rule, reason := range want {
			assert.Equal(t, reason, rule.Decide(Plain(value, 10, 20), AtMost(2000)).Reason, "%d, %v", value, rule)
			assert.Equal(t, reason, rule.Decide(Plain(-value, 10, 20), AtLeast(-2000)).Reason, "%d, %v, mirrored", value, rule)
		}
	}
	for value := range int64(11) {
		o := Guarded().Decide(Plain(value, 10, 20), Within(0, 10))
		assert.Equal(t, Fail, o.Decision)
		assert.Contains(t, o.Reason, "leave no room between the limits", "%d", value)
		assert.Zero(t, o.MostMillionths)
	}
}

// The hand check of a timing verdict: limit 2.000 s, u = 10 ms, U = 20 ms, k = 2,
// against ILAC-G8:09/2019's simple, guarded and four-way statements. Worked out
// again from the normal distribution.
func TestTimingVerdictByHand(t *testing.T) {
	for _, x := range []struct {
		value                     int64 // ms
		risk                      float64
		simple, guarded, fourWays Decision
	}{
		{1979, 0.01786, Pass, Pass, Pass},
		{1980, 0.02275, Pass, Pass, Pass},
		{1981, 0.02872, Pass, Fail, ConditionalPass},
		{1990, 0.15866, Pass, Fail, ConditionalPass},
		{2000, 0.50000, Pass, Fail, ConditionalPass},
		{2010, 0.84134, Fail, Fail, ConditionalFail},
		{2020, 0.97725, Fail, Fail, ConditionalFail},
		{2021, 0.98214, Fail, Fail, Fail},
	} {
		// The upper limit, the lower one mirrored, and both with the other far off.
		for _, side := range []struct {
			reading Reading
			limits  Limits
		}{
			{Plain(x.value*ms, 10*ms, 20*ms), AtMost(2000 * ms)},
			{Plain(-x.value*ms, 10*ms, 20*ms), AtLeast(-2000 * ms)},
			{Plain(x.value*ms, 10*ms, 20*ms), Within(0, 2000*ms)},
			{Plain(-x.value*ms, 10*ms, 20*ms), Within(-2000*ms, 0)},
		} {
			for rule, want := range map[Rule]Decision{Simple(): x.simple, Guarded(): x.guarded, InFourWays(): x.fourWays} {
				o := rule.Decide(side.reading, side.limits)
				assert.Equal(t, want, o.Decision, "%v ms, %v", x.value, rule)
				assert.InDelta(t, x.risk*1e6, float64(o.BrokenMillionths), 5.001, "%v ms, %v", x.value, rule)
				assert.NotEmpty(t, o.Reason)
			}
			want := Pass // guarded rejection fails only what is surely beyond
			if x.value > 2020 {
				want = Fail
			}
			assert.Equal(t, want, RejectOnlySure().Decide(side.reading, side.limits).Decision, "%v ms", x.value)
		}
	}
}

// One nanosecond either side of each edge of the rules.
func TestEdgesToTheTick(t *testing.T) {
	const limit = 2000 * ms
	for _, x := range []struct {
		at       int64
		rule     Rule
		on, past Decision
	}{
		{limit, Simple(), Pass, Fail},
		{limit - 20*ms, Guarded(), Pass, Fail},
		{limit + 20*ms, RejectOnlySure(), Pass, Fail},
		{limit - 20*ms, InFourWays(), Pass, ConditionalPass},
		{limit, InFourWays(), ConditionalPass, ConditionalFail},
		{limit + 20*ms, InFourWays(), ConditionalFail, Fail},
		{limit - 16_600_000, Rule{GuardedAcceptance, 83}, Pass, Fail},
		{limit - 30*ms, Rule{GuardedAcceptance, 150}, Pass, Fail},
	} {
		for d, want := range map[int64]Decision{-1: x.on, 0: x.on, 1: x.past} {
			assert.Equal(t, want, x.rule.Decide(Plain(x.at+d, 10*ms, 20*ms), AtMost(limit)).Decision, "%v, %+d", x.rule, d)
			assert.Equal(t, want, x.rule.Decide(Plain(-x.at-d, 10*ms, 20*ms), AtLeast(-limit)).Decision, "%v, %+d", x.rule, d)
		}
	}
	// A guard band that is no whole number of units is rounded up.
	odd := Plain(0, 1, 3)
	assert.Equal(t, Pass, Rule{GuardedAcceptance, 83}.Decide(odd, AtMost(3)).Decision)
	assert.Equal(t, Fail, Rule{GuardedAcceptance, 83}.Decide(odd, AtMost(2)).Decision, "0.83 of 3 is 2.49")
}

// ILAC-G8:09/2019, the table of guard bands: the probability of false acceptance at
// the acceptance limit. Figures with more digits worked out again; the table's 0.16 %
// is that of k = 1.96.
func TestGuardBandTable(t *testing.T) {
	const u = 1_000_000_000
	for _, x := range []struct {
		percent    int
		k          float64
		millionths float64
		below      float64
	}{
		{100, 1.959964, 25_000, 25_000}, {100, 2, 22_750, 25_000},
		{83, 2, 48_500, 50_000}, {83, 1.959964, 51_900, 52_000},
		{150, 2, 1_350, 1_600}, {150, 1.959964, 1_640, 1_650},
		{300, 2, 0, 1}, {300, 1.959964, 0, 1},
	} {
		expanded := int64(math.Round(x.k * u))
		o := Rule{GuardedAcceptance, x.percent}.Decide(Plain(0, u, expanded), AtMost(math.MaxInt32*1_000_000))
		assert.InDelta(t, x.millionths, float64(o.MostMillionths), 51, "%+v", x)
		assert.LessOrEqual(t, float64(o.MostMillionths), x.below, "%+v", x)
	}
	most := func(r Rule, k float64) float64 {
		return float64(r.Decide(Plain(0, u, int64(math.Round(k*u))), AtMost(9*u)).MostMillionths)
	}
	assert.Equal(t, 500_000.0, most(Simple(), 2))
	assert.InDelta(t, 977_250, most(RejectOnlySure(), 2), 1, "w = -U")
	assert.InDelta(t, 50_000, most(Guarded(), 1.644854), 1)
	// Below a millionth the figure itself.
	assert.InDelta(t, 9.9e-10, SpecificRisk(-6, 1, AtMost(0)), 0.05e-10)
	assert.InDelta(t, 2.1e-9, SpecificRisk(-3*1.959964, 1, AtMost(0)), 0.05e-9)
}

// Specific risk against limits of both sides, from the test suite of SUNCAL, Sandia
// National Laboratories; JCGM 106:2012's Zener diode, whose inputs are from memory.
func TestSpecificRisk(t *testing.T) {
	for _, x := range []struct{ value, lower, upper, both float64 }{
		{10, .006210, .006210, .012419}, {10.5, .000088, .105650, .105738}, {12, math.NaN(), math.NaN(), .993790},
	} {
		near(t, x.both, SpecificRisk(x.value, 0.4, Within(9, 11)), 1e-6, "both")
		if !math.IsNaN(x.lower) {
			near(t, x.lower, SpecificRisk(x.value, 0.4, AtLeast(9)), 1e-6, "lower")
			near(t, x.upper, SpecificRisk(x.value, 0.4, AtMost(11)), 1e-6, "upper")
		}
	}
	near(t, 0.9192, 1-SpecificRisk(5.40e6, 0.05e6, AtMost(5_470_000)), 1e-4, "Zener")
	near(t, .012419, float64(Simple().Decide(Plain(10_000, 400, 800), Within(9_000, 11_000)).BrokenMillionths)/1e6, 1e-6, "in units")

	for _, unsafe := range []float64{
		SpecificRisk(0, 0, AtMost(1)), SpecificRisk(0, -1, AtMost(1)), SpecificRisk(0, math.NaN(), AtMost(1)),
		SpecificRisk(math.NaN(), 1, AtMost(1)), SpecificRisk(0, math.Inf(1), AtMost(1)), SpecificRisk(0, 1, Limits{}),
		SpecificRisk(0, 1, Within(2, 1)),
	} {
		assert.Equal(t, 1.0, unsafe)
	}
}

func TestNothingIsDecidedFromNothing(t *testing.T) {
	good, limit := Plain(0, 1, 2), AtMost(100)
	for name, o := range map[string]Outcome{
		"zero outcome":       {},
		"no rule":            Rule{}.Decide(good, limit),
		"guard alone":        Rule{GuardPercent: 100}.Decide(good, limit),
		"no such rule":       Rule{Kind: 99, GuardPercent: 100}.Decide(good, limit),
		"no guard":           Rule{Kind: GuardedAcceptance}.Decide(good, limit),
		"guard below":        Rule{Kind: GuardedAcceptance, GuardPercent: -100}.Decide(good, limit),
		"guard far":          Rule{Kind: FourWay, GuardPercent: 1001}.Decide(good, limit),
		"guard where none":   Rule{Kind: SimpleAcceptance, GuardPercent: 1}.Decide(good, limit),
		"no reading":         Simple().Decide(Reading{}, limit),
		"no limit":           Simple().Decide(good, Limits{}),
		"crossed limits":     Simple().Decide(good, Within(2, 1)),
		"no uncertainty":     Simple().Decide(Plain(0, 0, 2), limit),
		"negative":           Simple().Decide(Plain(0, -1, 2), limit),
		"no expanded":        Simple().Decide(Plain(0, 1, 0), limit),
		"inside out":         Simple().Decide(Plain(0, 1, -2), limit),
		"exact and not":      Simple().Decide(Reading{Standard: 1, Low: -1, High: 1, Exact: true}, limit),
		"beyond counting":    Simple().Decide(Plain(math.MinInt64/2, 1, 2), limit),
		"limit past counts":  Simple().Decide(good, AtMost(math.MaxInt64)),
		"limit before count": Simple().Decide(good, AtLeast(math.MinInt64)),
	} {
		assert.Equal(t, NoDecision, o.Decision, name)
		if name != "zero outcome" {
			assert.Contains(t, o.Reason, "not decided: ", name)
			assert.Equal(t, int64(1_000_000), o.BrokenMillionths, name)
		}
	}
	assert.NotEqual(t, Pass, Decision(0))
	assert.NotEqual(t, SimpleAcceptance, RuleKind(0))
}

func TestCountsNeedNoUncertainty(t *testing.T) {
	o := Guarded().Decide(Count(3), AtMost(3))
	assert.Equal(t, Pass, o.Decision)
	assert.Zero(t, o.BrokenMillionths)
	assert.Equal(t, Fail, Guarded().Decide(Count(4), AtMost(3)).Decision)
	assert.Equal(t, int64(1_000_000), Guarded().Decide(Count(4), AtMost(3)).BrokenMillionths)
}

func TestGuardBandsThatLeaveNoRoom(t *testing.T) {
	wide := Plain(50, 30, 60)
	o := Guarded().Decide(wide, Within(0, 100))
	assert.Equal(t, Fail, o.Decision)
	assert.Contains(t, o.Reason, "can pass no value")
	assert.Zero(t, o.MostMillionths)
	_, _, ok := Guarded().PassZone(wide, Within(0, 100))
	assert.False(t, ok)
	low, high, ok := Guarded().PassZone(Plain(50, 25, 50), Within(0, 100))
	assert.True(t, ok)
	assert.Equal(t, []int64{50, 50}, []int64{low, high})
	assert.Equal(t, Pass, Guarded().Decide(Plain(50, 25, 50), Within(0, 100)).Decision)
	low, high, ok = RejectOnlySure().PassZone(wide, AtMost(100))
	assert.True(t, ok)
	assert.Equal(t, []int64{math.MinInt64, 160}, []int64{low, high})
	_, _, ok = Rule{}.PassZone(wide, AtMost(100))
	assert.False(t, ok)
}

func TestDecisionProperties(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := rapid.Int64Range(1, 1e9).Draw(t, "u")
		up := rapid.Int64Range(1, 3e9).Draw(t, "above")
		down := rapid.Int64Range(1, 3e9).Draw(t, "below")
		value := rapid.Int64Range(-5e9, 5e9).Draw(t, "value")
		lower := rapid.Int64Range(-5e9, 5e9).Draw(t, "lower")
		upper := rapid.Int64Range(lower, 6e9).Draw(t, "upper")
		limits := rapid.SampledFrom([]Limits{AtMost(upper), AtLeast(lower), Within(lower, upper)}).Draw(t, "limits")
		percent := rapid.IntRange(1, 1000).Draw(t, "percent")
		x := Reading{Value: value, Standard: u, Low: value - down, High: value + up}

		simple := Simple().Decide(x, limits)
		guarded := Rule{GuardedAcceptance, percent}.Decide(x, limits)
		reject := Rule{GuardedRejection, percent}.Decide(x, limits)
		four := Rule{FourWay, percent}.Decide(x, limits)

		// The rules only get stricter, and the four-way form says what the others do.
		if guarded.Decision == Pass {
			require.Equal(t, Pass, simple.Decision)
		}
		if simple.Decision == Pass {
			require.Equal(t, Pass, reject.Decision)
		}
		require.Equal(t, guarded.Decision == Pass, four.Decision == Pass)
		require.Equal(t, simple.Decision == Pass, four.Decision <= ConditionalPass)
		require.Equal(t, reject.Decision == Fail, four.Decision == Fail)

		for _, r := range []Outcome{simple, guarded, reject, four} {
			low, high, ok := r.Rule.PassZone(x, limits)
			require.Equal(t, r.Decision == Pass, ok && low <= value && value <= high, "the zone is what is passed")
			if r.Decision == Pass {
				require.LessOrEqual(t, r.BrokenMillionths, r.MostMillionths+1)
			}
			require.GreaterOrEqual(t, r.BrokenMillionths, int64(0))
			require.Equal(t, simple.BrokenMillionths, r.BrokenMillionths, "the risk hangs on the reading, not on the rule")

			// The nearer to the middle, the better: no decision gets worse by moving away from the limit.
			nearer := x
			step := rapid.Int64Range(0, 1e9).Draw(t, "step")
			if limits.HasUpper && !limits.HasLower {
				nearer.Value, nearer.Low, nearer.High = x.Value-step, x.Low-step, x.High-step
				o := r.Rule.Decide(nearer, limits)
				require.LessOrEqual(t, o.Decision, r.Decision)
				require.LessOrEqual(t, o.BrokenMillionths, r.BrokenMillionths)
			}
		}
		// What is mirrored is decided alike.
		m := Reading{Value: -value, Standard: u, Low: -x.High, High: -x.Low}
		ml := Limits{HasLower: limits.HasUpper, HasUpper: limits.HasLower, Lower: -limits.Upper, Upper: -limits.Lower}
		require.Equal(t, four.Decision, Rule{FourWay, percent}.Decide(m, ml).Decision)
	})
}

// A symmetric interval keeps the guarded rule's promise for a quantity whose
// shortest interval leaves out the whole 5 % on the side of the limit.
func TestLopsidedQuantityKeepsTheRisk(t *testing.T) {
	b := Budget{
		Quantity: "square", Unit: "1",
		Inputs: []Input{{Name: "a", Distribution: Normal, Standard: 1000}, {Name: "b", Distribution: Normal, Standard: 1000}},
		Model:  func(x []float64) float64 { return x[0]*x[0] + x[1]*x[1] },
	}
	e, err := b.Evaluate(Simulation{Seed: 9, Draws: 200_000})
	require.NoError(t, err)
	x, err := e.Reading()
	require.NoError(t, err)
	limit := AtMost(x.Value + (x.High - x.Value)) // just at the acceptance limit
	o := Guarded().Decide(x, limit)
	assert.Equal(t, Pass, o.Decision)
	assert.LessOrEqual(t, o.BrokenMillionths, int64(25_000), "told by the draws")
	assert.InDelta(t, 25_000, float64(o.BrokenMillionths), 1500)
	assert.InDelta(t, 0.05, e.Simulated.Outside(math.Inf(-1), e.Simulated.Shortest.High), 0.005, "the shortest would risk twice that")
}

func TestTextsForACertificate(t *testing.T) {
	for rule, want := range map[Rule]string{
		Simple():                    "up to 50 %",
		Guarded():                   "w = U, where U is the expanded uncertainty for a coverage of 95 %, else failed. The risk that a passed value breaks the limit is at most 2.5 %",
		RejectOnlySure():            "The risk that a failed value keeps the limit is at most 2.5 %; a passed value may break it, with a probability of up to 97.5 %",
		InFourWays():                "conditional pass if it keeps it by less",
		{GuardedAcceptance, 83}:     "w = 0.83 U",
		{GuardedAcceptance, 83 + 2}: "w = 0.85 U",
		{}:                          "nothing is decided",
	} {
		assert.Contains(t, rule.Text(0.95), want)
	}
	assert.Contains(t, Guarded().Text(0.9545), "coverage of 95.45 %, else failed. The risk that a passed value breaks the limit is at most 2.28 %")
	assert.Contains(t, Guarded().Text(0), "nothing is decided")
	assert.Equal(t, "guarded acceptance, w = 0.83 U", Rule{GuardedAcceptance, 83}.String())
	assert.Equal(t, "simple acceptance", Simple().String())
	assert.Equal(t, "no decision rule", Rule{}.String())
	o := InFourWays().Decide(Plain(1990, 10, 20), AtMost(2000))
	assert.Equal(t, "conditional pass: reads within the limit, by less than the guard band; probability that the limit is broken 15.87 %", o.Text())
	assert.Equal(t, int64(158_655), o.BrokenMillionths)
	assert.Contains(t, Simple().Decide(Reading{}, AtMost(1)).Text(), "not decided: ")
	for millionths, want := range map[int64]string{
		0: "under 0.0001 %", -1: "under 0.0001 %", 1: "0.0001 %", 1350: "0.135 %", 22_750: "2.28 %", 158_655: "15.87 %",
		500_000: "50 %", 999_999: "99.9999 %", 999_990: "99.999 %", 1_000_000: "over 99.9999 %", 100: "0.01 %",
	} {
		assert.Equal(t, want, Percent(millionths))
	}
}

func TestNamesInJSON(t *testing.T) {
	type all struct {
		D Distribution
		K RuleKind
		M Method
		R DofRounding
		V Decision
	}
	in := all{Trapezoid, FourWay, ByMonteCarlo, AsComputed, ConditionalPass}
	text, err := json.Marshal(in)
	require.NoError(t, err)
	assert.Equal(t, `{"D":"trapezoid","K":"four-way","M":"monte-carlo","R":"as-computed","V":"conditional-pass"}`, string(text))
	var back all
	require.NoError(t, json.Unmarshal(text, &back))
	assert.Equal(t, in, back)
	for _, bad := range []string{`{"D":"flat"}`, `{"K":"lenient"}`, `{"M":"guess"}`, `{"R":"up"}`, `{"V":"maybe"}`} {
		require.ErrorContains(t, json.Unmarshal([]byte(bad), &back), "there is none named")
	}
	assert.Equal(t, "99?", Decision(99).String())
}

func TestBudgetSurvivesJSON(t *testing.T) {
	b := *NewDuration("stop time", signal.Span{Early: 10, Late: 30}, signal.Span{Early: 150 * ms, Late: 160 * ms}, "recorded")
	b.Add(Delay("latency", 0, 16*ms, "bridge"), Input{Name: "repeat", Distribution: Normal, Standard: 3, Dof: 4, Sensitivity: 1})
	b.Correlations = []Correlation{{"start", "end", 0.1}}
	text, err := json.Marshal(b)
	require.NoError(t, err)
	var back Budget
	require.NoError(t, json.Unmarshal(text, &back))
	assert.Equal(t, linear(t, b), linear(t, back))
	result, err := json.Marshal(linear(t, b))
	require.NoError(t, err)
	var again Linear
	require.NoError(t, json.Unmarshal(result, &again))
	assert.Equal(t, linear(t, b), again)
	assert.False(t, strings.Contains(string(text), "Model"))
}
