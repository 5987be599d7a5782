package rule_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig/motion"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// ---- the timed patterns at their limits

// measurements are trials in which a timed pattern measures one certain value.
// The first of each pattern is worked by hand from the pattern's definition.
var measurements = []struct {
	name  string
	rule  rule.Rule
	story story
	value time.Duration
}{
	{"response after 180 ms", rule.Rule{Pattern: rule.BoundedResponse, P: makes(p), S: makes(s)},
		tell(2000*ms, on(p, 1000*ms), on(s, 1180*ms)), 180 * ms},
	{"response to a state", rule.Rule{Pattern: rule.BoundedResponse, P: made(p), S: made(s)},
		tell(2000*ms, on(p, 1000*ms, 1100*ms), on(s, 1180*ms)), 180 * ms},
	{"the longest of three waits", rule.Rule{Pattern: rule.BoundedResponse, P: makes(p), S: makes(s)},
		tell(2000*ms, on(p, 100*ms, 150*ms, 600*ms, 700*ms, 1500*ms), on(s, 200*ms, 300*ms, 780*ms, 800*ms, 1540*ms)), 180 * ms},
	{"a wait that began at the first of two triggers", rule.Rule{Pattern: rule.BoundedResponse, P: makes(p), S: makes(s)},
		tell(2000*ms, on(p, 1000*ms, 1010*ms, 1100*ms, 1110*ms), on(s, 1180*ms)), 180 * ms},
	{"pulse of 990 ms", rule.Rule{Pattern: rule.MinimumDuration, P: made(p)},
		tell(2000*ms, on(p, 500*ms, 1490*ms)), 990 * ms},
	{"the shortest of three pulses", rule.Rule{Pattern: rule.MinimumDuration, P: made(p)},
		tell(9000*ms, on(p, 500*ms, 2490*ms, 3000*ms, 3990*ms, 5000*ms, 7000*ms)), 990 * ms},
	{"motor on for 30 250 ms", rule.Rule{Pattern: rule.MaximumDuration, P: made(p)},
		tell(40000*ms, on(p, initially, 30250*ms)), 30250 * ms},
	{"the longest of three pulses", rule.Rule{Pattern: rule.MaximumDuration, P: made(p)},
		tell(9000*ms, on(p, 500*ms, 600*ms, 3000*ms, 3990*ms, 5000*ms, 5200*ms)), 990 * ms},
	{"recurrence after 530 ms", rule.Rule{Pattern: rule.BoundedRecurrence, P: makes(p)},
		tell(1400*ms, on(p, 0, 10*ms, 480*ms, 490*ms, 1010*ms)), 530 * ms},
	{"the gap before the first", rule.Rule{Pattern: rule.BoundedRecurrence, P: makes(p)},
		tell(1000*ms, on(p, 530*ms, 540*ms, 900*ms)), 530 * ms},
	{"gaps between stretches", rule.Rule{Pattern: rule.BoundedRecurrence, P: made(p)},
		tell(1000*ms, on(p, initially, 100*ms, 630*ms)), 530 * ms},
	{"holds for 290 ms", rule.Rule{Pattern: rule.BoundedInvariance, P: makes(p), S: made(s)},
		tell(4000*ms, on(p, 2000*ms), on(s, 1900*ms, 2290*ms)), 290 * ms},
	{"holds for 290 ms after a state's end", rule.Rule{Pattern: rule.BoundedInvariance, P: made(p), S: made(s)},
		tell(4000*ms, on(p, 1950*ms, 2000*ms), on(s, 1900*ms, 2290*ms)), 290 * ms},
}

// Exactly at the limit a rule passes; a nanosecond beyond it, it fails.
func TestTimedPatternsAtTheirLimits(t *testing.T) {
	for _, c := range measurements {
		for _, beside := range []time.Duration{-1, 0, 1} {
			t.Run(fmt.Sprintf("%v/%s/%+d ns", c.rule.Pattern, c.name, beside), func(t *testing.T) {
				x := c.rule
				x.Limit = c.value + beside
				f := tellTo(t, x, c.story)
				margin, want := beside, rule.Pass
				if f.Sense == rule.AtLeast {
					margin = -beside
				}
				if margin < 0 {
					want = rule.Fail
				}
				assert.Equal(t, want, f.Verdict, "%+v", f)
				assert.Equal(t, rule.Nanoseconds, f.Unit)
				assert.Equal(t, int64(x.Limit), f.Limit)
				assert.Positive(t, f.Exercised)
				if want == rule.Pass || f.Measured {
					assert.True(t, f.Measured)
				}
				if want == rule.Pass {
					assert.Equal(t, rule.Interval{Least: int64(c.value), Most: int64(c.value)}, f.Value)
					assert.Equal(t, int64(margin), f.Margin())
				}
			})
		}
	}
}

// The margins worked out by definition for the five timed patterns of Konrad and
// Cheng (ICSE 2005).
func TestMarginsWorkedByHand(t *testing.T) {
	for _, c := range []struct {
		measurement int
		limit       time.Duration
		verdict     rule.Verdict
		margin      time.Duration
	}{
		{0, 200 * ms, rule.Pass, 20 * ms},
		{0, 160 * ms, rule.Fail, -20 * ms},
		{4, 1000 * ms, rule.Fail, -10 * ms},
		{6, 30000 * ms, rule.Fail, -250 * ms},
		{8, 500 * ms, rule.Fail, -30 * ms},
		{11, 300 * ms, rule.Fail, -10 * ms},
	} {
		m := measurements[c.measurement]
		t.Run(m.name, func(t *testing.T) {
			m.rule.Limit = c.limit
			f := tellTo(t, m.rule, m.story)
			assert.Equal(t, c.verdict, f.Verdict)
			assert.True(t, f.Measured)
			assert.Equal(t, int64(c.margin), f.Margin(), "%+v", f)
		})
	}
}

// A doubt of 2 ms about the trigger and of 4 ms about the answer makes a wait of
// 178 ms to 184 ms. The limit decides only outside.
func TestDoubtAboutAMeasurement(t *testing.T) {
	trial := tell(2000*ms, onWithin(p, 2*ms, 1000*ms), onWithin(s, 4*ms, 1180*ms))
	for limit, want := range map[time.Duration]rule.Verdict{
		178*ms - ns: rule.Fail, 178 * ms: rule.Inconclusive, 178*ms + ns: rule.Inconclusive,
		184*ms - ns: rule.Inconclusive, 184 * ms: rule.Pass, 184*ms + ns: rule.Pass,
	} {
		f := tellTo(t, rule.Rule{Pattern: rule.BoundedResponse, P: makes(p), S: makes(s), Limit: limit}, trial)
		assert.Equal(t, want, f.Verdict, "limit %v: %+v", limit, f)
		assert.Equal(t, rule.Interval{Least: int64(178 * ms), Most: int64(184 * ms)}, f.Value, "limit %v", limit)
		assert.Equal(t, []signal.Span{
			{Early: signal.Instant(1000 * ms), Late: signal.Instant(1002 * ms)},
			{Early: signal.Instant(1180 * ms), Late: signal.Instant(1184 * ms)}}, f.Decided)
	}
}

// ---- what ends with the trial

func TestTrialEndsFirst(t *testing.T) {
	for _, c := range []struct {
		name  string
		rule  rule.Rule
		story story
		want  rule.Verdict
	}{
		{"an answer is still awaited", rule.Rule{Pattern: rule.BoundedResponse, P: makes(p), S: makes(s), Limit: 200 * ms},
			tell(1100*ms, on(p, 1000*ms)), rule.Inconclusive},
		{"an answer is overdue", rule.Rule{Pattern: rule.BoundedResponse, P: makes(p), S: makes(s), Limit: 200 * ms},
			tell(1200*ms+ns, on(p, 1000*ms)), rule.Fail},
		{"still on", rule.Rule{Pattern: rule.MaximumDuration, P: made(p), Limit: 200 * ms},
			tell(1100*ms, on(p, 1000*ms)), rule.Inconclusive},
		{"on for too long", rule.Rule{Pattern: rule.MaximumDuration, P: made(p), Limit: 200 * ms},
			tell(1200*ms+ns, on(p, 1000*ms)), rule.Fail},
		{"a pulse cut off says nothing", rule.Rule{Pattern: rule.MinimumDuration, P: made(p), Limit: 200 * ms},
			tell(1100*ms, on(p, 1000*ms)), rule.Inconclusive},
		{"a pulse cut off takes nothing from the one before", rule.Rule{Pattern: rule.MinimumDuration, P: made(p), Limit: 200 * ms},
			tell(1100*ms, on(p, 200*ms, 500*ms, 1000*ms)), rule.Pass},
		{"a pulse that was on at the origin is not judged", rule.Rule{Pattern: rule.MinimumDuration, P: made(p), Limit: 200 * ms},
			tell(1100*ms, on(p, initially, 100*ms)), rule.Inconclusive},
		{"the gap running at the end is short", rule.Rule{Pattern: rule.BoundedRecurrence, P: makes(p), Limit: 200 * ms},
			tell(300*ms, on(p, 150*ms)), rule.Pass},
		{"the gap running at the end is too long", rule.Rule{Pattern: rule.BoundedRecurrence, P: makes(p), Limit: 200 * ms},
			tell(350*ms+ns, on(p, 150*ms)), rule.Fail},
		{"held until the end, too short to tell", rule.Rule{Pattern: rule.BoundedInvariance, P: makes(p), S: made(s), Limit: 200 * ms},
			tell(1100*ms, on(p, 1000*ms), on(s, initially)), rule.Inconclusive},
		{"held until the end, long enough", rule.Rule{Pattern: rule.BoundedInvariance, P: makes(p), S: made(s), Limit: 200 * ms},
			tell(1200*ms, on(p, 1000*ms), on(s, initially)), rule.Pass},
		{"a fail outweighs what is still open", rule.Rule{Pattern: rule.BoundedResponse, P: makes(p), S: makes(s), Limit: 200 * ms},
			tell(1100*ms, on(p, 100*ms, 200*ms, 1000*ms), on(s, 400*ms)), rule.Fail},
		{"what is still open outweighs a pass", rule.Rule{Pattern: rule.BoundedResponse, P: makes(p), S: makes(s), Limit: 200 * ms},
			tell(1100*ms, on(p, 100*ms, 200*ms, 1000*ms), on(s, 150*ms)), rule.Inconclusive},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := tellTo(t, c.rule, c.story)
			assert.Equal(t, c.want, f.Verdict, "%+v", f)
			if c.want != rule.Pass {
				assert.NotEmpty(t, f.Reason)
			}
		})
	}
}

// ---- never put to the test

func TestNotExercised(t *testing.T) {
	scoped := func(kind rule.ScopeKind) rule.Scope {
		x := rule.Scope{Kind: kind}
		if kind != rule.Before {
			x.Q = makes(q)
		}
		if kind != rule.After {
			x.R = makes(r)
		}
		return x
	}
	for _, pattern := range rule.Patterns[:rule.BoundedInvariance] {
		x := rule.Rule{Pattern: pattern.Pattern, P: made(p), Count: 1}
		if hasS(x.Pattern) {
			x.S = made(s)
		}
		if isTimed(x.Pattern) {
			x.Limit = 10 * ms
		}
		for _, kind := range []rule.ScopeKind{rule.Before, rule.After, rule.Between, rule.AfterUntil} {
			t.Run(fmt.Sprintf("%s, scope %d never opens", pattern.Name, kind), func(t *testing.T) {
				x := x
				x.Scope = scoped(kind)
				f := tellTo(t, x, tell(1000*ms, on(p, 100*ms, 200*ms), on(s, 100*ms)))
				assert.Equal(t, rule.Inconclusive, f.Verdict, "%+v", f)
				assert.Regexp(t, "^not exercised", f.Reason)
				assert.Zero(t, f.Exercised)
			})
		}
		if hasS(x.Pattern) || x.Pattern == rule.MinimumDuration || x.Pattern == rule.MaximumDuration {
			t.Run(pattern.Name+", P never", func(t *testing.T) {
				f := tellTo(t, x, tell(1000*ms, on(s, 100*ms)))
				assert.Equal(t, rule.Inconclusive, f.Verdict, "%+v", f)
				assert.Regexp(t, "^not exercised", f.Reason)
				assert.Zero(t, f.Exercised)
			})
		}
	}
}

// ---- scopes: [Q, R)

func TestScopeBoundaries(t *testing.T) {
	between := rule.Scope{Kind: rule.Between, Q: makes(q), R: makes(r)}
	until := rule.Scope{Kind: rule.AfterUntil, Q: makes(q), R: makes(r)}
	after := rule.Scope{Kind: rule.After, Q: makes(q)}
	before := rule.Scope{Kind: rule.Before, R: makes(r)}
	for _, c := range []struct {
		name  string
		scope rule.Scope
		story story
		want  rule.Verdict // of absence of "P makes"
	}{
		{"before: in it", before, tell(900*ms, on(p, 299*ms), on(r, 300*ms)), rule.Fail},
		{"before: at R", before, tell(900*ms, on(p, 300*ms), on(r, 300*ms)), rule.Pass},
		{"before: at R, told in the other order", before, tell(900*ms, on(r, 300*ms), on(p, 300*ms)), rule.Pass},
		{"before: only the first R counts", before, tell(900*ms, on(p, 350*ms), on(r, 300*ms, 320*ms, 400*ms)), rule.Pass},
		{"before: R never comes", before, tell(900*ms, on(p, 300*ms)), rule.Inconclusive},
		{"after: before it", after, tell(900*ms, on(p, 300*ms-ns), on(q, 300*ms)), rule.Pass},
		{"after: at Q", after, tell(900*ms, on(p, 300*ms), on(q, 300*ms)), rule.Fail},
		{"after: at Q, told in the other order", after, tell(900*ms, on(q, 300*ms), on(p, 300*ms)), rule.Fail},
		{"after: Q never comes", after, tell(900*ms, on(p, 300*ms)), rule.Inconclusive},
		{"between: at Q", between, tell(900*ms, on(p, 300*ms), on(q, 300*ms), on(r, 500*ms)), rule.Fail},
		{"between: at R", between, tell(900*ms, on(p, 500*ms), on(q, 300*ms), on(r, 500*ms)), rule.Pass},
		{"between: a nanosecond before R", between, tell(900*ms, on(p, 500*ms-ns), on(q, 300*ms), on(r, 500*ms)), rule.Fail},
		{"between: R never comes", between, tell(900*ms, on(p, 500*ms), on(q, 300*ms)), rule.Inconclusive},
		{"between: in the second segment", between, tell(900*ms, on(p, 650*ms), on(q, 300*ms, 310*ms, 600*ms), on(r, 500*ms, 510*ms, 700*ms)), rule.Fail},
		{"between: in the gap", between, tell(900*ms, on(p, 550*ms), on(q, 300*ms, 310*ms, 600*ms), on(r, 500*ms, 510*ms, 700*ms)), rule.Pass},
		{"between: Q and R at one instant open nothing", between, tell(900*ms, on(p, 400*ms), on(q, 300*ms), on(r, 300*ms, 310*ms, 500*ms)), rule.Inconclusive},
		{"between: Q and R at one instant, told in the other order", between, tell(900*ms, on(p, 400*ms), on(r, 300*ms, 310*ms, 500*ms), on(q, 300*ms)), rule.Inconclusive},
		{"until: R never comes", until, tell(900*ms, on(p, 500*ms), on(q, 300*ms)), rule.Fail},
		{"until: R never comes, nor does P", until, tell(900*ms, on(q, 300*ms)), rule.Pass},
		{"until: after R", until, tell(900*ms, on(p, 600*ms), on(q, 300*ms), on(r, 500*ms)), rule.Pass},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := tellTo(t, rule.Rule{Pattern: rule.Absence, P: makes(p), Scope: c.scope}, c.story)
			assert.Equal(t, c.want, f.Verdict, "%+v", f)
		})
	}
}

// A scope that a state delimits: by the form []((Q & !R & <>R) -> ...) of Dwyer,
// Avrunin and Corbett a segment opens wherever Q holds and R does not.
func TestScopeOfStates(t *testing.T) {
	scope := rule.Scope{Kind: rule.Between, Q: made(q), R: made(r)}
	for _, c := range []struct {
		name  string
		story story
		want  rule.Verdict
	}{
		{"open from the origin", tell(900*ms, on(p, 10*ms), on(q, initially), on(r, 300*ms)), rule.Fail},
		{"open again when R ends while Q holds", tell(900*ms, on(p, 450*ms), on(q, 200*ms), on(r, 300*ms, 400*ms, 500*ms)), rule.Fail},
		{"not open while R holds", tell(900*ms, on(p, 350*ms), on(q, 200*ms), on(r, 300*ms, 400*ms, 500*ms)), rule.Pass},
		{"the end of Q closes nothing", tell(900*ms, on(p, 250*ms), on(q, 200*ms, 210*ms), on(r, 300*ms)), rule.Fail},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := tellTo(t, rule.Rule{Pattern: rule.Absence, P: makes(p), Scope: scope}, c.story)
			assert.Equal(t, c.want, f.Verdict, "%+v", f)
		})
	}
}

// An answer that does not come before R has not come: the "until R" in the scoped
// forms of Konrad and Cheng (ICSE 2005).
func TestAnswerMustComeBeforeR(t *testing.T) {
	for _, kind := range []rule.ScopeKind{rule.Before, rule.Between, rule.AfterUntil} {
		scope := rule.Scope{Kind: kind, R: makes(r)}
		if kind != rule.Before {
			scope.Q = makes(q)
		}
		x := rule.Rule{Pattern: rule.BoundedResponse, P: makes(p), S: makes(s), Limit: 200 * ms, Scope: scope}
		for at, want := range map[time.Duration]rule.Verdict{
			400*ms - ns: rule.Pass, 400 * ms: rule.Fail, 400*ms + ns: rule.Fail,
		} {
			f := tellTo(t, x, tell(900*ms, on(q, 100*ms), on(p, 300*ms), on(s, at), on(r, 400*ms)))
			assert.Equal(t, want, f.Verdict, "scope %d, S at %v: %+v", kind, at, f)
		}
		y := rule.Rule{Pattern: rule.BoundedInvariance, P: makes(p), S: made(s), Limit: 200 * ms, Scope: scope}
		for at, want := range map[time.Duration]rule.Verdict{
			400*ms - ns: rule.Fail, 400 * ms: rule.Pass, 400*ms + ns: rule.Pass,
		} {
			f := tellTo(t, y, tell(900*ms, on(q, 100*ms), on(p, 300*ms), on(s, initially, at), on(r, 400*ms)))
			assert.Equal(t, want, f.Verdict, "scope %d, S ends at %v: %+v", kind, at, f)
		}
	}
}

// ---- conditions

// Two lines that change at one instant are never seen half changed.
func TestNoGlitchBetweenChangesOfOneInstant(t *testing.T) {
	both := rule.Condition{Text: "both", Any: [][]rule.Term{{
		{Kind: rule.LineIs, Line: p, Level: signal.Made}, {Kind: rule.LineIs, Line: s, Level: signal.Made}}}}
	neither := rule.Condition{Text: "neither", Any: [][]rule.Term{{
		{Kind: rule.LineIs, Line: p, Level: signal.Broken}, {Kind: rule.LineIs, Line: s, Level: signal.Broken}}}}
	for _, trial := range []story{
		tell(900*ms, on(p, initially, 300*ms), on(s, 300*ms)),
		tell(900*ms, on(s, 300*ms), on(p, initially, 300*ms)),
	} {
		for _, c := range []rule.Condition{both, neither} {
			for _, becomes := range []bool{false, true} {
				c.Becomes = becomes
				f := tellTo(t, rule.Rule{Pattern: rule.Absence, P: c}, trial)
				assert.Equal(t, rule.Pass, f.Verdict, "%s, becomes %v: %+v", c.Text, becomes, f)
			}
		}
	}
}

// What is so from the origin is no event.
func TestInitialStateIsNoEvent(t *testing.T) {
	trial := tell(900*ms, on(p, initially))
	assert.Equal(t, rule.Pass, tellTo(t, rule.Rule{Pattern: rule.Absence, P: makes(p)}, trial).Verdict)
	assert.Equal(t, rule.Fail, tellTo(t, rule.Rule{Pattern: rule.Absence, P: made(p)}, trial).Verdict)
	assert.Equal(t, rule.Fail, tellTo(t, rule.Rule{Pattern: rule.Existence, P: makes(p)}, trial).Verdict)
}

func TestMotorConditions(t *testing.T) {
	trial := tell(9000 * ms)
	trial.list = []seen{
		{change: change{isMotor: true, state: motion.Opening}, was: motion.Stopped,
			span: signal.Span{Early: signal.Instant(1000 * ms), Late: signal.Instant(1002 * ms)}},
		{change: change{isMotor: true, state: motion.Stopped}, was: motion.Opening,
			span: signal.Span{Early: signal.Instant(4000 * ms), Late: signal.Instant(4003 * ms)}},
	}
	f := tellTo(t, rule.Rule{Pattern: rule.MaximumDuration, P: motorIs(motion.Opening), Limit: 3003 * ms}, trial)
	assert.Equal(t, rule.Pass, f.Verdict)
	assert.Equal(t, rule.Interval{Least: int64(2998 * ms), Most: int64(3003 * ms)}, f.Value)
	f = tellTo(t, rule.Rule{Pattern: rule.Absence, P: motorIs(motion.Closing)}, trial)
	assert.Equal(t, rule.Pass, f.Verdict)
}

// Which of two things came first cannot be told where their spans overlap.
func TestOrderInDoubt(t *testing.T) {
	x := rule.Rule{Pattern: rule.Precedence, P: makes(p), S: makes(s)}
	for at, want := range map[time.Duration]rule.Verdict{
		95 * ms: rule.Pass, 98 * ms: rule.Inconclusive, 102 * ms: rule.Inconclusive, 106 * ms: rule.Fail,
	} {
		f := tellTo(t, x, tell(900*ms, onWithin(p, 4*ms, 100*ms), onWithin(s, 4*ms, at)))
		assert.Equal(t, want, f.Verdict, "S from %v: %+v", at, f)
	}
}

// ---- early

func TestSettlesEarly(t *testing.T) {
	m := compile(t, rule.Rule{Name: "the rule", Pattern: rule.Absence, P: makes(p)})
	m.Begin(0, [signal.LineCount]signal.Level{}, motion.Stopped)
	require.False(t, m.Settled())
	m.Edge(signal.EdgeSeen{Line: p, Level: signal.Made, Span: signal.At(1000)})
	m.Clock(1001)
	assert.True(t, m.Settled(), "an absence that was broken is settled")
}

// Pending is the last instant at which an obligation now open can still be met,
// so that a trial does not end before it.
func TestPending(t *testing.T) {
	m := compile(t, rule.Rule{Name: "the rule", Pattern: rule.BoundedResponse, P: makes(p), S: makes(s), Limit: 200 * ms})
	m.Begin(0, [signal.LineCount]signal.Level{}, motion.Stopped)
	before := m.Pending()
	at := signal.Instant(1000 * ms)
	m.Edge(signal.EdgeSeen{Line: p, Level: signal.Made, Span: signal.At(at)})
	m.Clock(at + 1)
	assert.Less(t, before, at, "nothing was pending")
	assert.GreaterOrEqual(t, m.Pending(), at.Add(200*ms))
	m.Edge(signal.EdgeSeen{Line: s, Level: signal.Made, Span: signal.At(at + 5)})
	m.Clock(at + 6)
	assert.Less(t, m.Pending(), at.Add(200*ms), "it has been met")
}

// ---- mistakes in rules

func TestCompileRefuses(t *testing.T) {
	for name, x := range map[string]rule.Rule{
		"no pattern":   {P: made(p)},
		"no P":         {Pattern: rule.Absence},
		"no S":         {Pattern: rule.Response, P: made(p)},
		"no limit":     {Pattern: rule.BoundedResponse, P: made(p), S: made(s)},
		"under zero":   {Pattern: rule.BoundedResponse, P: made(p), S: made(s), Limit: -1},
		"no Q":         {Pattern: rule.Absence, P: made(p), Scope: rule.Scope{Kind: rule.After}},
		"no R":         {Pattern: rule.Absence, P: made(p), Scope: rule.Scope{Kind: rule.Before}},
		"no such":      {Pattern: 99, P: made(p)},
		"no scope":     {Pattern: rule.Absence, P: made(p), Scope: rule.Scope{Kind: 99}},
		"no window":    {Pattern: rule.AverageUnder, Current: signal.Ampere},
		"no line":      {Pattern: rule.Absence, P: made(signal.NoLine)},
		"beyond lines": {Pattern: rule.Absence, P: made(signal.LineCount)},
	} {
		t.Run(name, func(t *testing.T) {
			x.Name = "the rule called " + name
			_, err := rule.Compile([]rule.Rule{x}, nil)
			require.Error(t, err)
			assert.ErrorContains(t, err, x.Name)
		})
	}
	_, err := rule.Compile([]rule.Rule{{Name: "one"}, {Name: "two"}}, nil)
	require.Error(t, err)
	assert.ErrorContains(t, err, "one")
	assert.ErrorContains(t, err, "two")
}

// ---- the watch

func TestWatch(t *testing.T) {
	w, err := rule.NewWatch([]rule.Condition{makes(p), made(s), motorIs(motion.Opening)})
	require.NoError(t, err)
	w.Begin(0, [signal.LineCount]signal.Level{}, motion.Stopped)
	w.Arm(0)
	_, met := w.Met()
	require.False(t, met)
	w.Edge(signal.EdgeSeen{Line: s, Level: signal.Made, Span: signal.At(5)})
	_, met = w.Met()
	require.False(t, met, "another condition was met")
	w.Edge(signal.EdgeSeen{Line: p, Level: signal.Made, Span: signal.Span{Early: 7, Late: 9}})
	span, met := w.Met()
	require.True(t, met)
	require.Equal(t, signal.Span{Early: 7, Late: 9}, span)
	w.Arm(1)
	_, met = w.Met()
	require.True(t, met, "a state that holds already is met at once")
	w.Arm(0)
	_, met = w.Met()
	require.False(t, met, "an event that is past is not met again")
	w.Arm(2)
	_, met = w.Met()
	require.False(t, met)
	w.Motor(motion.Change{Was: motion.Stopped, Is: motion.Opening, Span: signal.At(20)})
	_, met = w.Met()
	require.True(t, met)
}
