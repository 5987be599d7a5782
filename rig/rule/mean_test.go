package rule_test

import (
	"fmt"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/motion"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// irregular draws samples that do not come evenly, each beginning where the one before it ended.
func irregular(t *rapid.T) (list []signal.Sample) {
	at := signal.Instant(0)
	for range rapid.IntRange(1, 120).Draw(t, "samples") {
		to := at.Add(rapid.SampledFrom([]time.Duration{ms, ms, ms, 2 * ms, 3 * ms}).Draw(t, "lasts"))
		list = append(list, signal.Sample{From: at, To: to, Current: signal.Current(rapid.IntRange(-9, 9).Draw(t, "amperes")) * ampere})
		at = to
	}
	return list
}

// worstMean is the definition, taken at its word: of each reading and those before it that
// began within the window, as soon as they fill it, the mean; of these the worst, rounded to
// the side on which it is nearer to the limit.
func worstMean(list []signal.Sample, window signal.Instant, sense rule.Sense) (worst int64, any bool) {
	for k := range list {
		sum, n, first := int64(0), int64(0), k
		for i := k; i >= 0 && list[k].From-list[i].From < window; i-- {
			sum, n, first = sum+int64(list[i].Current.Abs()), n+1, i
		}
		interval := list[k].To - list[k].From
		if k > 0 {
			interval = list[k].From - list[k-1].From
		}
		if list[k].From-list[first].From+interval < window {
			continue
		}
		mean := sum / n
		if sense == rule.AtMost {
			mean = (sum + n - 1) / n
		}
		if !any || sense == rule.AtMost && mean > worst || sense == rule.AtLeast && mean < worst {
			worst, any = mean, true
		}
	}
	return worst, any
}

// Windows of different numbers of readings are compared by their means and not by their
// sums; and taking many readings at once is taking them one by one.
func TestMeansOfReadingsThatDoNotComeEvenly(t *testing.T) {
	rapid.Check(t, func(rt *rapid.T) {
		list := irregular(rt)
		x := rule.Rule{Name: "the rule", Pattern: rapid.SampledFrom([]rule.Pattern{rule.AverageUnder, rule.AverageOver}).Draw(rt, "pattern"),
			Window: time.Duration(rapid.IntRange(1, 5).Draw(rt, "window")) * ms}
		sense, _ := rule.LimitOf(&x)
		worst, any := worstMean(list, signal.Instant(x.Window), sense)
		limit := max(0, worst+rapid.Int64Range(-1, 1).Draw(rt, "beside"))
		x.Current = signal.Current(limit)
		f := read(t, x, tell(time.Second), list)
		if !any {
			require.Equal(rt, rule.Inconclusive, f.Verdict)
			return
		}
		want := rule.Fail
		if sense == rule.AtMost && worst <= limit || sense == rule.AtLeast && worst >= limit {
			want = rule.Pass
		}
		require.Equal(rt, want, f.Verdict, "worst %d", worst)
		require.Equal(rt, rule.Interval{Least: worst, Most: worst}, f.Value)
		require.Equal(rt, 1, f.Exercised, "one scope is one time, however often it got worse")
	})
}

// Many readings at once are what they are one by one, whatever the rules that look at them
// are, and whatever was judged before.
func TestSamplesIsSampleAfterSample(t *testing.T) {
	heats := bridge(t, 0, 100_000)
	heats.Heating.Curve.Constant = 20 * ms
	rules := []rule.Rule{heats,
		{Pattern: rule.CurrentUnder}, {Pattern: rule.CurrentOver}, {Pattern: rule.AverageUnder, Window: 3 * ms}, {Pattern: rule.AverageOver, Window: 5 * ms}, {Pattern: rule.AverageUnder, Window: 90 * ms},
		{Pattern: rule.MaximumDuration, P: above(5 * ampere), Limit: 3 * ms}, {Pattern: rule.BoundedResponse, P: makes(p), S: becomes(above(5 * ampere)), Limit: 2 * ms},
	}
	rapid.Check(t, func(rt *rapid.T) {
		list, other := irregular(rt), irregular(rt)
		var some []rule.Rule
		for i, x := range rules {
			if rapid.Bool().Draw(rt, "taken") {
				x.Name, x.Source = "the rule", fmt.Sprint(i)
				x.Current = signal.Current(rapid.IntRange(1, 9).Draw(rt, "limit")) * ampere
				some = append(some, x)
			}
		}
		end := list[len(list)-1].To
		edge := rapid.IntRange(0, len(list)-1).Draw(rt, "edge")
		e := signal.EdgeSeen{Line: p, Level: signal.Made, Span: signal.At(list[edge].From + 1)}
		one, err := rule.Compile(some, nil)
		require.NoError(rt, err)
		many, err := rule.Compile(some, nil)
		require.NoError(rt, err)
		one.Begin(0, [signal.LineCount]signal.Level{}, motion.Stopped)
		many.Begin(0, [signal.LineCount]signal.Level{}, motion.Stopped)
		for i := 0; i < len(list); {
			n := rapid.IntRange(1, len(list)-i).Draw(rt, "at once")
			if i <= edge && i+n > edge {
				n = edge + 1 - i
			}
			many.Samples(list[i : i+n])
			for _, s := range list[i : i+n] {
				one.Sample(s)
			}
			if i += n; i == edge+1 {
				one.Edge(e)
				many.Edge(e)
			}
			require.Equal(rt, one.Settled(), many.Settled())
			require.Equal(rt, one.Pending(), many.Pending())
		}
		found := copied(one.Finish(end))
		require.Equal(rt, found, copied(many.Finish(end)))
		before := slices.Clone(list[edge+1:])
		list = list[:edge+1]
		for i, x := range some { // and the others beside it change nothing, nor do trials before
			m, err := rule.Compile([]rule.Rule{x}, nil)
			require.NoError(rt, err)
			for range 2 {
				m.Begin(0, [signal.LineCount]signal.Level{}, motion.Stopped)
				m.Samples(list)
				m.Edge(e)
				m.Samples(before)
				got := copied(m.Finish(end))[0]
				got.Rule = i
				require.Equal(rt, found[i], got)
				m.Begin(0, [signal.LineCount]signal.Level{}, motion.Stopped)
				m.Samples(other)
				m.Finish(other[len(other)-1].To)
			}
		}
	})
}

// A mean that is the worst is found whatever number of readings the worst before it was of.
func TestAWorseMeanOfFewerReadings(t *testing.T) {
	six, low, four, nine := 6*ampere, 5*ampere/2, 4*ampere, 9*ampere
	for _, c := range []struct {
		pattern rule.Pattern
		lasts   []time.Duration
		reads   []signal.Current
		worst   signal.Current
	}{
		{rule.AverageOver, []time.Duration{3, 3, 1, 1, 1, 1, 1, 1}, []signal.Current{six, six, six, six, six, low, low, low}, low},
		{rule.AverageUnder, []time.Duration{1, 1, 1, 3, 3, 3}, []signal.Current{four, four, four, four, four, nine}, nine},
	} {
		var list []signal.Sample
		at := signal.Instant(0)
		for i, d := range c.lasts {
			list = append(list, signal.Sample{From: at, To: at.Add(d * ms), Current: c.reads[i]})
			at = at.Add(d * ms)
		}
		f := read(t, rule.Rule{Pattern: c.pattern, Current: 5 * ampere, Window: 3 * ms}, tell(30*ms), list)
		assert.Equal(t, rule.Fail, f.Verdict, "%v", c.pattern)
		assert.Equal(t, int64(c.worst), f.Value.Least, "%v", c.pattern)
	}
}

// A current that breaks its limit is told at once, so that the bench need not go on; a
// trial after it knows nothing of it.
func TestACurrentThatBreaksItsLimitIsToldAtOnce(t *testing.T) {
	for _, x := range []rule.Rule{
		{Pattern: rule.CurrentUnder, Current: 5 * ampere}, {Pattern: rule.AverageUnder, Current: 5 * ampere, Window: ms},
		{Pattern: rule.CurrentOver, Current: 5 * ampere}, {Pattern: rule.AverageOver, Current: 5 * ampere, Window: ms},
	} {
		x.Name = "the rule"
		good, bad := 3*ampere, 6*ampere
		if sense, _ := rule.LimitOf(&x); sense == rule.AtLeast {
			good, bad = bad, good
		}
		m := compile(t, x)
		for _, want := range []rule.Verdict{rule.Fail, rule.Pass} {
			last := good
			if want == rule.Fail {
				last = bad
			}
			f := performWith(m, tell(9*ms).world, nil, readings(good, good, last, last))[0]
			assert.Equal(t, want, f.Verdict, "%v", x.Pattern)
			assert.Equal(t, 1, f.Exercised, "%v", x.Pattern)
		}
		m.Begin(0, [signal.LineCount]signal.Level{}, 0)
		list := readings(good, good, bad)
		for range 20 { // readings are looked at some at a time
			list = append(list, signal.Sample{From: list[len(list)-1].To, To: list[len(list)-1].To.Add(ms), Current: good})
		}
		for i, s := range list {
			m.Sample(s)
			m.Clock(s.To)
			if i < 2 {
				assert.Equal(t, rule.Unsettled, m.Told(0), "%v, reading %d", x.Pattern, i)
			}
		}
		assert.Equal(t, rule.Fail, m.Told(0), "%v", x.Pattern)
		assert.True(t, m.Settled(), "%v", x.Pattern)
	}
}

// A scope that can never open is settled from the beginning, and says why.
func TestAScopeThatCannotOpenIsSettled(t *testing.T) {
	x := rule.Rule{Name: "the rule", Pattern: rule.Absence, P: made(p), Scope: rule.Scope{Kind: rule.Before, R: made(r)}}
	trial := tell(9*ms, on(r, initially, 2*ms, 3*ms))
	m := compile(t, x)
	m.Begin(0, trial.lines, trial.motor)
	assert.True(t, m.Settled())
	assert.Equal(t, rule.Inconclusive, m.Told(0))
	f := tellTo(t, x, trial)
	assert.Equal(t, rule.Inconclusive, f.Verdict)
	assert.Contains(t, f.Reason, "was so from the beginning")
}

// The instant of an R that is an event is no part of the segment before it, nor of the one
// that begins with it where Q goes on.
func TestWhatComesWithRIsInNoSegment(t *testing.T) {
	for _, kind := range []rule.ScopeKind{rule.Between, rule.AfterUntil} {
		x := rule.Rule{Pattern: rule.Absence, P: makes(r), Scope: rule.Scope{Kind: kind, Q: made(q), R: makes(r)}}
		f := tellTo(t, x, tell(9*ms, on(q, ms), on(r, 2*ms, 3*ms, 4*ms, 5*ms)))
		assert.Equal(t, rule.Pass, f.Verdict, "%d: %+v", kind, f)
		answered := rule.Rule{Pattern: rule.Response, P: makes(r), S: makes(s), Scope: x.Scope}
		f = tellTo(t, answered, tell(9*ms, on(q, ms), on(r, 2*ms, 3*ms, 4*ms, 5*ms)))
		assert.Equal(t, rule.Inconclusive, f.Verdict, "nothing asked inside: %+v", f)
	}
}

// Rules on the largest and on the smallest current do not take each other's readings.
func TestExtremesBesideEachOther(t *testing.T) {
	under := rule.Rule{Name: "under", Pattern: rule.CurrentUnder, Current: 9 * ampere}
	over := rule.Rule{Name: "over", Pattern: rule.CurrentOver, Current: ampere}
	m, err := rule.Compile([]rule.Rule{under, over}, nil)
	require.NoError(t, err)
	f := performWith(m, tell(9*ms).world, nil, readings(5*ampere, 7*ampere, -3*ampere, 6*ampere))
	assert.Equal(t, rule.Interval{Least: int64(7 * ampere), Most: int64(7 * ampere)}, f[0].Value)
	assert.Equal(t, rule.Interval{Least: int64(3 * ampere), Most: int64(3 * ampere)}, f[1].Value)
}

// A window of more readings than the tape holds at first is whole in every trial.
func TestALongWindowInTheSecondTrial(t *testing.T) {
	x := rule.Rule{Name: "the rule", Pattern: rule.AverageUnder, Window: 150 * ms, Current: 9 * ampere}
	m := compile(t, x)
	quiet, loud := steady(0, 300*ms), steady(0, 300*ms)
	for i := range loud[:140] {
		loud[i].Current = signal.Current(i%7) * ampere
	}
	worst, any := worstMean(loud, signal.Instant(x.Window), rule.AtMost)
	require.True(t, any)
	for _, list := range [][]signal.Sample{quiet, loud, quiet, loud} {
		f := performWith(m, tell(time.Second).world, nil, list)[0]
		if list[1].Current == 0 {
			assert.Equal(t, rule.Interval{}, f.Value)
		} else {
			assert.Equal(t, rule.Interval{Least: worst, Most: worst}, f.Value)
		}
	}
}
