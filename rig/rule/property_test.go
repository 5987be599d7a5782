package rule_test

import (
	"flag"
	"fmt"
	"slices"
	"sort"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/motion"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

func init() {
	// A failure prints the seed that repeats it; no file is left in the source tree.
	if err := flag.Set("rapid.nofailfile", "true"); err != nil {
		panic(err)
	}
}

// ---- random worlds, conditions and rules

var someLines = []signal.Line{signal.OpenLimit, signal.ClosedLimit, signal.Beam}

func drawWorld(t *rapid.T) world {
	var w world
	for _, l := range someLines {
		w.lines[l] = signal.Level(rapid.IntRange(0, 1).Draw(t, "initial"))
	}
	w.motor = motion.State(rapid.IntRange(0, 3).Draw(t, "motor"))
	now, level, state := 0, w.lines, w.motor
	last := map[signal.Line]int{} // the motor under NoLine
	for range rapid.IntRange(0, 12).Draw(t, "changes") {
		l := rapid.SampledFrom(append([]signal.Line{signal.NoLine}, someLines...)).Draw(t, "what")
		now = max(now+rapid.IntRange(0, 5).Draw(t, "gap"), last[l]+1)
		last[l] = now
		c := change{at: signal.Instant(now) * signal.Instant(step), isMotor: l == signal.NoLine, line: l}
		if c.isMotor {
			state = (state + motion.State(rapid.IntRange(1, 3).Draw(t, "state"))) % 4
			c.state = state
		} else {
			level[l] = level[l].Not()
			c.level = level[l]
		}
		w.changes = append(w.changes, c)
	}
	now += rapid.IntRange(0, 6).Draw(t, "rest")
	w.end = signal.Instant(now)*signal.Instant(step) + signal.Instant(tick)
	return w
}

func drawTerm(t *rapid.T) rule.Term {
	not := rapid.IntRange(0, 3).Draw(t, "not") == 0
	if rapid.IntRange(0, 2).Draw(t, "kind") == 0 {
		return rule.Term{Kind: rule.MotorIs, State: motion.State(rapid.IntRange(1, 3).Draw(t, "state")), Not: not}
	}
	return rule.Term{Kind: rule.LineIs, Line: rapid.SampledFrom(someLines).Draw(t, "line"),
		Level: signal.Level(rapid.IntRange(0, 1).Draw(t, "level")), Not: not}
}

func drawCondition(t *rapid.T, label string) rule.Condition {
	c := rule.Condition{Text: label, Becomes: rapid.Bool().Draw(t, label+" becomes")}
	for range rapid.SampledFrom([]int{1, 1, 1, 2}).Draw(t, label+" clauses") {
		var clause []rule.Term
		for range rapid.SampledFrom([]int{1, 1, 1, 2}).Draw(t, label+" terms") {
			clause = append(clause, drawTerm(t))
		}
		c.Any = append(c.Any, clause)
	}
	return c
}

var scopeKinds = []rule.ScopeKind{rule.Globally, rule.Before, rule.After, rule.Between, rule.AfterUntil}

// drawRule draws the limit from the lengths that gaps between steps have, and a
// nanosecond to either side.
func drawRule(t *rapid.T, p rule.Pattern, kind rule.ScopeKind) rule.Rule {
	r := rule.Rule{Name: "the rule", Pattern: p, P: drawCondition(t, "P"), Scope: rule.Scope{Kind: kind}}
	if hasS(p) {
		r.S = drawCondition(t, "S")
	}
	if isTimed(p) {
		r.Limit = time.Duration(rapid.IntRange(1, 8).Draw(t, "limit"))*step + time.Duration(rapid.IntRange(-1, 1).Draw(t, "beside"))
	}
	if p == rule.MinimumDuration || p == rule.MaximumDuration {
		r.P.Becomes = false // an event has no duration
	}
	if p == rule.Universality {
		r.P.Becomes = false // an event cannot hold throughout
	}
	if p == rule.BoundedInvariance {
		r.S.Becomes = false // an event cannot go on holding
	}
	if p == rule.BoundedExistence {
		r.Count = rapid.IntRange(1, 3).Draw(t, "count")
	}
	if kind == rule.After || kind == rule.Between || kind == rule.AfterUntil {
		r.Scope.Q = drawCondition(t, "Q")
	}
	if kind == rule.Before || kind == rule.Between || kind == rule.AfterUntil {
		r.Scope.R = drawCondition(t, "R")
	}
	return r
}

func hasS(p rule.Pattern) bool {
	return p == rule.Precedence || p == rule.Response || p == rule.BoundedResponse || p == rule.BoundedInvariance
}

func isTimed(p rule.Pattern) bool { return p >= rule.MinimumDuration && p <= rule.BoundedInvariance }

// ---- feeding a monitor

// seen is a change as a bench sees it: with a span.
type seen struct {
	change
	was  motion.State
	span signal.Span
}

// exactly sees a world without any doubt.
func exactly(w world) []seen {
	return widened(w, func(int) (time.Duration, time.Duration) { return 0, 0 })
}

// widened sees each change of a world with a doubt before and after it. The
// spans of one line, or of the motor, are kept from overlapping.
func widened(w world, doubt func(i int) (before, after time.Duration)) []seen {
	var list []seen
	state := w.motor
	last := map[signal.Line]int{}
	for i, c := range w.changes {
		before, after := doubt(i)
		s := seen{change: c, was: state, span: signal.Span{Early: max(0, c.at.Add(-before)), Late: min(w.end, c.at.Add(after))}}
		if c.isMotor {
			state = c.state
		}
		if k, ok := last[c.line]; ok {
			p := &list[k]
			if p.span.Late >= s.span.Early {
				p.span.Late = min(p.span.Late, max(p.at, s.at-1))
				s.span.Early = max(s.span.Early, p.span.Late+1)
			}
		}
		last[c.line] = len(list)
		list = append(list, s)
	}
	sort.SliceStable(list, func(i, j int) bool { return list[i].span.Early < list[j].span.Early })
	return list
}

// put hands one change over.
func put(m *rule.Monitor, s seen) {
	if s.isMotor {
		m.Motor(motion.Change{Was: s.was, Is: s.state, Span: s.span})
		return
	}
	m.Edge(signal.EdgeSeen{Line: s.line, Level: s.level, Span: s.span})
}

func compile(t require.TestingT, rules ...rule.Rule) *rule.Monitor {
	m, err := rule.Compile(rules, nil)
	require.NoError(t, err)
	return m
}

// perform begins the monitor, feeds it, and gives a copy of its findings.
func perform(m *rule.Monitor, w world, list []seen) []rule.Finding {
	m.Begin(0, w.lines, w.motor)
	for _, s := range list {
		put(m, s)
	}
	return copied(m.Finish(w.end))
}

func copied(findings []rule.Finding) []rule.Finding {
	list := slices.Clone(findings)
	for i := range list {
		list[i].Decided = slices.Clone(list[i].Decided)
	}
	return list
}

// ---- properties

// eachForm runs a property for each pattern in each scope.
func eachForm(t *testing.T, property func(t *rapid.T, r rule.Rule, w world)) {
	for _, p := range rule.Patterns[:rule.BoundedInvariance] {
		for _, kind := range scopeKinds {
			t.Run(fmt.Sprintf("%s, scope %d", p.Name, kind), func(t *testing.T) {
				rapid.Check(t, func(t *rapid.T) {
					w := drawWorld(t)
					property(t, drawRule(t, p.Pattern, kind), w)
				})
			})
		}
	}
}

// The monitors say what the definitions say.
func TestMonitorAgreesWithDefinitions(t *testing.T) {
	eachForm(t, func(t *rapid.T, r rule.Rule, w world) {
		f := perform(compile(t, r), w, exactly(w))[0]
		all := newBrute(w).judge(r)
		require.Equal(t, worst(all), f.Verdict, "engine: %+v; by definition: %v", f, all)
		agreesInValue(t, r, f, all)
	})
}

// agreesInValue holds the value of a decided finding to the occurrences: it is
// the worst complete measurement or, in a rule that failed before a measurement
// was complete, at least breaks the limit.
func agreesInValue(t *rapid.T, r rule.Rule, f rule.Finding, all []outcome) {
	if !f.Measured || f.Verdict != rule.Pass && f.Verdict != rule.Fail {
		return
	}
	require.Equal(t, f.Verdict, rule.BySpan(f.Value, f.Limit, f.Sense), "verdict and value: %+v", f)
	var known []int64
	for _, o := range all {
		if o.verdict == f.Verdict && !o.known {
			return // a value beyond the limit, or none
		}
		if o.verdict == f.Verdict {
			known = append(known, o.value)
		}
	}
	want := slices.Max(known)
	if f.Sense == rule.AtLeast {
		want = slices.Min(known)
	}
	require.Equal(t, rule.Interval{Least: want, Most: want}, f.Value, "engine: %+v; by definition: %v", f, all)
}

// However wide the spans are, what is passed or failed is so for the world as it
// truly was: where the spans leave the order of changes known, and where they do
// not, which is TestWideSpansThatOverlap.
func TestWideSpansInKnownOrder(t *testing.T) {
	eachForm(t, func(t *rapid.T, r rule.Rule, w world) {
		neverDecidesWrongly(t, r, w, apart(widened(w, drawDoubt(t))))
	})
}

func drawDoubt(t *rapid.T) func(int) (time.Duration, time.Duration) {
	return func(int) (time.Duration, time.Duration) {
		return time.Duration(rapid.IntRange(0, 3000).Draw(t, "before")), time.Duration(rapid.IntRange(0, 3000).Draw(t, "after"))
	}
}

// apart makes spans narrower until none overlaps another, save of changes that
// happened at the same instant: those get the same span.
func apart(list []seen) []seen {
	sort.SliceStable(list, func(i, j int) bool { return list[i].at < list[j].at })
	free := signal.Instant(0)
	for i := 0; i < len(list); {
		j := i
		for j < len(list) && list[j].at == list[i].at {
			j++
		}
		early, late := max(list[i].span.Early, free), list[i].span.Late
		if j < len(list) {
			late = min(late, list[j].at-1)
		}
		for ; i < j; i++ {
			list[i].span = signal.Span{Early: early, Late: late}
		}
		free = late + 1
	}
	return list
}

func neverDecidesWrongly(t *rapid.T, r rule.Rule, w world, wide []seen) {
	f := perform(compile(t, r), w, wide)[0]
	truth := worst(newBrute(w).judge(r))
	if truth == rule.Pass {
		require.NotEqual(t, rule.Fail, f.Verdict, "a pass became %+v\nseen: %+v", f, wide)
	}
	if truth == rule.Fail {
		require.NotEqual(t, rule.Pass, f.Verdict, "a fail became %+v\nseen: %+v", f, wide)
	}
}

// Once Settled says so, nothing that comes later changes a finding.
func TestSettledIsFinal(t *testing.T) {
	eachForm(t, func(t *rapid.T, r rule.Rule, w world) {
		list := exactly(w)
		m, short := compile(t, r), compile(t, r)
		m.Begin(0, w.lines, w.motor)
		for i, s := range list {
			put(m, s)
			m.Clock(s.span.Early)
			if !m.Settled() {
				continue
			}
			early := copied(finishAt(short, w, list[:i+1], s.span.Late))
			for _, s := range list[i+1:] {
				put(m, s)
				require.True(t, m.Settled(), "settled, then not")
			}
			require.Equal(t, early[0].Verdict, m.Finish(w.end)[0].Verdict)
			return
		}
	})
}

// finishAt ends a trial after some of what was seen.
func finishAt(m *rule.Monitor, w world, list []seen, end signal.Instant) []rule.Finding {
	w.end = end
	return perform(m, w, list)
}

// A monitor begins anew as if just compiled, whatever it was in the middle of.
func TestBeginForgets(t *testing.T) {
	eachForm(t, func(t *rapid.T, r rule.Rule, w world) {
		other := drawWorld(t)
		m := compile(t, r)
		want := perform(m, w, exactly(w))
		require.Equal(t, want, perform(m, w, exactly(w)))
		m.Begin(0, other.lines, other.motor)
		for _, s := range exactly(other) {
			put(m, s)
		}
		require.Equal(t, want, perform(m, w, exactly(w)))
	})
}

// Clock tells a monitor nothing that changes a finding, nor does it matter in
// which order things come that happen at the same instant.
func TestClockChangesNothing(t *testing.T) {
	eachForm(t, func(t *rapid.T, r rule.Rule, w world) {
		list := exactly(w)
		m := compile(t, r)
		want := perform(m, w, list)
		m.Begin(0, w.lines, w.motor)
		for i, s := range list {
			if rapid.Bool().Draw(t, "before") {
				m.Clock(s.span.Early)
			}
			put(m, s)
			if rapid.Bool().Draw(t, "after") {
				next := w.end
				if i+1 < len(list) {
					next = list[i+1].span.Early
				}
				m.Clock(s.span.Early + signal.Instant(rapid.Int64Range(0, int64(next-s.span.Early)).Draw(t, "clock")))
			}
		}
		require.Equal(t, want, copied(m.Finish(w.end)))

		sort.SliceStable(list, func(i, j int) bool {
			a, b := list[i], list[j]
			return a.span.Early < b.span.Early || a.span.Early == b.span.Early && a.line > b.line
		})
		again := perform(m, w, list)
		require.Equal(t, want[0].Verdict, again[0].Verdict)
		require.Equal(t, want[0].Value, again[0].Value)
	})
}

// Many rules in one monitor do not disturb one another.
func TestRulesAreIndependent(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawWorld(t)
		var rules []rule.Rule
		for i := range rapid.IntRange(1, 70).Draw(t, "rules") {
			p := rapid.SampledFrom(rule.Patterns[:rule.BoundedInvariance]).Draw(t, "pattern").Pattern
			r := drawRule(t, p, rapid.SampledFrom(scopeKinds).Draw(t, "scope"))
			r.Name = fmt.Sprint("rule ", i)
			rules = append(rules, r)
		}
		together := perform(compile(t, rules...), w, exactly(w))
		require.Len(t, together, len(rules))
		for i, r := range rules {
			alone := perform(compile(t, r), w, exactly(w))[0]
			require.Equal(t, i, together[i].Rule)
			alone.Rule = i
			require.Equal(t, alone, together[i])
		}
	})
}
