package appraise_test

import (
	"math"
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

func appraiserOf(t *testing.T, d Decision) *Appraiser {
	a, err := New(means(), d)
	require.NoError(t, err)
	return a
}

func found(vs ...rule.Verdict) (all []rule.Finding) {
	for _, v := range vs {
		all = append(all, rule.Finding{Verdict: v, Reason: v.String()})
	}
	return all
}

// A verdict stands only where all the rules that a rule may be in truth come to the same,
// whichever of them it is that does not.
func TestAgreeOnlyWhereAllDo(t *testing.T) {
	const pass, fail, open = rule.Pass, rule.Fail, rule.Inconclusive
	for _, c := range []struct {
		own    rule.Verdict
		others []rule.Verdict
		want   rule.Verdict
	}{
		{pass, nil, pass}, {pass, []rule.Verdict{pass, pass}, pass}, {fail, []rule.Verdict{fail, fail}, fail},
		{pass, []rule.Verdict{fail, pass}, open}, {pass, []rule.Verdict{pass, fail}, open}, {pass, []rule.Verdict{open, pass}, open},
		{pass, []rule.Verdict{pass, open}, open}, {pass, []rule.Verdict{rule.Unsettled, pass}, open},
		{fail, []rule.Verdict{pass, fail}, open}, {fail, []rule.Verdict{fail, open}, open},
		{open, []rule.Verdict{pass, pass}, open}, {open, []rule.Verdict{fail, pass}, open}, {rule.Unsettled, []rule.Verdict{pass, fail}, rule.Unsettled},
	} {
		f := found(c.own)[0]
		f.ByValue = true
		appraiserOf(t, Decision{}).Agree(&f, found(c.others...))
		assert.Equal(t, c.want, f.Verdict, "%v beside %v", c.own, c.others)
		if taken := f.Verdict != c.own; taken {
			assert.Contains(t, f.Reason, "the measurement cannot tell")
		} else {
			assert.Equal(t, c.own.String(), f.Reason, "%v beside %v", c.own, c.others)
		}
		assert.Equal(t, f.Verdict == c.own, f.ByValue)
		simple := found(c.own)[0]
		appraiserOf(t, Decision{Rule: uncertainty.Simple()}).Agree(&simple, found(c.others...))
		assert.Equal(t, c.own, simple.Verdict, "simple acceptance keeps no guard band")
	}
}

// What was measured is told beside a verdict that does not stand where all of them measured
// it, with the name of the decision that it would have been.
func TestAgreeOfWhatWasMeasured(t *testing.T) {
	for own, decision := range map[rule.Verdict]string{rule.Pass: "conditional-pass", rule.Fail: "conditional-fail"} {
		other := rule.Fail
		if own == rule.Fail {
			other = rule.Pass
		}
		for _, all := range []bool{true, false} {
			f := rule.Finding{Verdict: own, Measured: true, Value: rule.Interval{Least: 4, Most: 6}, Appraisal: &rule.Appraisal{Value: 5, Low: 3, High: 7}}
			others := []rule.Finding{f, f}
			others[0].Verdict, others[0].Measured = other, all
			appraiserOf(t, Decision{}).Agree(&f, others)
			assert.Equal(t, rule.Inconclusive, f.Verdict)
			assert.Equal(t, all, f.Measured)
			if !all {
				assert.Zero(t, f.Value)
				assert.Nil(t, f.Appraisal)
				continue
			}
			assert.Equal(t, decision, f.Appraisal.Decision)
		}
	}
}

// A value is known no better than that those of all the others are possible.
func TestAgreeWidensTheValue(t *testing.T) {
	finding := func(least, most int64, a *rule.Appraisal) rule.Finding {
		return rule.Finding{Verdict: rule.Pass, Measured: true, Value: rule.Interval{Least: least, Most: most}, Appraisal: a}
	}
	own := &rule.Appraisal{Value: 105, Standard: 3, Low: 99, High: 111, Broken: 5, Lines: []rule.BudgetLine{{Source: 1, Width: 2}}}
	less := finding(90, 100, &rule.Appraisal{Value: 95, Standard: 4, Low: 88, High: 101, Broken: 2})
	more := finding(110, 130, &rule.Appraisal{Value: 120, Standard: 2, Low: 108, High: 133, Broken: 9})
	unmeasured := finding(-1000, 1000, nil)
	unmeasured.Measured = false
	a := appraiserOf(t, Decision{})
	for _, others := range [][]rule.Finding{{less, unmeasured, more}, {more, less}} {
		f := finding(100, 110, own)
		a.Agree(&f, others)
		assert.Equal(t, rule.Interval{Least: 90, Most: 130}, f.Value)
		x := f.Appraisal
		assert.Equal(t, [3]int64{88, 105, 133}, [3]int64{x.Low, x.Value, x.High}, "the estimate stays its own")
		assert.Equal(t, int64(9), x.Broken)
		assert.Equal(t, int64(math.Ceil(math.Hypot(4, 15/math.Sqrt(3)))), x.Standard, "the farthest estimate is off by 15: a rectangle of that half-width")
		assert.Equal(t, []rule.BudgetLine{{Source: 1, Width: 2}, {Source: uint8(ComparedWith), Width: 15}}, x.Lines)
	}
	assert.Equal(t, [3]int64{99, 105, 111}, [3]int64{own.Low, own.Value, own.High}, "what another finding may share stays as it was")
	assert.Len(t, own.Lines, 1)

	f := finding(100, 110, own)
	a.Agree(&f, []rule.Finding{finding(101, 109, own), f})
	assert.Equal(t, rule.Interval{Least: 100, Most: 110}, f.Value)
	assert.Same(t, own, f.Appraisal, "nothing is touched where it holds them all")

	bare := finding(100, 110, nil)
	a.Agree(&bare, []rule.Finding{finding(100, 111, nil)})
	assert.Equal(t, rule.Interval{Least: 100, Most: 111}, bare.Value)
	assert.Nil(t, bare.Appraisal)

	over := finding(100, 100, &rule.Appraisal{Value: 100, Low: 100, High: 100, Beyond: true})
	a.Agree(&over, []rule.Finding{more})
	assert.Equal(t, rule.Interval{Least: 100, Most: 100}, over.Value, "more than its limit is all that is known")

	none := finding(0, 0, nil)
	none.Measured = false
	a.Agree(&none, []rule.Finding{more})
	assert.Zero(t, none.Value)
}

// What is only known to be more than its limit is so by a nanosecond, of a time, with an
// end that is certain; anything else has a budget.
func TestBeyondIsOnlyWhatHadNotEnded(t *testing.T) {
	trial := trialOf(t, means(), Decision{})
	for name, c := range map[string]struct {
		pattern rule.Pattern
		sense   rule.Sense
		value   rule.Interval
		end     signal.Span
		beyond  bool
	}{
		"by a nanosecond":          {rule.MaximumDuration, rule.AtMost, rule.Interval{Least: 1e9 + 1, Most: 1e9 + 1}, signal.At(1e9 + 6), true},
		"at its limit":             {rule.MaximumDuration, rule.AtMost, rule.Interval{Least: 1e9, Most: 1e9}, signal.At(1e9 + 6), false},
		"a value that has a width": {rule.MaximumDuration, rule.AtMost, rule.Interval{Least: 1e9 + 1, Most: 1e9 + 2}, signal.At(1e9 + 6), false},
		"an end that has a span":   {rule.MaximumDuration, rule.AtMost, rule.Interval{Least: 1e9 + 1, Most: 1e9 + 1}, signal.Span{Early: 1e9, Late: 1e9 + 6}, false},
		"at least":                 {rule.MinimumDuration, rule.AtLeast, rule.Interval{Least: 1e9 + 1, Most: 1e9 + 1}, signal.At(1e9 + 6), false},
		"a current":                {rule.CurrentUnder, rule.AtMost, rule.Interval{Least: 1e9 + 1, Most: 1e9 + 1}, signal.At(1e9 + 6), false},
	} {
		r := &rule.Rule{Name: "run", Pattern: c.pattern}
		f := rule.Finding{Measured: true, Verdict: rule.Inconclusive, Unit: rule.UnitOf(c.pattern), Sense: c.sense, Limit: 1e9, Value: c.value,
			Decided: []signal.Span{{Early: 0, Late: 5}, c.end}}
		trial.Appraise(r, &f)
		require.NotNil(t, f.Appraisal, name)
		assert.Equal(t, c.beyond, f.Appraisal.Beyond, name)
		if c.beyond {
			assert.Equal(t, "fail", f.Appraisal.Decision)
		}
	}
}

// What measures nothing, or only counts, has no budget to be appraised by.
func TestNothingIsAppraisedThatIsNotMeasured(t *testing.T) {
	trial := trialOf(t, means(), Decision{})
	for name, c := range map[string]struct {
		pattern rule.Pattern
		change  func(f *rule.Finding)
	}{
		"not measured":         {rule.MaximumDuration, func(f *rule.Finding) { f.Measured = false }},
		"no sense":             {rule.MaximumDuration, func(f *rule.Finding) { f.Sense = rule.NoSense }},
		"counted":              {rule.BoundedExistence, func(f *rule.Finding) { f.Unit = rule.Times }},
		"one and the same one": {rule.BoundedInvariance, func(f *rule.Finding) { f.Value, f.Decided = rule.Interval{}, f.Decided[:1] }},
	} {
		for _, v := range []rule.Verdict{rule.Pass, rule.Fail, rule.Inconclusive} {
			f := rule.Finding{Measured: true, Verdict: v, ByValue: true, Unit: rule.Nanoseconds, Sense: rule.AtMost, Limit: 3, Value: rule.Interval{Least: 4, Most: 40},
				Decided: []signal.Span{{Early: 0, Late: 5}, {Early: 7, Late: 8}}}
			f.Open = []rule.Occurrence{{Value: f.Value, Decided: [2]signal.Span{f.Decided[0], f.Decided[1]}}}
			c.change(&f)
			if name == "one and the same one" && v == rule.Inconclusive {
				continue // an open value is judged by itself
			}
			was := f
			trial.Appraise(&rule.Rule{Name: "x", Pattern: c.pattern}, &f)
			assert.Equal(t, was, f, "%s, %v", name, v)
		}
	}
}

// A motor's change of the trial before means nothing in the next one.
func TestResetForgetsTheMotor(t *testing.T) {
	trial := trialOf(t, means(), Decision{})
	c := stop(means())
	lines := func() []rule.BudgetLine {
		f := rule.Finding{Measured: true, Unit: rule.Nanoseconds, Sense: rule.AtMost, Limit: 500 * ms,
			Value: rule.Interval{Least: int64(c.Span.Early), Most: int64(c.Span.Late)}, Decided: []signal.Span{signal.At(0), c.Span}}
		trial.Appraise(&rule.Rule{Name: "x", Pattern: rule.BoundedResponse, Limit: 500 * time.Millisecond}, &f)
		require.NotNil(t, f.Appraisal)
		return f.Appraisal.Lines
	}
	trial.Motor(motion.Change{Span: signal.At(1)})
	trial.Motor(c)
	_, is := find(lines(), LookEnd)
	assert.True(t, is)
	trial.Reset()
	_, is = find(lines(), LookEnd)
	assert.False(t, is)
}
