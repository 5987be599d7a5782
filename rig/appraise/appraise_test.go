package appraise_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	. "pintle/rig/appraise"
	"pintle/rig/motion"
	"pintle/rig/rule"
	"pintle/rig/signal"
	"pintle/rig/uncertainty"
)

const ms = int64(time.Millisecond)

func means() Means {
	return Means{Interval: 20 * time.Millisecond, Window: 20 * time.Millisecond, Least: 2 * time.Millisecond, Most: 4 * time.Millisecond,
		Bridge: 16 * time.Millisecond, Swing: time.Millisecond, Noise: 20_000, Resolution: 10_000, Gain: 10_000, Zero: 5_000, Clock: 50,
		Motion: motion.Thresholds{Runs: 1_500_000, Stops: signal.Ampere, Settle: 20 * time.Millisecond}}
}

func trialOf(t require.TestingT, m Means, d Decision) *Trial {
	a, err := New(m, d)
	require.NoError(t, err)
	return a.Trial()
}

// stop is a closing motor of 7.5 A that stops within a span that begins at 100 ms.
func stop(m Means) motion.Change {
	width := m.Interval + m.Window + m.Most - m.Least + m.Bridge
	return motion.Change{Was: motion.Closing, Is: motion.Stopped, Before: -7_500_000, Levels: true, Readings: 1,
		Span: signal.Span{Early: signal.Instant(100 * ms), Late: signal.Instant(100*ms + int64(width))}}
}

func find(lines []rule.BudgetLine, id SourceID) (rule.BudgetLine, bool) {
	for _, l := range lines {
		if l.Source == uint8(id) {
			return l, true
		}
	}
	return rule.BudgetLine{}, false
}

// The budget of a stop time, line by line and worked out by hand: an edge known to
// 0.2 ms, 20 ms of interval, a window in which 1 A of 7.5 A is crossed at a share of
// 1/7.5, 2 ms of wavering delay, a bridge of 16 ms, and 50 millionths
// of the next power of two, since the value may be beyond the limit.
func TestBudgetOfAStopTime(t *testing.T) {
	m := means()
	trial := trialOf(t, m, Decision{})
	c := stop(m)
	trial.Motor(c)
	from := signal.Span{Early: 0, Late: 200_000}
	r := &rule.Rule{Name: "stop", Pattern: rule.BoundedResponse, Limit: 130 * time.Millisecond}
	f := rule.Finding{Measured: true, ByValue: true, Unit: rule.Nanoseconds, Sense: rule.AtMost, Limit: 130 * ms,
		Value:   rule.Interval{Least: int64(c.Span.Early) - 200_000, Most: int64(c.Span.Late)},
		Decided: []signal.Span{from, c.Span}}
	trial.Appraise(r, &f)
	require.NotNil(t, f.Appraisal)
	a := f.Appraisal
	share := 1 / 7.5
	for _, want := range []struct {
		id           SourceID
		shift, width float64 // ms
	}{
		{EdgeStart, 0, 0.1}, {LookEnd, 0, 10}, {WindowEnd, (share - 0.5) * 20, 0.2 * share * 20},
		{NoiseEnd, 0, 0.02 / 7.5 * 20}, {DelayEnd, 0, 1}, {BridgeEnd, 0, 8}, {SwingEnd, 0.5, 0.5},
		{ClockRate, 0, 50e-6 * math.Exp2(28) / 1e6},
	} {
		l, is := find(a.Lines, want.id)
		require.True(t, is, "line %v of %+v", want.id, a.Lines)
		assert.InDelta(t, want.shift, float64(l.Shift)/1e6, 1e-3, "shift of %v", want.id)
		assert.InDelta(t, want.width, float64(l.Width)/1e6, 1e-3, "width of %v", want.id)
	}
	assert.Len(t, a.Lines, 8)
	middle := (float64(f.Value.Least)+float64(f.Value.Most))/2e6 + (share-0.5)*20 + 0.5
	assert.InDelta(t, middle, float64(a.Value)/1e6, 1e-3)
	// JCGM 100:2008, 5.1.2: the root of the sum of the squares.
	u := math.Sqrt((0.1*0.1+10*10+math.Pow(0.2*share*20, 2)+1+8*8+0.25+math.Pow(0.0134, 2))/3 + math.Pow(0.02/7.5*20, 2))
	assert.InEpsilon(t, u, float64(a.Standard)/1e6, 0.03, "rounded up, never down")
	assert.GreaterOrEqual(t, float64(a.Standard)/1e6, u*0.999)
	assert.Equal(t, "conditional-pass", a.Decision)
	assert.Contains(t, f.Reason, "conditional pass")
}

// What the limit is broken by for certain is said to be so, whatever the rule.
func TestBeyond(t *testing.T) {
	for _, rl := range []uncertainty.Rule{uncertainty.Simple(), uncertainty.Guarded(), uncertainty.RejectOnlySure(), uncertainty.InFourWays()} {
		trial := trialOf(t, means(), Decision{Rule: rl})
		r := &rule.Rule{Name: "run", Pattern: rule.MaximumDuration, Limit: time.Second}
		m := rule.Measured{Rule: r, Value: rule.Interval{Least: 1e9 + 1, Most: 1e9 + 1}, Limit: 1e9, Sense: rule.AtMost,
			Decided: [2]signal.Span{{Early: 0, Late: 5}, signal.At(1e9 + 6)}}
		assert.Equal(t, rule.Fail, trial.Judge(m), rl)
		f := rule.Finding{Measured: true, Unit: rule.Nanoseconds, Sense: rule.AtMost, Limit: 1e9, Value: m.Value, Decided: m.Decided[:]}
		trial.Appraise(r, &f)
		require.NotNil(t, f.Appraisal)
		assert.Equal(t, int64(1_000_000), f.Appraisal.Broken)
		assert.Equal(t, "more than 1 s", f.ValueText())
	}
}

// What is certain while a trial goes on is what the whole budget says in the end, for
// every rule and on both sides of the limit; what is not certain is never said.
func TestWhatIsCertainStays(t *testing.T) {
	rules := []uncertainty.Rule{uncertainty.Simple(), uncertainty.Guarded(), uncertainty.RejectOnlySure(), uncertainty.InFourWays(),
		{Kind: uncertainty.GuardedAcceptance, GuardPercent: 300}, {Kind: uncertainty.FourWay, GuardPercent: 83}}
	trials := make([]*Trial, len(rules))
	for i, rl := range rules {
		trials[i] = trialOf(t, means(), Decision{Rule: rl})
	}
	rapid.Check(t, func(t *rapid.T) {
		trial := trials[rapid.IntRange(0, len(rules)-1).Draw(t, "rule")]
		pattern := rapid.SampledFrom([]rule.Pattern{rule.BoundedResponse, rule.MinimumDuration, rule.CurrentUnder, rule.AverageOver, rule.ThermalLoad}).Draw(t, "pattern")
		sense := rule.AtMost
		if pattern == rule.MinimumDuration || pattern == rule.AverageOver {
			sense = rule.AtLeast
		}
		c := stop(means())
		trial.Reset()
		trial.Motor(c)
		limit := int64(200 * ms)
		off := rapid.Int64Range(-100*ms, 100*ms).Draw(t, "off")
		f := rule.Finding{Measured: true, Sense: sense, Unit: rule.UnitOf(pattern), Limit: limit}
		m := rule.Measured{Rule: &rule.Rule{Name: "r", Pattern: pattern}, Sense: sense, Limit: limit}
		switch f.Unit {
		case rule.Nanoseconds:
			from := signal.Span{Early: c.Span.Early - signal.Instant(limit+off), Late: c.Span.Early - signal.Instant(limit+off) + 1000}
			m.Decided = [2]signal.Span{from, c.Span}
			m.Value = rule.Interval{Least: int64(c.Span.Early - from.Late), Most: int64(c.Span.Late - from.Early)}
		default:
			m.Limit, off = 5_000_000, off/50
			m.Value = rule.Interval{Least: 5_000_000 + off, Most: 5_000_000 + off}
		}
		f.Value, f.Limit, f.Decided = m.Value, m.Limit, m.Decided[:]
		early := trial.Judge(m)
		f.Verdict, f.ByValue = early, true
		trial.Appraise(m.Rule, &f)
		require.NotNil(t, f.Appraisal)
		want := map[string]rule.Verdict{"pass": rule.Pass, "fail": rule.Fail}[f.Appraisal.Decision]
		if want == rule.Unsettled {
			want = rule.Inconclusive
		}
		require.Equal(t, want, f.Verdict, "%+v %+v", f.Appraisal, m)
		if early != rule.Inconclusive {
			require.Equal(t, early, f.Verdict, "%+v %+v", f.Appraisal, m)
		}
		doubtful := f
		doubtful.Verdict, doubtful.ByValue = rule.Inconclusive, false
		trial.Appraise(m.Rule, &doubtful)
		require.Equal(t, rule.Inconclusive, doubtful.Verdict, "an order that cannot be told is not mended by a value")
		require.True(t, f.Appraisal.Low <= f.Appraisal.Value && f.Appraisal.Value <= f.Appraisal.High)
		if f.Unit == rule.Nanoseconds {
			require.GreaterOrEqual(t, f.Appraisal.Value, m.Value.Least, "the estimate lies within what is possible")
			require.LessOrEqual(t, f.Appraisal.Value, m.Value.Most)
		}
	})
}

// Far from the limit there is no need to wait for the budget, on either side and in both
// senses, and at the limit there is.
func TestOnlyWhatIsFarFromItsLimitIsCertainAtOnce(t *testing.T) {
	trial := trialOf(t, means(), Decision{})
	for _, c := range []struct {
		value         int64
		most, atLeast rule.Verdict
	}{
		{3_000_000, rule.Pass, rule.Fail}, {4_990_000, rule.Inconclusive, rule.Inconclusive}, {5_000_000, rule.Inconclusive, rule.Inconclusive},
		{5_010_000, rule.Inconclusive, rule.Inconclusive}, {7_000_000, rule.Fail, rule.Pass},
	} {
		m := rule.Measured{Rule: &rule.Rule{Pattern: rule.CurrentUnder}, Value: rule.Interval{Least: c.value, Most: c.value}, Limit: 5_000_000, Sense: rule.AtMost}
		assert.Equal(t, c.most, trial.Judge(m), "%d at most", c.value)
		m.Rule, m.Sense = &rule.Rule{Pattern: rule.AverageOver}, rule.AtLeast
		assert.Equal(t, c.atLeast, trial.Judge(m), "%d at least", c.value)
	}
}

// Of two open values the one that is better known can be the worse: a time read from 0.80
// to 1.00 s and one from 0.990 to 0.998 s, against a limit of 0.996 s. The first reaches
// farther and would pass; the rule must not.
func TestEveryOpenValueIsJudged(t *testing.T) {
	m := means()
	trial := trialOf(t, m, Decision{Rule: uncertainty.Guarded()})
	trial.Motor(stop(m))
	at := func(early, late int64) signal.Span {
		return signal.Span{Early: signal.Instant(early * ms), Late: signal.Instant(late * ms)}
	}
	wide := rule.Occurrence{Value: rule.Interval{Least: 800 * ms, Most: 1000 * ms}, Decided: [2]signal.Span{at(0, 0), at(800, 1000)}}
	sharp := rule.Occurrence{Value: rule.Interval{Least: 990 * ms, Most: 998 * ms}, Decided: [2]signal.Span{at(0, 0), at(990, 998)}}
	r := &rule.Rule{Name: "stop", Pattern: rule.BoundedResponse, Limit: 1000 * time.Millisecond}
	for _, opens := range [][]rule.Occurrence{{wide, sharp}, {sharp, wide}} {
		f := rule.Finding{Measured: true, ByValue: true, Verdict: rule.Inconclusive, Unit: rule.Nanoseconds, Sense: rule.AtMost, Limit: 996 * ms,
			Value: wide.Value, Decided: wide.Decided[:], Open: opens}
		trial.Appraise(r, &f)
		assert.Equal(t, rule.Fail, f.Verdict)
		assert.Equal(t, sharp.Value, f.Value, "it tells the one that decided")
		f.Verdict, f.ByValue, f.Open = rule.Inconclusive, true, opens[:1]
		f.Value, f.Decided = wide.Value, wide.Decided[:]
		f.Open = []rule.Occurrence{wide}
		trial.Appraise(r, &f)
		assert.Equal(t, rule.Pass, f.Verdict, "by itself the first one passes")
	}
}

// With only a fifth of the window before a step from 10 A to nothing the mean is 2 A,
// a threshold that is then just reached; the other way round it is 8 A.
func TestCrossingHangsOnTheLevels(t *testing.T) {
	for _, c := range []struct {
		name          string
		change        motion.Change
		share, spread float64 // of the window
	}{
		{"stop", motion.Change{Was: motion.Opening, Is: motion.Stopped, Before: 10_000_000, Levels: true}, 0.1, 0.02},
		{"start", motion.Change{Was: motion.Stopped, Is: motion.Opening, After: 10_000_000, Levels: true}, 0.85, 0.03},
		{"braked", motion.Change{Was: motion.Closing, Is: motion.Stopped, Before: -10_000_000, After: 10_000_000, Levels: true}, 0.55, 0.09},
		{"levels not known", motion.Change{Was: motion.Opening, Is: motion.Stopped}, 0.5, 0.5},
		{"start the other way", motion.Change{Was: motion.Stopped, Is: motion.Closing, After: -10_000_000, Levels: true}, 0.85, 0.03},
		{"levels told by none", motion.Change{Was: motion.Opening, Is: motion.Stopped, Before: 10_000_000}, 0.5, 0.5},
		{"the same level", motion.Change{Was: motion.Opening, Is: motion.Stopped, Before: 1_000_000, After: 1_000_000, Levels: true}, 0.5, 0.5},
		{"a level beyond the other", motion.Change{Was: motion.Opening, Is: motion.Stopped, Before: 10_000_000, After: 1_000_001, Levels: true}, 0.5, 0.5},
		{"levels that cannot be", motion.Change{Was: motion.Opening, Is: motion.Stopped, Before: 500_000, Levels: true}, 0.5, 0.5},
	} {
		m := means()
		m.Swing, m.Noise, m.Bridge = 0, 0, 0
		trial := trialOf(t, m, Decision{})
		ch := c.change
		ch.Readings, ch.Span = 1, stop(m).Span
		trial.Motor(ch)
		f := rule.Finding{Measured: true, Unit: rule.Nanoseconds, Sense: rule.AtMost, Limit: 500 * ms,
			Value: rule.Interval{Least: int64(ch.Span.Early), Most: int64(ch.Span.Late)}, Decided: []signal.Span{signal.At(0), ch.Span}}
		trial.Appraise(&rule.Rule{Name: "x", Pattern: rule.BoundedResponse}, &f)
		l, is := find(f.Appraisal.Lines, WindowEnd)
		require.True(t, is, c.name)
		assert.InDelta(t, (c.share-0.5)*20, float64(l.Shift)/1e6, 1e-3, c.name)
		assert.InDelta(t, c.spread*20, float64(l.Width)/1e6, 1e-3, c.name)
	}
}

// What is known exactly needs no budget: it is judged as it stands, at the limit and
// a tick beyond.
func TestExact(t *testing.T) {
	trial := trialOf(t, means(), Decision{})
	for _, c := range []struct {
		value int64
		want  rule.Verdict
	}{{3, rule.Pass}, {4, rule.Fail}} {
		assert.Equal(t, c.want, trial.Judge(rule.Measured{Rule: &rule.Rule{Pattern: rule.BoundedExistence},
			Value: rule.Interval{Least: c.value, Most: c.value}, Limit: 3, Sense: rule.AtMost}))
	}
	at := signal.Span{Early: 5, Late: 500}
	assert.Equal(t, rule.Fail, trial.Judge(rule.Measured{Rule: &rule.Rule{Pattern: rule.BoundedInvariance}, Limit: 10, Sense: rule.AtLeast,
		Decided: [2]signal.Span{at, at}}), "no time at all from one instant to the same")
}

func TestMistakesInMeansAndDecision(t *testing.T) {
	m := Means{Least: 2, Most: 1, Noise: -1, Gain: 600_000}
	_, err := New(m, Decision{Rule: uncertainty.Rule{Kind: uncertainty.SimpleAcceptance, GuardPercent: 3}, Coverage: 2})
	for _, want := range []string{"interval is 0s", "least delay of 2ns", "noise is less than nothing", "measures nothing", "no guard band", "coverage probability of 2"} {
		require.ErrorContains(t, err, want)
	}
	require.NoError(t, Decision{}.Check())
	assert.Equal(t, "four-way statement, w = U", Decision{}.Name())
	assert.Contains(t, Decision{}.Text(), "inconclusive")
}

// Every source is where its number says, and tells what it assumes.
func TestSources(t *testing.T) {
	for i, s := range Sources {
		assert.Equal(t, SourceID(i+1), s.ID, s.Name)
		assert.NotEmpty(t, s.Name)
		assert.NotEmpty(t, s.Assumes)
		assert.NotEmpty(t, s.Remedy, s.Name)
		assert.Contains(t, []uncertainty.Distribution{uncertainty.Rectangular, uncertainty.Normal}, s.Distribution)
	}
}
