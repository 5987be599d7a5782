package rule

import "pintle/rig/signal"

// overlap finds stretches of P that share time with the scope: absence and
// universality fail on one (the latter on stretches of not P), existence passes.
type overlap struct {
	bad    bool // an overlap fails
	negate bool // P is already the opposite of the rule's P

	active      bool
	early, late signal.Instant // when the shared stretch began
	point       bool
	rise        signal.Span
	sure, maybe bool
}

func (b *overlap) open(c *check, at stamp) {
	*b = overlap{bad: b.bad, negate: b.negate}
	if c.p.holds() {
		b.start(c, at)
	}
}

func (b *overlap) step(c *check, at stamp) {
	if c.p.fell {
		b.resolve(c, at.span)
	}
	if c.p.rose || c.p.point {
		b.start(c, at)
	}
}

func (b *overlap) start(c *check, at stamp) {
	q := c.opened
	b.active, b.rise, b.point = true, at.span, c.p.point
	b.early, b.late = max(at.span.Early, q.span.Early), max(at.span.Late, q.span.Late)
	if c.p.point && at.muddled(q) {
		b.found(c, false)
		b.active = false
		return
	}
	c.deadline = b.late
}

// resolve ends the stretch, by P's end or the scope's.
func (b *overlap) resolve(c *check, end signal.Span) {
	if !b.active {
		return
	}
	b.active = false
	switch {
	case b.late < end.Early:
		b.found(c, true)
	case b.early < end.Late:
		b.found(c, false)
	}
}

func (b *overlap) found(c *check, sure bool) {
	b.sure, b.maybe = b.sure || sure, b.maybe || !sure
	o := occurrence{verdict: Pass, n: 1, spans: [2]signal.Span{b.rise}}
	if b.bad {
		o.verdict, o.why = Fail, whyHeld
		if b.negate {
			o.why = whyNot
		}
	}
	if !sure {
		o.verdict, o.why = Inconclusive, whyOrder
	}
	if b.bad || sure && c.seg.verdict != Pass {
		c.note(o)
	}
	if sure && !b.bad {
		// Once it has been there for certain, doubts do not matter.
		c.seg = tally{occurrence: o, any: true}
	}
}

func (b *overlap) shut(c *check, at stamp) {
	b.resolve(c, at.span)
	b.sum(c, at.span.Late > c.opened.span.Early)
}

func (b *overlap) expire(c *check, _ signal.Instant) {
	if b.active {
		b.active = false
		b.found(c, true)
	}
}

func (b *overlap) stop(c *check, end signal.Instant) {
	if b.active {
		b.active = false
		b.found(c, b.late <= end)
	}
	b.sum(c, end >= c.opened.span.Early)
}

// sum judges a segment in which there was nothing to find.
func (b *overlap) sum(c *check, lasted bool) {
	switch {
	case !lasted:
	case b.bad && !c.seg.any:
		c.note(occurrence{verdict: Pass, n: 1, spans: [2]signal.Span{c.opened.span}})
	case !b.bad && !b.sure && b.maybe:
		c.note(occurrence{verdict: Inconclusive, why: whyOrder, n: 1})
	case !b.bad && !b.sure && !c.seg.any:
		c.note(occurrence{verdict: Fail, why: whyNever, n: 1, spans: [2]signal.Span{c.opened.span}})
	}
}

// counting counts how often P comes to hold.
type counting struct {
	least, most int64
	last        signal.Span
}

func (b *counting) open(c *check, at stamp) {
	*b = counting{}
	if c.p.holds() {
		b.count(c, at, c.p.last.muddled(at))
	}
}

func (b *counting) step(c *check, at stamp) {
	if c.p.rose || c.p.point {
		b.count(c, at, at.muddled(c.opened))
	}
}

func (b *counting) count(c *check, at stamp, doubt bool) {
	b.most++
	if !doubt {
		b.least++
	}
	b.last = at.span
	if b.least > int64(c.rule.Count) {
		c.measure(Interval{b.least, b.most}, c.opened.span, b.last, 0, false)
	}
}

func (b *counting) shut(c *check, at stamp) { b.sum(c, at.span) }

func (b *counting) expire(*check, signal.Instant) {}

func (b *counting) stop(c *check, end signal.Instant) { b.sum(c, signal.At(end)) }

func (b *counting) sum(c *check, to signal.Span) {
	if b.most > 0 {
		to = b.last
	}
	c.measure(Interval{b.least, b.most}, c.opened.span, to, 1, false)
}

// precedence wants S to have held by the time that P does.
type precedence struct {
	seen    bool // S has held
	s       stamp
	waiting bool // P has held without it, but S may turn out to have come first
	p       stamp
	over    bool // P has held: what comes later says nothing
}

func (b *precedence) open(c *check, at stamp) {
	*b = precedence{}
	b.look(c, at)
}

func (b *precedence) step(c *check, at stamp) {
	if b.waiting && c.s.holds() && at.muddled(b.p) {
		b.waiting = false
		c.unsure(at.span)
	}
	b.look(c, at)
}

func (b *precedence) look(c *check, at stamp) {
	if b.over {
		return
	}
	if c.s.holds() && !b.seen {
		b.seen, b.s = true, at
	}
	if !c.p.holds() {
		return
	}
	b.over, b.p = true, at
	switch {
	case !b.seen:
		b.waiting = true
		c.deadline = at.span.Late
	case b.s.muddled(at):
		c.unsure(at.span)
	default:
		c.note(occurrence{verdict: Pass, n: 1, spans: [2]signal.Span{b.s.span, at.span}})
	}
}

func (b *precedence) fail(c *check) {
	if b.waiting {
		b.waiting = false
		c.note(occurrence{verdict: Fail, why: whyFirst, n: 1, spans: [2]signal.Span{b.p.span}})
	}
}

func (b *precedence) shut(c *check, _ stamp) { b.fail(c) }

func (b *precedence) expire(c *check, _ signal.Instant) { b.fail(c) }

func (b *precedence) stop(c *check, _ signal.Instant) { b.fail(c) }
