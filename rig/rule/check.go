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
// body of its pattern.
type check struct {
	rule       *Rule
	judge      Judge
	p, s, q, r *cond // nil where the rule has none
	body       body

	open     bool
	spent    bool  // the scope cannot open again
	opened   stamp // when the segment under way began
	closed   stamp // when the last one ended
	deadline signal.Instant
	pending  signal.Instant // see Monitor.Pending

	blurred bool // something that it rests on came in an order that cannot be told

	seg, total tally // of the segment under way; of all that count
}

func (c *check) begin(at signal.Instant) {
	*c = check{rule: c.rule, judge: c.judge, p: c.p, s: c.s, q: c.q, r: c.r, body: c.body,
		deadline: signal.Never, pending: at - 1}
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
	for _, x := range [...]*cond{c.p, c.s, c.q, c.r} {
		if x != nil && x.turned() {
			return true
		}
	}
	return false
}

func (c *check) change(at stamp) {
	if c.q != nil && c.r != nil && (c.q.turned() || c.r.turned()) && c.q.last.muddled(c.r.last) {
		c.blur(at)
	}
	ended := c.open && c.r != nil && c.rule.Scope.Kind != After && c.r.holds()
	if ended {
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
		c.doubtBorder(c.opened, at)
		c.body.step(c, at)
		return
	}
	if !ended {
		c.doubtOutside(at)
	}
}

// blur gives the rule up as inconclusive, unless it was settled before: of what
// comes after, nothing can be said for certain. A rule that was settled by the end
// of its scope is given up all the same where that end is what is in doubt.
func (c *check) blur(at stamp) {
	if !c.settled() || at.muddled(c.closed) {
		c.blurred = true
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
	if c.muddledBy(at) {
		c.unsure(at.span)
	}
	c.body.open(c, at)
}

// leave ends the segment. Where its scope needs an R, what was found counts only
// now.
func (c *check) leave(at stamp) {
	if c.muddledBy(at) {
		c.unsure(at.span)
	}
	c.body.shut(c, at)
	c.total.merge(&c.seg)
	c.open, c.closed, c.deadline = false, at, signal.Never
	c.spent = c.rule.Scope.Kind == Before
}

// muddledBy says whether it cannot be told on which side of a border P or S
// changed.
func (c *check) muddledBy(border stamp) bool {
	return c.p != nil && c.p.last.muddled(border) || c.s != nil && c.s.last.muddled(border)
}

// doubtBorder notes a change inside the segment that may have come before it.
func (c *check) doubtBorder(border, at stamp) {
	if (c.p != nil && c.p.turned() || c.s != nil && c.s.turned()) && at.muddled(border) {
		c.unsure(at.span)
	}
}

// doubtOutside notes a change after the segment that may have come inside it.
func (c *check) doubtOutside(at stamp) {
	if (c.p != nil && c.p.turned() || c.s != nil && c.s.turned()) && at.muddled(c.closed) {
		c.total.add(occurrence{verdict: Inconclusive, why: whyOrder, spans: [2]signal.Span{at.span}, n: 1})
	}
}

// unsure notes that an order cannot be told.
func (c *check) unsure(at signal.Span) {
	c.note(occurrence{verdict: Inconclusive, why: whyOrder, spans: [2]signal.Span{at}, n: 1})
}

// note adds an occurrence to the segment under way.
func (c *check) note(o occurrence) { c.seg.add(o) }

// measure judges a value and notes it. What rests on an order that cannot be told
// is inconclusive at best and at worst.
func (c *check) measure(v Interval, from, to signal.Span, n int, doubt bool) {
	sense, limit := c.limit()
	o := occurrence{verdict: c.judge(Measured{c.rule, v, limit, sense, [2]signal.Span{from, to}}), measured: true, value: v,
		spans: [2]signal.Span{from, to}, n: n, why: whyValue}
	if doubt {
		o.verdict, o.why = Inconclusive, whyOrder
	}
	c.note(o)
}

// lasted is the time from one span to another.
func lasted(from, to signal.Span) Interval {
	return Interval{max(0, int64(to.Early-from.Late)), max(0, int64(to.Late-from.Early))}
}

// settled says that the verdict cannot change any more.
func (c *check) settled() bool {
	if c.total.verdict == Fail || c.spent || c.blurred {
		return true
	}
	kind := c.rule.Scope.Kind
	if !c.open || kind == Before || kind == Between {
		return false
	}
	return c.seg.verdict == Fail || c.seg.verdict == Pass && kind != AfterUntil && c.once()
}

// awaits says that readings are still to come that may belong to a scope which is
// over: its end has a span, and none has begun after that.
func (c *check) awaits(v *stream) bool {
	return c.spent && c.closed.known && unitOf(c.rule.Pattern).ofReadings() && c.total.verdict != Fail && !c.blurred &&
		!(v.sampled && v.prev.From >= c.closed.span.Late)
}

// once says whether a single occurrence that passes settles the rule.
func (c *check) once() bool {
	return c.rule.Pattern == Existence || c.rule.Pattern == Precedence
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
