package rule

import (
	"pintle/rig/signal"
)

// A body is what is particular to a pattern. It is told of the segments of its
// rule's scope and of what happens in them.
type body interface {
	open(c *check, at stamp)             // a segment begins
	step(c *check, at stamp)             // P or S has changed inside it
	shut(c *check, at stamp)             // R has ended it; what R came with is not part of it
	expire(c *check, now signal.Instant) // the deadline that was set is over
	stop(c *check, end signal.Instant)   // the trial has ended inside it
}

// A check is one rule at work: its scope, the occurrences it has judged, and the
// body of its pattern. It sees changes in one definite order; where that is not
// known there are several, see orders.
type check struct {
	rule       *Rule
	info       *PatternInfo // of the rule's pattern
	judge      Judge
	p, s, q, r *cond // nil where the rule has none
	body       body

	word   uint64         // the facts as they are by what has been put in its place
	placed uint64         // what has been, of all that the orders wait with: one bit each
	latest signal.Instant // the latest of the earliest instants of what has been: the rest comes after it

	open     bool
	spent    bool  // the scope cannot open again
	opened   stamp // when the segment under way began
	closed   stamp // when the last one ended
	deadline signal.Instant
	pending  signal.Instant // see Monitor.Pending; quiet: nothing is open

	blurred bool // something that it rests on came in an order that cannot be told

	seg, total tally // of the segment under way; of all that count
}

// quiet is an instant before all that can be waited for.
const quiet = -signal.Never

func newCheck(r *Rule, judge Judge) *check {
	info := r.Pattern.Info()
	return &check{rule: r, info: info, judge: judge, body: info.make()}
}

func (c *check) conds() [4]*cond { return [...]*cond{c.p, c.s, c.q, c.r} }

func (c *check) begin(at signal.Instant, word uint64) {
	*c = check{rule: c.rule, info: c.info, judge: c.judge, p: c.p, s: c.s, q: c.q, r: c.r, body: c.body,
		word: word, latest: quiet, deadline: signal.Never, pending: quiet}
	for _, x := range c.conds() {
		if x != nil {
			x.begin(word)
		}
	}
	start := stamp{span: signal.At(at), known: true}
	switch c.rule.Scope.Kind {
	case Globally:
		c.enter(start)
	case Before:
		if c.r.is {
			c.spent = true
			return
		}
		c.enter(start)
	case After:
		if c.q.is {
			c.enter(start)
		}
	default:
		if c.q.is && !c.r.is {
			c.enter(start)
		}
	}
}

// looks says whether the present change concerns the check.
func (c *check) looks() bool {
	for _, x := range c.conds() {
		if x != nil && x.turned() {
			return true
		}
	}
	return false
}

// turn lets facts change.
func (c *check) turn(flip uint64, at stamp) {
	c.word ^= flip
	for _, x := range c.conds() {
		if x != nil {
			x.change(c.word, at)
		}
	}
	if c.looks() {
		c.change(at)
	}
	for _, x := range c.conds() {
		if x != nil {
			x.rest()
		}
	}
}

func (c *check) change(at stamp) {
	if c.open && c.r != nil && c.rule.Scope.Kind != After && c.r.holds() {
		c.leave(at)
	}
	if !c.open && !c.spent && c.opens() {
		if c.r != nil && c.r.point {
			c.hush()
		}
		c.enter(at)
		return
	}
	if c.open {
		c.body.step(c, at)
	}
}

// opens says whether a segment begins with the present change: Q holds and R does
// not. A Q that goes on holding past an R that was an event begins one at once.
func (c *check) opens() bool {
	if c.q == nil {
		return false
	}
	if c.rule.Scope.Kind == After {
		return c.q.holds()
	}
	return c.q.is && !c.r.is || c.q.point && !c.r.holds()
}

// hush makes the present change of P and S one that lies before the segment: the
// instant of an R that is an event is no part of the segment that begins after it.
func (c *check) hush() {
	for _, x := range [...]*cond{c.p, c.s} {
		if x != nil {
			x.rest()
		}
	}
}

func (c *check) enter(at stamp) {
	sense, _ := c.limit()
	c.open, c.opened, c.seg = true, at, tally{sense: sense}
	c.deadline = signal.Never
	c.body.open(c, at)
}

// leave ends the segment. Where its scope needs an R, what was found counts only
// now.
func (c *check) leave(at stamp) {
	c.body.shut(c, at)
	c.total.merge(&c.seg)
	c.open, c.closed, c.deadline, c.pending = false, at, signal.Never, quiet
	c.spent = c.rule.Scope.Kind == Before
}

// expire lets a deadline be over if nothing that is to come lies before now.
func (c *check) expire(now signal.Instant) {
	if now > c.deadline {
		c.deadline = signal.Never
		c.body.expire(c, now)
	}
}

// twin makes another check of the same rule.
func (c *check) twin() *check {
	again := func(x *cond) *cond {
		if x == nil {
			return nil
		}
		y := *x
		return &y
	}
	t := newCheck(c.rule, c.judge)
	t.p, t.s, t.q, t.r = again(c.p), again(c.s), again(c.q), again(c.r)
	return t
}

// take makes a check what a twin is.
func (c *check) take(from *check) {
	mine, b := c.conds(), c.body
	*c = *from
	c.p, c.s, c.q, c.r, c.body = mine[0], mine[1], mine[2], mine[3], b
	for i, x := range from.conds() {
		if x != nil {
			*mine[i] = *x
		}
	}
	b.(manifold).take(from.body)
}

// same says that a check and its twin come to the same verdict whatever comes.
func (c *check) same(o *check) bool {
	if c.placed != o.placed || c.latest != o.latest || c.open != o.open || c.spent != o.spent ||
		c.opened.known != o.opened.known || c.closed.known != o.closed.known || !c.total.alike(&o.total) {
		return false
	}
	return !c.open || c.opened == o.opened && c.deadline == o.deadline && c.seg.alike(&o.seg) && c.body.(manifold).same(o.body)
}

// blend makes a check stand for a twin that is the same.
func (c *check) blend(o *check) {
	c.total.blend(&o.total)
	c.seg.blend(&o.seg)
	c.pending = max(c.pending, o.pending)
}

// note adds an occurrence to the segment under way.
func (c *check) note(o occurrence) { c.seg.add(o) }

// measure judges a value and notes it.
func (c *check) measure(v Interval, from, to signal.Span, n int) {
	sense, limit := c.limit()
	c.note(occurrence{verdict: c.judge(Measured{c.rule, v, limit, sense, [2]signal.Span{from, to}}), measured: true, value: v,
		spans: [2]signal.Span{from, to}, n: n, why: whyValue, reading: c.info.Unit.ofReadings()})
}

// lasted is the time from one span to another, which came later.
func lasted(from, to signal.Span) Interval {
	return Interval{max(0, int64(to.Early-from.Late)), max(0, int64(to.Late-from.Early))}
}

// settled says that the verdict cannot change any more, and what it is.
func (c *check) settled() (Verdict, bool) {
	switch {
	case c.total.verdict == Fail:
		return Fail, true
	case c.blurred || c.spent && !c.total.any:
		return Inconclusive, true
	case c.spent:
		return c.total.verdict, true
	}
	kind := c.rule.Scope.Kind
	switch {
	case !c.open || kind == Before || kind == Between:
	case c.seg.verdict == Fail:
		return Fail, true
	case c.seg.verdict == Pass && kind != AfterUntil && c.info.once:
		return Pass, true
	}
	return Unsettled, false
}

// awaits says that readings are still to come that may belong to a scope which is
// over: its end has a span, and none has begun after that.
func (c *check) awaits(v *stream) bool {
	return c.spent && c.closed.known && c.info.Unit.ofReadings() && c.total.verdict != Fail && !c.blurred &&
		!(v.sampled && v.prev.From >= c.closed.span.Late)
}

// finish ends the trial.
func (c *check) finish(end signal.Instant) Finding {
	if c.open {
		switch c.rule.Scope.Kind {
		case Before, Between: // the R that they need never came
		default:
			c.body.stop(c, end)
			c.total.merge(&c.seg)
		}
		c.open = false
	}
	return c.finding()
}
