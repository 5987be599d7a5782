package appraise_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	. "pintle/rig/appraise"
	"pintle/rig/motion"
	"pintle/rig/rule"
	"pintle/rig/signal"
	"pintle/rig/uncertainty"
)

// appraised is a value that is all its own, appraised.
func appraised(t *testing.T, d Decision, r *rule.Rule, v rule.Interval, limit int64, sense rule.Sense) rule.Finding {
	f := rule.Finding{Measured: true, ByValue: true, Verdict: rule.Inconclusive, Unit: rule.UnitOf(r.Pattern), Sense: sense, Limit: limit, Value: v,
		Open: []rule.Occurrence{{Value: v, Reading: true}}}
	trialOf(t, means(), d).Appraise(r, &f)
	return f
}

// The lines of a reading's budget, worked out by hand: the bench file's noise, less in a
// mean of several readings, half a step, one per cent of what was read or of the limit,
// whichever is more, and the zero.
func TestBudgetOfACurrent(t *testing.T) {
	line := func(id SourceID, width int64) rule.BudgetLine {
		return rule.BudgetLine{Source: uint8(id), Width: width}
	}
	for _, c := range []struct {
		name         string
		pattern      rule.Pattern
		window       time.Duration
		value, limit int64
		noise, gain  int64
	}{
		{"a reading", rule.CurrentUnder, 0, 5_000_000, 5_000_000, 20_000, 50_000},
		{"under the limit", rule.CurrentUnder, 0, 1_000_000, 5_000_000, 20_000, 50_000},
		{"above it, to the next power of two", rule.CurrentUnder, 0, 5_000_001, 5_000_000, 20_000, 83_887},
		{"a power of two", rule.CurrentUnder, 0, 1 << 23, 5_000_000, 20_000, 83_887},
		{"the other way", rule.CurrentUnder, 0, -1 << 23, 5_000_000, 20_000, 83_887},
		{"a mean of one", rule.AverageUnder, 20 * time.Millisecond, 5_000_000, 5_000_000, 20_000, 50_000},
		{"a mean of four", rule.AverageUnder, 80 * time.Millisecond, 5_000_000, 5_000_000, 10_000, 50_000},
		{"a mean of four, begun a fifth", rule.AverageUnder, 99 * time.Millisecond, 5_000_000, 5_000_000, 10_000, 50_000},
	} {
		f := appraised(t, Decision{}, &rule.Rule{Name: "i", Pattern: c.pattern, Window: c.window}, rule.Interval{Least: c.value, Most: c.value}, c.limit, rule.AtMost)
		require.NotNil(t, f.Appraisal, c.name)
		assert.Equal(t, []rule.BudgetLine{line(ReadNoise, c.noise), line(ReadStep, 5_000), line(ReadGain, c.gain), line(ReadZero, 5_000)}, f.Appraisal.Lines, c.name)
		assert.Equal(t, c.value, f.Appraisal.Value, c.name)
	}
	f := appraised(t, Decision{}, &rule.Rule{Name: "load", Pattern: rule.ThermalLoad}, rule.Interval{Least: 900_000, Most: 960_000}, 1_000_000, rule.AtMost)
	require.NotNil(t, f.Appraisal)
	assert.Equal(t, []rule.BudgetLine{line(ReadGain, 20_000), line(LoadBounds, 30_000)}, f.Appraisal.Lines, "a load goes with the square of the current")
}

// The reasons of verdicts that rest on a value alone.
func TestReasonsOfWhatRestsOnAValue(t *testing.T) {
	r := &rule.Rule{Name: "i", Pattern: rule.CurrentUnder}
	for value, want := range map[int64]struct {
		verdict rule.Verdict
		reason  string
	}{
		3_000_000: {rule.Pass, ""},
		4_999_999: {rule.Inconclusive, "conditional pass: "},
		5_000_000: {rule.Inconclusive, "conditional pass: "},
		5_000_001: {rule.Inconclusive, "conditional fail: "},
		7_000_000: {rule.Fail, "where it must be "},
	} {
		f := appraised(t, Decision{}, r, rule.Interval{Least: value, Most: value}, 5_000_000, rule.AtMost)
		assert.Equal(t, want.verdict, f.Verdict, "%d", value)
		if want.reason == "" {
			assert.Empty(t, f.Reason)
			continue
		}
		assert.Contains(t, f.Reason, want.reason, "%d", value)
		assert.Equal(t, want.verdict == rule.Fail, f.Reason[:11] != "conditional", "%d: %s", value, f.Reason)
		kept := f
		kept.Verdict, kept.ByValue, kept.Reason = rule.Inconclusive, false, "an order"
		trialOf(t, means(), Decision{}).Appraise(r, &kept)
		assert.Equal(t, rule.Inconclusive, kept.Verdict)
		assert.Equal(t, "an order", kept.Reason, "a verdict that does not rest on its value keeps its reason")
	}
}

// What cannot be appraised is inconclusive, and never what it was or what another value of
// it would be.
func TestWhatCannotBeAppraisedIsInconclusive(t *testing.T) {
	const vast = 1 << 53 // units, more than a reading counts
	r := &rule.Rule{Name: "i", Pattern: rule.CurrentUnder}
	at := func(v int64) rule.Occurrence {
		return rule.Occurrence{Value: rule.Interval{Least: v, Most: v}, Reading: true}
	}
	for name, c := range map[string]struct {
		was  rule.Verdict
		told rule.Occurrence
		open []rule.Occurrence
	}{
		"passed":               {rule.Pass, at(vast), nil},
		"failed":               {rule.Fail, at(vast), nil},
		"open":                 {rule.Inconclusive, at(vast), []rule.Occurrence{at(vast)}},
		"open, after another":  {rule.Inconclusive, at(3), []rule.Occurrence{at(3), at(vast)}},
		"open, before another": {rule.Inconclusive, at(3), []rule.Occurrence{at(vast), at(3)}},
	} {
		f := rule.Finding{Measured: true, ByValue: true, Verdict: c.was, Unit: rule.Microamperes, Sense: rule.AtMost, Limit: 5_000_000, Value: c.told.Value, Open: c.open}
		trialOf(t, means(), Decision{}).Appraise(r, &f)
		assert.Equal(t, rule.Inconclusive, f.Verdict, name)
		if c.told == at(vast) {
			assert.Nil(t, f.Appraisal, name)
			assert.NotEmpty(t, f.Reason, name)
		}
	}
}

// Of open values that come to the same decision the one that is likelier to break the
// limit is told, in whichever order they came; of equals the first.
func TestTheLikeliestToBreakIsTold(t *testing.T) {
	r := &rule.Rule{Name: "i", Pattern: rule.CurrentUnder}
	near, nearer := rule.Interval{Least: 4_960_000, Most: 4_960_000}, rule.Interval{Least: 4_990_000, Most: 4_990_000}
	over := rule.Interval{Least: 5_000_001, Most: 5_000_001}
	for _, c := range []struct {
		open []rule.Interval
		want rule.Interval
	}{
		{[]rule.Interval{near, nearer}, nearer}, {[]rule.Interval{nearer, near}, nearer}, {[]rule.Interval{near, over, nearer}, over}, {[]rule.Interval{over, near}, over},
	} {
		f := rule.Finding{Measured: true, ByValue: true, Verdict: rule.Inconclusive, Unit: rule.Microamperes, Sense: rule.AtMost, Limit: 5_000_000, Value: c.open[0]}
		for _, v := range c.open {
			f.Open = append(f.Open, rule.Occurrence{Value: v, Reading: true})
		}
		trialOf(t, means(), Decision{}).Appraise(r, &f)
		assert.Equal(t, c.want, f.Value, "%v", c.open)
		assert.Equal(t, rule.Inconclusive, f.Verdict)
	}
	first, second := signal.At(1), signal.At(2)
	f := rule.Finding{Measured: true, ByValue: true, Verdict: rule.Inconclusive, Unit: rule.Microamperes, Sense: rule.AtMost, Limit: 5_000_000, Value: near}
	f.Open = []rule.Occurrence{{Value: near, Decided: [2]signal.Span{first, first}, Reading: true}, {Value: near, Decided: [2]signal.Span{second, second}, Reading: true}}
	trialOf(t, means(), Decision{}).Appraise(r, &f)
	assert.Equal(t, []signal.Span{first, first}, f.Decided)
}

// Readings that lie farther apart than interval, window and delays explain were really so,
// and each that was neither the old state nor the new adds an interval.
func TestLookIsNoNarrowerThanTheReadings(t *testing.T) {
	for _, c := range []struct {
		width    time.Duration
		readings int
		want     float64 // ms, half of it
	}{
		{58 * time.Millisecond, 1, 10}, {76 * time.Millisecond, 1, 10}, {78 * time.Millisecond, 1, 11}, {100 * time.Millisecond, 1, 22},
		{58 * time.Millisecond, 0, 10}, {58 * time.Millisecond, 3, 30}, {200 * time.Millisecond, 3, 72},
	} {
		trial := trialOf(t, means(), Decision{Rule: uncertainty.Guarded()})
		ch := stop(means())
		ch.Readings, ch.Span.Late = c.readings, ch.Span.Early.Add(c.width)
		trial.Motor(ch)
		f := rule.Finding{Measured: true, Unit: rule.Nanoseconds, Sense: rule.AtMost, Limit: 500 * ms,
			Value: rule.Interval{Least: int64(ch.Span.Early), Most: int64(ch.Span.Late)}, Decided: []signal.Span{signal.At(0), ch.Span}}
		trial.Appraise(&rule.Rule{Name: "x", Pattern: rule.BoundedResponse}, &f)
		l, is := find(f.Appraisal.Lines, LookEnd)
		require.True(t, is)
		assert.InDelta(t, c.want, float64(l.Width)/1e6, 1e-3, "%v, %d readings", c.width, c.readings)
		l, is = find(f.Appraisal.Lines, SwingEnd)
		require.True(t, is)
		assert.Equal(t, int64(500_000), l.Shift, "a falling current crosses later than a step")
	}
	trial := trialOf(t, means(), Decision{})
	ch := motion.Change{Was: motion.Stopped, Is: motion.Closing, After: -10 * signal.Ampere, Levels: true, Readings: 1, Span: stop(means()).Span}
	trial.Motor(ch)
	f := rule.Finding{Measured: true, Unit: rule.Nanoseconds, Sense: rule.AtMost, Limit: 500 * ms,
		Value: rule.Interval{Least: int64(ch.Span.Early), Most: int64(ch.Span.Late)}, Decided: []signal.Span{signal.At(0), ch.Span}}
	trial.Appraise(&rule.Rule{Name: "x", Pattern: rule.BoundedResponse}, &f)
	l, is := find(f.Appraisal.Lines, SwingEnd)
	require.True(t, is)
	assert.Equal(t, int64(-500_000), l.Shift, "a rising one sooner")
}
