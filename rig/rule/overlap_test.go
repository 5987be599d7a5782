package rule_test

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"sort"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/motion"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// Where spans overlap, a rule may be passed or failed only if it is so in every
// world that may have been. These tests put the instants of the changes here and
// there within their spans, in every order that these allow, and ask the evaluator
// that knows nothing of the monitors about each.

// drawSpans draws what is seen of a world: spans which overlap those of other
// sources, and those of their own, whose order is known all the same. They may
// reach beyond the end. None begins with the origin: no bench sees a change of its
// lines at the instant at which it tells how they stand.
func drawSpans(t *rapid.T, w world) []seen {
	widths := []int{0, 0, 1, 500, 999, 1000, 1001, 2000, 3000}
	width := func() signal.Instant {
		if rapid.Bool().Draw(t, "odd") {
			return signal.Instant(rapid.IntRange(0, 3000).Draw(t, "width"))
		}
		return signal.Instant(rapid.SampledFrom(widths).Draw(t, "width"))
	}
	common := rapid.Bool().Draw(t, "one delay a source")
	before, after := map[signal.Line]signal.Instant{}, map[signal.Line]signal.Instant{}
	last := map[signal.Line]signal.Instant{}
	var list []seen
	state := w.motor
	for _, c := range w.changes {
		if _, known := before[c.line]; !common || !known {
			before[c.line], after[c.line] = width(), width()
		}
		s := seen{change: c, was: state, span: signal.Span{Early: max(1, last[c.line], c.at-before[c.line]), Late: c.at + after[c.line]}}
		if n := len(list); n > 0 && rapid.IntRange(0, 7).Draw(t, "alike") == 0 {
			// The very span of the change before, if it can be.
			if x := list[n-1].span; x.Early >= last[c.line] && x.Early <= c.at && x.Late >= c.at {
				s.span = x
			}
		}
		last[c.line] = s.span.Early
		if c.isMotor {
			state = c.state
		}
		list = append(list, s)
	}
	sort.SliceStable(list, func(i, j int) bool { return list[i].span.Early < list[j].span.Early })
	return list
}

// chances tries what may have been.
type chances struct {
	w    world
	list []seen
	of   []int // the changes that the rule looks at
	rng  *rand.Rand
	try  func(world) bool // false: enough
	left int              // how many orders are still to be tried
	at   []signal.Instant
	w2   world
}

// regards says whether a rule looks at what a change is of.
func regards(r rule.Rule, c change) bool {
	for _, x := range []rule.Condition{r.P, r.S, r.Scope.Q, r.Scope.R} {
		for _, clause := range x.Any {
			for _, term := range clause {
				if c.isMotor && term.Kind == rule.MotorIs || !c.isMotor && term.Kind == rule.LineIs && term.Line == c.line {
					return true
				}
			}
		}
	}
	return false
}

func newChances(r rule.Rule, w world, list []seen, seed uint64, try func(world) bool) *chances {
	c := &chances{w: w, list: list, rng: rand.New(rand.NewPCG(seed, 0)), try: try}
	for i, s := range list {
		c.at = append(c.at, s.at)
		if regards(r, s.change) {
			c.of = append(c.of, i)
		}
	}
	c.w2.changes = make([]change, len(list))
	return c
}

// all tries every order where there are no more than most, and most by lot where
// there are more. It says whether it tried every one.
func (c *chances) all(most int) bool {
	c.left = most
	if c.orders(c.of, nil, 0) {
		return true
	}
	for range most {
		if c.left = 1; !c.walk() {
			return false
		}
	}
	return false
}

// groups calls use with each set of changes that can come next, at one instant.
func (c *chances) groups(rest []int, now signal.Instant, use func(group, rest []int, at signal.Instant) bool) bool {
next:
	for set := 1; set < 1<<len(rest); set++ {
		var group, later []int
		at := now + 1
		for k, i := range rest {
			if set&(1<<k) == 0 {
				later = append(later, i)
				continue
			}
			for _, j := range rest[:k] {
				if c.list[j].line == c.list[i].line {
					continue next // one source's changes come one after another
				}
			}
			group, at = append(group, i), max(at, c.list[i].span.Early)
		}
		for _, i := range group {
			if c.list[i].span.Late < at {
				continue next
			}
		}
		for _, i := range later {
			if c.list[i].span.Late <= at {
				continue next
			}
		}
		if !use(group, later, at) {
			return false
		}
	}
	return true
}

// orders tries all ways in which the rest can follow the groups before it.
func (c *chances) orders(rest []int, before [][]int, now signal.Instant) bool {
	if len(rest) > 8 {
		return false
	}
	if len(rest) == 0 {
		c.left--
		return c.left >= 0 && c.instants(before)
	}
	return c.groups(rest, now, func(group, rest []int, at signal.Instant) bool {
		return c.orders(rest, append(slices.Clip(before), group), at)
	})
}

// walk tries one order by lot. Of the next groups it knows those that the first few
// changes make.
func (c *chances) walk() bool {
	rest, now := c.of, signal.Instant(0)
	var before [][]int
	for len(rest) > 0 {
		type choice struct {
			group, rest []int
			at          signal.Instant
		}
		var all []choice
		near := min(len(rest), 4)
		c.groups(rest[:near], now, func(group, later []int, at signal.Instant) bool {
			for _, i := range rest[near:] {
				if c.list[i].span.Late <= at {
					return true
				}
			}
			all = append(all, choice{group, append(slices.Clone(later), rest[near:]...), at})
			return true
		})
		if len(all) == 0 {
			return true
		}
		x := all[c.rng.IntN(len(all))]
		before, rest, now = append(before, x.group), x.rest, x.at
	}
	return c.instants(before)
}

// instants tries an order with all as early as it can be, all as late, and three
// times each at the one or the other end by lot, or between.
func (c *chances) instants(groups [][]int) bool {
	late := make([]signal.Instant, len(groups)+1)
	late[len(groups)] = signal.Never
	for k := len(groups) - 1; k >= 0; k-- {
		late[k] = late[k+1] - 1
		for _, i := range groups[k] {
			late[k] = min(late[k], c.list[i].span.Late)
		}
	}
	for way := range 5 {
		now := signal.Instant(0)
		for k, group := range groups {
			now++
			for _, i := range group {
				now = max(now, c.list[i].span.Early)
			}
			if now > late[k] {
				return true
			}
			toss := c.rng.IntN(5)
			switch {
			case way == 1, way > 1 && toss < 2:
				now = late[k]
			case way > 1 && toss == 2:
				now += signal.Instant(c.rng.Int64N(int64(late[k]-now) + 1))
			}
			for _, i := range group {
				c.at[i] = now
			}
		}
		if !c.try(c.world()) {
			return false
		}
	}
	return true
}

// world is the world with its changes where they are tried.
func (c *chances) world() world {
	w := world{lines: c.w.lines, motor: c.w.motor, end: c.w.end, changes: c.w2.changes}
	for i, s := range c.list {
		w.changes[i] = s.change
		w.changes[i].at = c.at[i]
	}
	return w
}

// steps are the origin and all instants of changes up to the end.
func (w world) steps() []signal.Instant {
	list := []signal.Instant{0}
	for _, c := range w.changes {
		if c.at <= w.end {
			list = append(list, c.at)
		}
	}
	slices.Sort(list)
	return slices.Compact(list)
}

// tracesAForm is how many traces each pattern in each scope is tried with.
const tracesAForm = 2000

func TestWideSpansThatOverlap(t *testing.T) {
	var count struct{ traces, decided, tried, every, same, kept int }
	for _, p := range rule.Patterns[:rule.BoundedInvariance] {
		for _, kind := range scopeKinds {
			t.Run(fmt.Sprintf("%s, scope %d", p.Name, kind), func(t *testing.T) {
				for n := 0; n < tracesAForm && !t.Failed(); {
					rapid.Check(t, func(t *rapid.T) {
						n++
						w := drawWorld(t)
						r := drawRule(t, p.Pattern, kind)
						list := drawSpans(t, w)
						f := perform(compile(t, r), w, list)[0]
						decided := f.Verdict == rule.Pass || f.Verdict == rule.Fail
						most := 8
						if n%20 == 0 {
							most = 200
						}
						truth := worst(newBrute(w).judge(r))
						same := true
						c := newChances(r, w, list, rapid.Uint64().Draw(t, "seed"), func(w world) bool {
							count.tried++
							v := worst(newBruteOn(w, w.steps()).judge(r))
							if decided {
								require.Equal(t, v, f.Verdict, "engine: %+v\nrule: %+v\nseen: %+v\nmay have been: %+v", f, r, list, w)
							}
							same = same && v == truth
							return decided || same
						})
						if c.all(most) {
							count.every++
						}
						count.traces++
						if decided {
							count.decided++
						}
						if same && truth != rule.Inconclusive {
							count.same++
							if decided {
								count.kept++
							}
						}
					})
				}
			})
		}
	}
	t.Logf("%d traces, %d decided, %d worlds tried, every order of %d; of %d traces in which all tried worlds agreed on pass or fail, %d were decided",
		count.traces, count.decided, count.tried, count.every, count.same, count.kept)
	// The cure for doubt must not be to doubt everything.
	assert.Greater(t, count.kept, count.same*8/10)
}

// Rules on readings are given up where the order of what delimits their scope cannot
// be told, and are never decided wrongly either.
func TestReadingsInScopesThatOverlap(t *testing.T) {
	for _, pattern := range rule.Patterns[rule.CurrentUnder-1 : rule.AverageOver] {
		for _, kind := range scopeKinds {
			t.Run(fmt.Sprintf("%s, scope %d", pattern.Name, kind), func(t *testing.T) {
				for n := 0; n < tracesAForm/2 && !t.Failed(); {
					rapid.Check(t, func(t *rapid.T) {
						n++
						w := drawWorld(t)
						r := drawRule(t, rule.Absence, kind)
						r.Pattern, r.P = pattern.Pattern, rule.Condition{}
						r.Current = signal.Current(rapid.IntRange(1, 9).Draw(t, "limit"))
						window := 1
						if pattern.Pattern >= rule.AverageUnder {
							window = rapid.IntRange(1, 4).Draw(t, "window")
							r.Window = time.Duration(window) * step
						}
						var samples []signal.Sample
						for at := signal.Instant(0); at.Add(step) <= w.end; at = at.Add(step) {
							samples = append(samples, signal.Sample{From: at, To: at.Add(step), Current: signal.Current(rapid.IntRange(-10, 10).Draw(t, "current"))})
						}
						list := drawSpans(t, w)
						f := performWith(compile(t, r), w, list, samples)[0]
						if f.Verdict != rule.Pass && f.Verdict != rule.Fail {
							return
						}
						newChances(r, w, list, rapid.Uint64().Draw(t, "seed"), func(w world) bool {
							v := worst(newBruteOn(w, w.steps()).currents(r, samples, window))
							require.Equal(t, v, f.Verdict, "engine: %+v\nrule: %+v\nseen: %+v\nsamples: %+v\nmay have been: %+v", f, r, list, samples, w)
							return true
						}).all(12)
					})
				}
			})
		}
	}
}

// A chatter of more sources than are followed is given up, not decided: the line
// that the rule forbids to be made may have been made before the others or after.
func TestTooMuchToFollow(t *testing.T) {
	lines := []signal.Line{signal.OpenLimit, signal.ClosedLimit, signal.HallOpen, signal.HallClosed, signal.HallTravel, signal.Beam, signal.Remote}
	for n := 2; n <= len(lines); n++ {
		var any [][]rule.Term
		var pulses []pulse
		for _, l := range lines[:n] {
			any = append(any, []rule.Term{{Kind: rule.LineIs, Line: l, Level: signal.Made}})
			pulses = append(pulses, onWithin(l, 5*ms, 100*ms, 200*ms, 300*ms))
		}
		x := rule.Rule{Pattern: rule.Existence, P: rule.Condition{Text: "any of many", Any: any}}
		f := tellTo(t, x, tell(900*ms, pulses...))
		want := rule.Pass // some line is made first, whichever it is
		if n == len(lines) {
			want = rule.Inconclusive
		}
		assert.Equal(t, want, f.Verdict, "%d lines at once: %+v", n, f)
	}
	// A line that chatters for longer than is followed, while another may change.
	x := rule.Rule{Pattern: rule.BoundedExistence, P: rule.Condition{Text: "both", Becomes: true, Any: [][]rule.Term{{
		{Kind: rule.LineIs, Line: p, Level: signal.Made}, {Kind: rule.LineIs, Line: s, Level: signal.Made}}}}, Count: 1}
	for pulses, want := range map[int]rule.Verdict{1: rule.Pass, 3: rule.Inconclusive, 100: rule.Inconclusive} {
		var at []time.Duration
		for i := range pulses {
			at = append(at, time.Duration(101+2*i)*ms, time.Duration(102+2*i)*ms)
		}
		f := tellTo(t, x, tell(900*ms, onWithin(p, 300*ms, 100*ms), on(s, at...)))
		assert.Equal(t, want, f.Verdict, "%d pulses: %+v", pulses, f)
	}
}

// What one source, or one meter, was seen doing is never taken in another order,
// however much its spans overlap: they share the meter's delay.
func TestOneSourceKeepsItsOrder(t *testing.T) {
	trial := tell(900 * ms)
	span := func(from, to time.Duration) signal.Span {
		return signal.Span{Early: signal.Instant(from), Late: signal.Instant(to)}
	}
	trial.list = []seen{
		{change: change{isMotor: true, state: motion.Opening}, was: motion.Stopped, span: span(100*ms, 150*ms)},
		{change: change{isMotor: true, state: motion.Closing}, was: motion.Opening, span: span(110*ms, 160*ms)},
		{change: change{isMotor: true, state: motion.Stopped}, was: motion.Closing, span: span(120*ms, 170*ms)},
	}
	x := rule.Rule{Pattern: rule.Precedence, P: motorIs(motion.Closing), S: becomes(motorIs(motion.Opening))}
	assert.Equal(t, rule.Pass, tellTo(t, x, trial).Verdict)
	x.P, x.S = x.S, x.P
	assert.Equal(t, rule.Fail, tellTo(t, x, trial).Verdict)

	// The current passes 5 A one reading before it passes 7 A, and the spans of the
	// two overlap.
	samples := readings(0, 0, 6*ampere, 8*ampere, 8*ampere, 0, 0)
	y := rule.Rule{Pattern: rule.Precedence, P: above(7 * ampere), S: above(5 * ampere)}
	assert.Equal(t, rule.Pass, read(t, y, tell(9*ms), samples).Verdict)
	y.P, y.S = becomes(y.S), becomes(y.P)
	// They may have come at one instant: a current can leap past both within one reading.
	assert.Equal(t, rule.Inconclusive, read(t, y, tell(9*ms), samples).Verdict)
}

// Memory for several orders is taken once.
func TestOrdersAllocateNothing(t *testing.T) {
	m := compile(t, rule.Rule{Name: "the rule", Pattern: rule.BoundedResponse, P: makes(p), S: makes(s), Limit: ms,
		Scope: rule.Scope{Kind: rule.AfterUntil, Q: made(q), R: made(r)}})
	m.Begin(0, [signal.LineCount]signal.Level{}, motion.Stopped)
	at, level := signal.Instant(0), signal.Made
	again := func() {
		for range 4 {
			for i, l := range []signal.Line{p, q, s, r} {
				early := at + signal.Instant(i)
				m.Edge(signal.EdgeSeen{Line: l, Level: level, Span: signal.Span{Early: early, Late: early + 10}})
			}
			at, level = at+1000, level.Not()
		}
		m.Clock(at)
	}
	again()
	require.Zero(t, testing.AllocsPerRun(10, again))
}
