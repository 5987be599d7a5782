package rule_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/motion"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

const ampere = signal.Ampere

// readings makes one sample a millisecond from the origin on.
func readings(currents ...signal.Current) []signal.Sample {
	var list []signal.Sample
	for i, c := range currents {
		from := signal.Instant(i) * signal.Instant(ms)
		list = append(list, signal.Sample{From: from, To: from.Add(ms), Current: c})
	}
	return list
}

// performWith feeds samples between the changes as the conductor does: a change
// waits until the sample is through before which it may have begun.
func performWith(m *rule.Monitor, w world, list []seen, samples []signal.Sample) []rule.Finding {
	m.Begin(0, w.lines, w.motor)
	last := -signal.Never
	for _, x := range samples {
		for len(list) > 0 && list[0].span.Early <= last {
			put(m, list[0])
			list = list[1:]
		}
		m.Sample(x)
		last = x.From
	}
	for _, c := range list {
		put(m, c)
	}
	return copied(m.Finish(w.end))
}

func read(t *testing.T, x rule.Rule, trial story, samples []signal.Sample) rule.Finding {
	t.Helper()
	x.Name = "the rule"
	return performWith(compile(t, x), trial.world, trial.list, samples)[0]
}

func TestCurrentAtItsLimit(t *testing.T) {
	samples := readings(0, 2*ampere, -5*ampere, 3*ampere)
	low := readings(5*ampere, -2*ampere, 7*ampere)
	for beside := signal.Current(-1); beside <= 1; beside++ {
		f := read(t, rule.Rule{Pattern: rule.CurrentUnder, Current: 5*ampere + beside}, tell(4*ms), samples)
		want := rule.Pass
		if beside < 0 {
			want = rule.Fail
		}
		assert.Equal(t, want, f.Verdict, "under, %+d µA: %+v", beside, f)
		assert.Equal(t, rule.Microamperes, f.Unit)
		assert.Equal(t, rule.AtMost, f.Sense)
		assert.Equal(t, int64(beside), f.Margin())

		f = read(t, rule.Rule{Pattern: rule.CurrentOver, Current: 2*ampere + beside}, tell(3*ms), low)
		want = rule.Pass
		if beside > 0 {
			want = rule.Fail
		}
		assert.Equal(t, want, f.Verdict, "over, %+d µA: %+v", beside, f)
		assert.Equal(t, rule.AtLeast, f.Sense)
		assert.Equal(t, int64(-beside), f.Margin())
	}
}

// The mean over every two milliseconds of 1, 3, 9, 5 and 1 A is 2, 6, 7 and 3 A.
func TestAverageAtItsLimit(t *testing.T) {
	samples := readings(1*ampere, 3*ampere, -9*ampere, -5*ampere, 1*ampere)
	for beside := signal.Current(-1); beside <= 1; beside++ {
		f := read(t, rule.Rule{Pattern: rule.AverageUnder, Current: 7*ampere + beside, Window: 2 * ms}, tell(5*ms), samples)
		want := rule.Pass
		if beside < 0 {
			want = rule.Fail
		}
		assert.Equal(t, want, f.Verdict, "under, %+d µA: %+v", beside, f)
		assert.Equal(t, int64(beside), f.Margin(), "under, %+d µA: %+v", beside, f)

		f = read(t, rule.Rule{Pattern: rule.AverageOver, Current: 2*ampere + beside, Window: 2 * ms}, tell(5*ms), samples)
		want = rule.Pass
		if beside > 0 {
			want = rule.Fail
		}
		assert.Equal(t, want, f.Verdict, "over, %+d µA: %+v", beside, f)
		assert.Equal(t, int64(-beside), f.Margin(), "over, %+d µA: %+v", beside, f)
	}
}

// A window that never fits into the scope measures nothing, nor does a scope
// without a sample.
func TestCurrentNotExercised(t *testing.T) {
	for name, f := range map[string]rule.Finding{
		"window longer than the trial": read(t, rule.Rule{Pattern: rule.AverageUnder, Current: ampere, Window: 9 * ms}, tell(4*ms), readings(0, 0, 0, 0)),
		"no sample":                    read(t, rule.Rule{Pattern: rule.CurrentUnder, Current: ampere}, tell(4*ms), nil),
		"scope never opens": read(t, rule.Rule{Pattern: rule.CurrentOver, Current: ampere,
			Scope: rule.Scope{Kind: rule.After, Q: makes(q)}}, tell(4*ms), readings(0, 0, 0, 0)),
		"scope shorter than a sample": read(t, rule.Rule{Pattern: rule.CurrentOver, Current: ampere,
			Scope: rule.Scope{Kind: rule.Between, Q: makes(q), R: makes(r)}}, tell(4*ms, on(q, 1*ms), on(r, 2*ms-ns)), readings(0, 0, 0, 0)),
	} {
		assert.Equal(t, rule.Inconclusive, f.Verdict, "%s: %+v", name, f)
		assert.Regexp(t, "^not exercised", f.Reason, name)
	}
}

// Random currents in random scopes: the monitors say what a look at every sample,
// or at every window of whole samples, says.
func TestCurrentAgreesWithDefinitions(t *testing.T) {
	for _, pattern := range rule.Patterns[rule.CurrentUnder-1 : rule.AverageOver] {
		for _, kind := range scopeKinds {
			t.Run(fmt.Sprintf("%s, scope %d", pattern.Name, kind), func(t *testing.T) {
				rapid.Check(t, func(t *rapid.T) {
					w := drawWorld(t)
					x := drawRule(t, rule.Absence, kind)
					x.Pattern, x.P = pattern.Pattern, rule.Condition{}
					x.Current = signal.Current(rapid.IntRange(1, 9).Draw(t, "limit"))
					n := 1
					if pattern.Pattern >= rule.AverageUnder {
						n = rapid.IntRange(1, 4).Draw(t, "window")
						x.Window = time.Duration(n) * step
					}
					var samples []signal.Sample
					for at := signal.Instant(0); at.Add(step) <= w.end; at = at.Add(step) {
						samples = append(samples, signal.Sample{From: at, To: at.Add(step), Current: signal.Current(rapid.IntRange(-10, 10).Draw(t, "current"))})
					}
					f := performWith(compile(t, x), w, exactly(w), samples)[0]
					all := newBrute(w).currents(x, samples, n)
					require.Equal(t, worst(all), f.Verdict, "engine: %+v; by definition: %v", f, all)
				})
			})
		}
	}
}

// currents judges each n samples that follow one another and lie in a segment.
func (b brute) currents(x rule.Rule, samples []signal.Sample, n int) []outcome {
	var all []outcome
	for _, s := range b.segments(x.Scope) {
		for i := 0; i+n <= len(samples); i++ {
			if int64(samples[i].From) < b.first(s.from) || s.closed && int64(samples[i+n-1].To) > b.first(s.to) {
				continue
			}
			sum := signal.Current(0)
			for _, c := range samples[i : i+n] {
				sum += c.Current.Abs()
			}
			limit := x.Current * signal.Current(n)
			if x.Pattern == rule.CurrentUnder || x.Pattern == rule.AverageUnder {
				all = append(all, verdictIf(sum <= limit))
			} else {
				all = append(all, verdictIf(sum >= limit))
			}
		}
	}
	return all
}

// A scope may have ended, and a reading that may belong to it be still to come: the
// rule is not settled before a reading has begun after it.
func TestNotSettledWhileAReadingMayBelongToTheScope(t *testing.T) {
	heats := bridge(t, 0, 100_000)
	heats.Heating.Curve.Constant = ms
	for _, x := range []rule.Rule{
		{Pattern: rule.CurrentUnder, Current: ampere},
		{Pattern: rule.AverageUnder, Current: ampere, Window: ms},
		heats,
	} {
		x.Name, x.Scope = "the rule", rule.Scope{Kind: rule.Before, R: makes(r)}
		trial := tell(9*ms, onWithin(r, 3*ms, 2*ms))
		m := compile(t, x)
		m.Begin(0, trial.lines, trial.motor)
		samples := readings(0, 0, 0, 90*ampere, 90*ampere, 0)
		for i, s := range samples {
			m.Sample(s)
			if s.From == trial.list[0].span.Early {
				put(m, trial.list[0])
				m.Clock(s.To)
			}
			assert.Equal(t, i == 5, m.Settled(), "%v, reading %d", x.Pattern, i)
		}
		assert.Equal(t, rule.Inconclusive, m.Finish(trial.end)[0].Verdict, "%v", x.Pattern)
	}
}

// ---- a current as a condition

func above(c signal.Current) rule.Condition {
	return rule.Condition{Text: "current above " + c.String(), Any: [][]rule.Term{{{Kind: rule.CurrentAbove, Current: c}}}}
}

func TestCurrentCondition(t *testing.T) {
	samples := readings(0, 0, 6*ampere, -6*ampere, 6*ampere, 0, 0, 0)
	for limit, want := range map[signal.Current]rule.Verdict{
		6*ampere - 1: rule.Fail, 6 * ampere: rule.Pass, 6*ampere + 1: rule.Pass,
	} {
		f := read(t, rule.Rule{Pattern: rule.Absence, P: above(limit)}, tell(8*ms), samples)
		assert.Equal(t, want, f.Verdict, "above %v: %+v", limit, f)
	}
	// It rose between 1 ms and 3 ms and fell between 4 ms and 6 ms.
	for limit, want := range map[time.Duration]rule.Verdict{
		ms - ns: rule.Fail, ms: rule.Inconclusive, 5*ms - ns: rule.Inconclusive, 5 * ms: rule.Pass,
	} {
		f := read(t, rule.Rule{Pattern: rule.MaximumDuration, P: above(5 * ampere), Limit: limit}, tell(8*ms), samples)
		assert.Equal(t, want, f.Verdict, "at most %v: %+v", limit, f)
		if f.Verdict != rule.Fail {
			assert.Equal(t, rule.Interval{Least: int64(ms), Most: int64(5 * ms)}, f.Value)
		}
	}
}

func TestWatchCurrent(t *testing.T) {
	w, err := rule.NewWatch([]rule.Condition{becomes(above(5 * ampere))})
	require.NoError(t, err)
	w.Begin(0, [signal.LineCount]signal.Level{}, motion.Stopped)
	w.Arm(0)
	for _, x := range readings(0, 5*ampere) {
		w.Sample(x)
		_, met := w.Met()
		require.False(t, met)
	}
	w.Sample(signal.Sample{From: signal.Instant(2 * ms), To: signal.Instant(3 * ms), Current: 5*ampere + 1})
	span, met := w.Met()
	require.True(t, met)
	require.Equal(t, signal.Span{Early: signal.Instant(ms), Late: signal.Instant(3 * ms)}, span)
}
