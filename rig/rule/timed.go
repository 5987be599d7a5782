package rule

import (
	"time"

	"pintle/rig/signal"
)

// response wants S after each P, within the limit where the rule has one.
type response struct {
	active  bool  // P has held and S has not come since
	from    stamp // the earliest instant that waits
	doubt   bool  // S may have come just before or after from
	overdue bool
	n       int
}

func (b *response) open(c *check, at stamp) {
	*b = response{}
	b.ask(c, at)
}

func (b *response) step(c *check, at stamp) {
	// A state that comes to hold near P answers it whichever came first. An event,
	// or a state that ends, does so only if it came after.
	switch {
	case b.active && (c.s.point || c.s.fell) && at.muddled(b.from):
		b.doubt = true
	case !b.active && c.s.fell && at.muddled(c.p.last):
		c.unsure(at.span)
	}
	if b.active && c.s.holds() {
		b.answer(c, at.span, false)
	}
	b.ask(c, at)
}

// ask notes an instant of P that waits for S.
func (b *response) ask(c *check, at stamp) {
	if c.p.rose || c.p.point {
		b.n++
	}
	if b.active || !c.p.holds() {
		return
	}
	switch {
	case c.s.is:
		if c.p.turned() || at == c.opened {
			b.from, b.doubt = at, false
			b.answer(c, at.span, false)
		}
		return
	case c.s.point && !c.p.is:
		b.from, b.doubt = at, false
		b.answer(c, at.span, false)
		return
	case c.s.point && (c.p.turned() || at == c.opened):
		b.from, b.doubt = at, false
		b.answer(c, at.span, false)
	}
	b.active, b.from, b.overdue = true, at, false
	b.doubt = c.s.last.muddled(at)
	if c.rule.Limit > 0 && c.rule.Pattern == BoundedResponse {
		c.deadline = at.span.Late.Add(c.rule.Limit)
		c.pending = c.deadline
	}
}

func (b *response) answer(c *check, at signal.Span, cut bool) {
	n := max(1, b.n)
	b.active, b.n = false, 0
	c.deadline, c.pending = signal.Never, b.from.span.Early-1
	if b.overdue { // the wait is known now; the verdict was settled at the deadline
		n = 0
	}
	switch {
	case cut && b.doubt:
		c.unsure(b.from.span)
	case cut:
		v := lasted(b.from.span, at)
		c.note(occurrence{verdict: Fail, why: whyUnmet, n: n, spans: [2]signal.Span{b.from.span, at}, value: v})
	case c.rule.Pattern == Response && b.doubt:
		c.unsure(at)
	case c.rule.Pattern == Response:
		c.note(occurrence{verdict: Pass, n: n, spans: [2]signal.Span{b.from.span, at}})
	default:
		c.measure(lasted(b.from.span, at), b.from.span, at, n, b.doubt)
	}
}

func (b *response) expire(c *check, now signal.Instant) {
	if !b.active || b.overdue {
		return
	}
	b.overdue = true
	c.pending = now - 1
	b.late(c, b.from.span.Late.Add(c.rule.Limit)+1)
}

// late notes that the answer has not come by an instant after the deadline. The
// instant is never that of a call, so how often Clock is called changes nothing.
func (b *response) late(c *check, now signal.Instant) {
	n := b.n
	b.n = 0
	if b.doubt {
		c.unsure(b.from.span)
		return
	}
	v := int64(now - b.from.span.Late)
	c.note(occurrence{verdict: Fail, why: whyLate, measured: true, value: Interval{v, v}, n: n, spans: [2]signal.Span{b.from.span, signal.At(now)}})
}

func (b *response) shut(c *check, at stamp) {
	switch {
	case b.active && b.overdue:
		b.late(c, at.span.Early)
	case b.active:
		b.answer(c, at.span, true)
	}
}

func (b *response) stop(c *check, end signal.Instant) {
	switch {
	case !b.active:
	case b.overdue:
		b.late(c, end)
	case c.rule.Pattern == Response:
		b.answer(c, signal.At(end), true)
	default:
		c.note(occurrence{verdict: Inconclusive, why: whyEnd, n: max(1, b.n), spans: [2]signal.Span{b.from.span}})
	}
}

// duration measures how long P holds.
type duration struct {
	most   bool // at most the limit, otherwise at least
	active bool
	from   stamp
	failed bool // it has been found too long already
}

func (b *duration) open(c *check, at stamp) {
	*b = duration{most: b.most}
	if c.p.is {
		b.start(c, at, c.p.rose)
	}
}

func (b *duration) step(c *check, at stamp) {
	if c.p.fell && b.active {
		b.end(c, at.span, true)
	}
	if c.p.rose {
		b.start(c, at, true)
	}
}

func (b *duration) start(c *check, at stamp, whole bool) {
	if !whole && !b.most {
		return // how long it has held already is not known, nor did it begin here
	}
	b.active, b.from, b.failed = true, at, false
	over := at.span.Late.Add(c.rule.Limit)
	c.pending = over
	if b.most {
		c.deadline = over
	}
}

// end judges a stretch. One that was cut off and is to last says something only
// where it has lasted long enough already.
func (b *duration) end(c *check, at signal.Span, judged bool) {
	b.active = false
	c.deadline, c.pending = signal.Never, b.from.span.Early-1
	v := lasted(b.from.span, at)
	if !judged && v.Least < int64(c.rule.Limit) {
		return
	}
	n := 1
	if b.failed {
		n = 0
	}
	c.measure(v, b.from.span, at, n, false)
}

func (b *duration) expire(c *check, now signal.Instant) {
	if !b.active {
		return
	}
	b.failed = true
	c.pending = now - 1
	over := b.from.span.Late.Add(c.rule.Limit) + 1
	v := int64(c.rule.Limit) + 1
	c.note(occurrence{verdict: Fail, why: whyValue, measured: true, value: Interval{v, v}, n: 1,
		spans: [2]signal.Span{b.from.span, signal.At(over)}})
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
		c.note(occurrence{verdict: Inconclusive, why: whyEnd, n: 1, spans: [2]signal.Span{b.from.span}})
		return
	}
	b.end(c, signal.At(end), b.most)
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
		c.measure(Interval{}, at.span, at.span, 1, false) // no gap at the beginning
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
	n := 1
	if b.failed {
		n = 0
	}
	b.active = false
	c.deadline = signal.Never
	c.measure(lasted(b.from, at), b.from, at, n, false)
}

func (b *recurrence) expire(c *check, _ signal.Instant) {
	if !b.active {
		return
	}
	b.failed = true
	over := b.from.Late.Add(c.rule.Limit) + 1
	v := int64(c.rule.Limit) + 1
	c.note(occurrence{verdict: Fail, why: whyValue, measured: true, value: Interval{v, v}, n: 1,
		spans: [2]signal.Span{b.from, signal.At(over)}})
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

// invariance wants S to hold from each P on for the limit.
type invariance struct {
	active bool  // S has held since the last P
	from   stamp // the last instant of P; of a P that still holds, its start
	doubt  bool
	absent bool // S was not there when P came; it may turn out to have come first
	n      int
}

func (b *invariance) open(c *check, at stamp) {
	*b = invariance{}
	if c.p.holds() {
		b.start(c, at)
	}
}

func (b *invariance) step(c *check, at stamp) {
	if b.active && c.s.fell {
		b.broken(c, at)
	}
	if b.absent && c.s.rose && at.muddled(b.from) {
		b.absent = false
		c.unsure(at.span)
	}
	if c.p.rose || c.p.point {
		b.start(c, at)
	}
	if c.p.is && c.s.rose && !b.active {
		b.active, b.from, b.doubt = true, at, false
	}
	if c.p.fell && b.active {
		b.from, b.doubt = at, b.doubt || c.s.last.muddled(at)
		b.wait(c)
	}
}

func (b *invariance) start(c *check, at stamp) {
	b.fail(c)
	b.n++
	if !c.s.is {
		if c.s.last.muddled(at) {
			c.unsure(at.span)
		} else {
			b.absent = true
			c.deadline = at.span.Late
		}
		b.n, b.active, b.from = 0, false, at
		return
	}
	b.active, b.from, b.doubt = true, at, c.s.last.muddled(at)
	b.wait(c)
}

// fail notes that S was not there when P came.
func (b *invariance) fail(c *check) {
	if b.absent {
		b.absent = false
		c.measure(Interval{}, b.from.span, b.from.span, 1, false)
	}
}

func (b *invariance) wait(c *check) {
	if !c.p.is {
		c.pending = b.from.span.Late.Add(c.rule.Limit)
	}
}

// broken judges how long S held after the last P.
func (b *invariance) broken(c *check, at stamp) {
	from, doubt := b.from.span, b.doubt || at.muddled(b.from)
	if c.p.is && !c.p.rose || c.p.fell { // P held until now: S should still have done
		from = at.span
	}
	b.close(c, from, at.span, doubt)
}

func (b *invariance) close(c *check, from, to signal.Span, doubt bool) {
	v := lasted(from, to)
	if from == to {
		v = Interval{}
	}
	c.measure(v, from, to, max(1, b.n), doubt)
	b.active, b.n = false, 0
	c.pending = from.Early - 1
}

func (b *invariance) expire(c *check, _ signal.Instant) { b.fail(c) }

func (b *invariance) shut(c *check, at stamp) {
	b.fail(c)
	if b.active {
		// Held as long as it was asked to: up to R.
		b.kept(c, at.span)
	}
}

func (b *invariance) stop(c *check, end signal.Instant) {
	b.fail(c)
	switch {
	case !b.active:
	case end.Sub(b.from.span.Late) < c.rule.Limit && !c.p.is || c.p.is:
		c.note(occurrence{verdict: Inconclusive, why: whyEnd, n: max(1, b.n), spans: [2]signal.Span{b.from.span}})
	default:
		b.kept(c, signal.At(end))
	}
}

// kept notes a stretch that held until it no longer mattered.
func (b *invariance) kept(c *check, to signal.Span) {
	v := lasted(b.from.span, to)
	if time.Duration(v.Least) >= c.rule.Limit {
		c.measure(v, b.from.span, to, max(1, b.n), b.doubt)
	} else {
		o := occurrence{verdict: Pass, n: max(1, b.n), spans: [2]signal.Span{b.from.span, to}}
		if b.doubt {
			o.verdict, o.why = Inconclusive, whyOrder
		}
		c.note(o)
	}
	b.active, b.n = false, 0
}
