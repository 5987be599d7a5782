package rule

import (
	"time"

	"pintle/rig/signal"
)

// response wants S after each P, within the limit where the rule has one.
type response struct {
	active  bool        // P has held and S has not come since
	from    signal.Span // the earliest instant that waits
	overdue bool
	n       int
}

func (b *response) open(c *check, at stamp) {
	*b = response{}
	b.ask(c, at.span, true)
}

func (b *response) step(c *check, at stamp) {
	if b.active && c.s.holds() {
		b.answer(c, at.span, false)
	}
	b.ask(c, at.span, false)
}

// ask notes an instant of P that waits for S. A P that goes on holding asks anew
// where the segment opens, and after an S that was an event.
func (b *response) ask(c *check, at signal.Span, opening bool) {
	if c.p.rose || c.p.point {
		b.n++
	}
	if b.active || !c.p.holds() {
		return
	}
	if c.s.holds() && (c.p.turned() || opening) {
		b.from = at
		b.answer(c, at, false)
	}
	if c.s.is || c.s.point && !c.p.is {
		return
	}
	b.active, b.from, b.overdue = true, at, false
	if c.timed() {
		c.deadline = at.Late.Add(c.rule.Limit)
		c.pending = c.deadline
	}
}

// timed says that the answer has a time by which it must come.
func (c *check) timed() bool { return c.info.Has(PartLimit) }

func (b *response) answer(c *check, at signal.Span, cut bool) {
	n, from := max(1, b.n), b.from
	if b.overdue { // the wait is known now; the verdict was settled at the deadline
		n = 0
	}
	*b = response{}
	c.deadline, c.pending = signal.Never, quiet
	switch {
	case cut:
		c.note(occurrence{verdict: Fail, why: whyUnmet, n: n, spans: [2]signal.Span{from, at}, value: lasted(from, at)})
	case !c.timed():
		c.note(occurrence{verdict: Pass, n: n, spans: [2]signal.Span{from, at}})
	default:
		c.measure(lasted(from, at), from, at, n)
	}
}

func (b *response) expire(c *check, _ signal.Instant) {
	if !b.active || b.overdue {
		return
	}
	b.overdue = true
	c.pending = quiet
	b.late(c, b.from.Late.Add(c.rule.Limit)+1)
}

// late notes that the answer has not come by an instant after the deadline. The
// instant is never that of a call, so how often Clock is called changes nothing.
func (b *response) late(c *check, now signal.Instant) {
	n := b.n
	b.n = 0
	v := int64(now - b.from.Late)
	c.note(occurrence{verdict: Fail, why: whyLate, measured: true, value: Interval{v, v}, n: n, spans: [2]signal.Span{b.from, signal.At(now)}})
}

func (b *response) shut(c *check, at stamp) {
	switch {
	case b.active && b.overdue:
		b.late(c, max(at.span.Early, b.from.Late.Add(c.rule.Limit)+1))
	case b.active:
		b.answer(c, at.span, true)
	}
}

func (b *response) stop(c *check, end signal.Instant) {
	switch {
	case !b.active:
	case b.overdue:
		b.late(c, end)
	case !c.timed():
		b.answer(c, signal.At(end), true)
	default:
		c.note(occurrence{verdict: Inconclusive, why: whyEnd, n: max(1, b.n), spans: [2]signal.Span{b.from}})
	}
}

func (b *response) take(from body) { *b = *from.(*response) }

func (b *response) same(as body) bool {
	o := *as.(*response)
	o.n = b.n
	return *b == o
}

// duration measures how long P holds.
type duration struct {
	most   bool // at most the limit, otherwise at least
	active bool
	from   signal.Span
	failed bool // it has been found too long already
}

func (b *duration) open(c *check, at stamp) {
	*b = duration{most: b.most}
	if c.p.is {
		b.start(c, at.span, c.p.rose)
	}
}

func (b *duration) step(c *check, at stamp) {
	if c.p.fell && b.active {
		b.end(c, at.span, true)
	}
	if c.p.rose {
		b.start(c, at.span, true)
	}
}

func (b *duration) start(c *check, at signal.Span, whole bool) {
	if !whole && !b.most {
		return // how long it has held already is not known, nor did it begin here
	}
	b.active, b.from, b.failed = true, at, false
	over := at.Late.Add(c.rule.Limit)
	c.pending = over
	if b.most {
		c.deadline = over
	}
}

// end judges a stretch. One that was cut off and is to last says something only
// where it has lasted long enough already.
func (b *duration) end(c *check, at signal.Span, judged bool) {
	n, from := 1, b.from
	if b.failed {
		n = 0
	}
	*b = duration{most: b.most}
	c.deadline, c.pending = signal.Never, quiet
	v := lasted(from, at)
	if !judged && v.Least < int64(c.rule.Limit) {
		return
	}
	c.measure(v, from, at, n)
}

func (b *duration) expire(c *check, _ signal.Instant) {
	if !b.active {
		return
	}
	b.failed = true
	c.pending = quiet
	c.tooLong(b.from)
}

func (b *duration) shut(c *check, at stamp) {
	if b.active {
		b.end(c, at.span, b.most)
	}
}

func (b *duration) stop(c *check, end signal.Instant) {
	if !b.active {
		return
	}
	if b.most && !b.failed {
		c.note(occurrence{verdict: Inconclusive, why: whyEnd, n: 1, spans: [2]signal.Span{b.from}})
		return
	}
	b.end(c, signal.At(end), b.most)
}

func (b *duration) take(from body) { *b = *from.(*duration) }

func (b *duration) same(as body) bool { return *b == *as.(*duration) }

// tooLong notes a stretch that has certainly lasted longer than the limit.
func (c *check) tooLong(from signal.Span) {
	v := int64(c.rule.Limit) + 1
	c.note(occurrence{verdict: Fail, why: whyValue, measured: true, value: Interval{v, v}, n: 1,
		spans: [2]signal.Span{from, signal.At(from.Late.Add(c.rule.Limit) + 1)}})
}

// recurrence measures the gaps between one P and the next.
type recurrence struct {
	active bool // P does not hold
	from   signal.Span
	failed bool
}

func (b *recurrence) open(c *check, at stamp) {
	*b = recurrence{}
	if c.p.holds() {
		c.measure(Interval{}, at.span, at.span, 1) // no gap at the beginning
	}
	if !c.p.is {
		b.start(c, at.span)
	}
}

func (b *recurrence) step(c *check, at stamp) {
	if (c.p.rose || c.p.point) && b.active {
		b.end(c, at.span)
	}
	if c.p.fell || c.p.point {
		b.start(c, at.span)
	}
}

func (b *recurrence) start(c *check, at signal.Span) {
	b.active, b.from, b.failed = true, at, false
	c.deadline = at.Late.Add(c.rule.Limit)
}

func (b *recurrence) end(c *check, at signal.Span) {
	n, from := 1, b.from
	if b.failed {
		n = 0
	}
	*b = recurrence{}
	c.deadline = signal.Never
	c.measure(lasted(from, at), from, at, n)
}

func (b *recurrence) expire(c *check, _ signal.Instant) {
	if !b.active {
		return
	}
	b.failed = true
	c.tooLong(b.from)
}

func (b *recurrence) shut(c *check, at stamp) {
	if b.active {
		b.end(c, at.span)
	}
}

func (b *recurrence) stop(c *check, end signal.Instant) {
	switch {
	case b.active && b.failed:
		b.end(c, signal.At(end))
	case b.active && end.Sub(b.from.Early) > c.rule.Limit: // it may have been too long already
		c.note(occurrence{verdict: Inconclusive, why: whyEnd, n: 1, spans: [2]signal.Span{b.from}})
	}
}

func (b *recurrence) take(from body) { *b = *from.(*recurrence) }

func (b *recurrence) same(as body) bool { return *b == *as.(*recurrence) }

// invariance wants S to hold from each P on for the limit.
type invariance struct {
	active bool        // S has held since the last P
	from   signal.Span // the last instant of P; of a P that still holds, its start
	n      int
}

func (b *invariance) open(c *check, at stamp) {
	*b = invariance{}
	if c.p.holds() {
		b.start(c, at.span)
	}
}

func (b *invariance) step(c *check, at stamp) {
	if b.active && c.s.fell {
		b.broken(c, at.span)
	}
	if c.p.rose || c.p.point {
		b.start(c, at.span)
	}
	if c.p.is && c.s.rose && !b.active {
		b.active, b.from = true, at.span
	}
	if c.p.fell && b.active {
		b.from = at.span
		b.wait(c)
	}
}

func (b *invariance) start(c *check, at signal.Span) {
	if !c.s.is {
		*b = invariance{}
		c.measure(Interval{}, at, at, 1)
		return
	}
	b.active, b.from = true, at
	b.n++
	b.wait(c)
}

func (b *invariance) wait(c *check) {
	if !c.p.is {
		c.pending = b.from.Late.Add(c.rule.Limit)
	}
}

// broken judges how long S held after the last P: not at all where P held until
// now, for S should still have done.
func (b *invariance) broken(c *check, at signal.Span) {
	n, v, from := max(1, b.n), lasted(b.from, at), b.from
	if c.p.is && !c.p.rose || c.p.fell {
		v, from = Interval{}, at
	}
	*b = invariance{}
	c.pending = quiet
	c.measure(v, from, at, n)
}

func (b *invariance) expire(*check, signal.Instant) {}

func (b *invariance) shut(c *check, at stamp) {
	if b.active {
		// Held as long as it was asked to: up to R.
		b.kept(c, at.span)
	}
}

func (b *invariance) stop(c *check, end signal.Instant) {
	switch {
	case !b.active:
	case c.p.is || end.Sub(b.from.Late) < c.rule.Limit:
		c.note(occurrence{verdict: Inconclusive, why: whyEnd, n: max(1, b.n), spans: [2]signal.Span{b.from}})
	default:
		b.kept(c, signal.At(end))
	}
}

// kept notes a stretch that held until it no longer mattered.
func (b *invariance) kept(c *check, to signal.Span) {
	n, v := max(1, b.n), lasted(b.from, to)
	if time.Duration(v.Least) >= c.rule.Limit {
		c.measure(v, b.from, to, n)
	} else {
		c.note(occurrence{verdict: Pass, n: n, spans: [2]signal.Span{b.from, to}})
	}
	*b = invariance{}
}

func (b *invariance) take(from body) { *b = *from.(*invariance) }

func (b *invariance) same(as body) bool {
	o := *as.(*invariance)
	o.n = b.n
	return *b == o
}
