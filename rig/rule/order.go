package rule

import "pintle/rig/signal"

// overlap finds stretches of P that share time with the scope: absence and
// universality fail on one (the latter on stretches of not P), existence passes.
type overlap struct {
	bad    bool // an overlap fails
	negate bool // P is already the opposite of the rule's P
	found  bool
}

func (b *overlap) open(c *check, at stamp) {
	b.found = false
	if c.p.holds() {
		b.find(c, at.span)
	}
}

func (b *overlap) step(c *check, at stamp) {
	if c.p.rose || c.p.point {
		b.find(c, at.span)
	}
}

// find notes that P holds. What ends it comes later, so it does for some time.
func (b *overlap) find(c *check, rise signal.Span) {
	o := occurrence{verdict: Pass, n: 1, spans: [2]signal.Span{rise}}
	switch {
	case b.bad && b.negate:
		o.verdict, o.why = Fail, whyNot
	case b.bad:
		o.verdict, o.why = Fail, whyHeld
	case b.found:
		return
	}
	b.found = true
	c.note(o)
}

// sum judges a segment in which there was nothing to find.
func (b *overlap) sum(c *check) {
	switch {
	case b.found:
	case b.bad:
		c.note(occurrence{verdict: Pass, n: 1, spans: [2]signal.Span{c.opened.span}})
	default:
		c.note(occurrence{verdict: Fail, why: whyNever, n: 1, spans: [2]signal.Span{c.opened.span}})
	}
}

func (b *overlap) shut(c *check, _ stamp) { b.sum(c) }

func (b *overlap) expire(*check, signal.Instant) {}

func (b *overlap) stop(c *check, _ signal.Instant) { b.sum(c) }

func (b *overlap) take(from body) { *b = *from.(*overlap) }

func (b *overlap) same(as body) bool { return *b == *as.(*overlap) }

// counting counts how often P comes to hold.
type counting struct {
	count int64
	last  signal.Span
}

func (b *counting) open(c *check, at stamp) {
	*b = counting{}
	if c.p.holds() {
		b.more(c, at.span)
	}
}

func (b *counting) step(c *check, at stamp) {
	if c.p.rose || c.p.point {
		b.more(c, at.span)
	}
}

func (b *counting) more(c *check, at signal.Span) {
	b.count++
	b.last = at
	if b.count > int64(c.rule.Count) {
		c.measure(Interval{b.count, b.count}, c.opened.span, b.last, 0)
	}
}

func (b *counting) shut(c *check, at stamp) { b.sum(c, at.span) }

func (b *counting) expire(*check, signal.Instant) {}

func (b *counting) stop(c *check, end signal.Instant) { b.sum(c, signal.At(end)) }

func (b *counting) sum(c *check, to signal.Span) {
	if b.count > 0 {
		to = b.last
	}
	c.measure(Interval{b.count, b.count}, c.opened.span, to, 1)
}

func (b *counting) take(from body) { *b = *from.(*counting) }

func (b *counting) same(as body) bool { return b.count == as.(*counting).count }

// precedence wants S to have held by the time that P does.
type precedence struct {
	seen bool        // S has held
	s    signal.Span // when that began
	over bool        // P has held: what comes later says nothing
}

func (b *precedence) open(c *check, at stamp) {
	*b = precedence{}
	b.step(c, at)
}

func (b *precedence) step(c *check, at stamp) {
	if b.over {
		return
	}
	if c.s.holds() && !b.seen {
		b.seen, b.s = true, at.span
	}
	if !c.p.holds() {
		return
	}
	b.over = true
	if b.seen {
		c.note(occurrence{verdict: Pass, n: 1, spans: [2]signal.Span{b.s, at.span}})
	} else {
		c.note(occurrence{verdict: Fail, why: whyFirst, n: 1, spans: [2]signal.Span{at.span}})
	}
}

func (b *precedence) shut(*check, stamp) {}

func (b *precedence) expire(*check, signal.Instant) {}

func (b *precedence) stop(*check, signal.Instant) {}

func (b *precedence) take(from body) { *b = *from.(*precedence) }

func (b *precedence) same(as body) bool {
	o := as.(*precedence)
	return b.over == o.over && (b.over || b.seen == o.seen)
}
