package rule

import (
	"math/bits"

	"pintle/rig/signal"
)

// extreme follows the largest or the smallest current in the scope.
type extreme struct {
	over  bool // the smallest counts
	any   bool
	told  bool
	value signal.Current
	when  signal.Sample
}

func (b *extreme) open(*check, stamp) { *b = extreme{over: b.over} }

func (b *extreme) step(*check, stamp) {}

// band gives the currents that would change nothing.
func (b *extreme) band(c *check) (lo, hi signal.Current) {
	bound := c.rule.Current
	switch {
	case c.open && !b.any:
		return 1, 0
	case c.open:
		bound = b.value
	case !c.closed.known || c.closed.span.Early == c.closed.span.Late:
		return 0, 1 << 62
	}
	if b.over {
		return bound, 1 << 62
	}
	return 0, bound
}

// sample takes a sample before whose end nothing else is still to come.
func (b *extreme) sample(c *check, s signal.Sample) {
	v := Interval{int64(s.Current), int64(s.Current)}
	switch c.place(s.From, s.To) {
	case outside:
		return
	case doubtful:
		c.unsureIfBroken(v, signal.Span{Early: s.From, Late: s.To})
		return
	}
	if b.any && (b.over && s.Current >= b.value || !b.over && s.Current <= b.value) {
		return
	}
	b.any, b.value, b.when = true, s.Current, s
	if c.breaks(v) {
		b.tell(c)
	}
}

func (b *extreme) tell(c *check) {
	if b.any {
		span := signal.Span{Early: b.when.From, Late: b.when.To}
		c.measure(Interval{int64(b.value), int64(b.value)}, span, span, once(&b.told))
	}
}

func (b *extreme) shut(c *check, _ stamp) { b.tell(c) }

func (b *extreme) expire(*check, signal.Instant) {}

func (b *extreme) stop(c *check, _ signal.Instant) { b.tell(c) }

// average follows the worst of the means over a window that moves on sample by
// sample.
type average struct {
	over bool
	any  bool
	told bool

	worst, of int64 // sum and number of samples of the worst window
	when      signal.Span
}

func (b *average) open(*check, stamp) { *b = average{over: b.over} }

func (b *average) step(*check, stamp) {}

// band gives the sums of n samples that would change nothing.
func (b *average) band(c *check, n int64) (lo, hi int64) {
	bound := int64(min(c.rule.Current, signal.MostCurrent+1)) * n // no sum comes near a larger one
	switch {
	case c.open && (!b.any || b.of != n):
		return 1, 0
	case c.open:
		bound = b.worst
	case !c.closed.known || c.closed.span.Early == c.closed.span.Late:
		return 0, 1 << 62
	}
	if b.over {
		return bound, 1 << 62
	}
	return 0, bound
}

// window takes the sum of the n samples of a window, before whose end nothing
// else is still to come.
func (b *average) window(c *check, at signal.Span, sum, n int64) {
	switch c.place(at.Early, at.Late) {
	case outside:
		return
	case doubtful:
		c.unsureIfBroken(b.mean(sum, n), at)
		return
	}
	if b.any && !b.worse(sum, n) {
		return
	}
	b.any, b.worst, b.of, b.when = true, sum, n, at
	if c.breaks(b.mean(sum, n)) {
		b.tell(c)
	}
}

// worse compares a mean with the worst so far, without dividing.
func (b *average) worse(sum, n int64) bool {
	if b.over {
		return less(sum, b.of, b.worst, n)
	}
	return less(b.worst, n, sum, b.of)
}

// less says that one product is less than another. Of sums and numbers of samples none is
// below zero, and the product of two may be of twice their length.
func less(a, times, b, by int64) bool {
	if times == by {
		return a < b
	}
	high, low := bits.Mul64(uint64(a), uint64(times))
	most, rest := bits.Mul64(uint64(b), uint64(by))
	return high < most || high == most && low < rest
}

// mean rounds to the side on which the limit is nearer.
func (b *average) mean(sum, n int64) Interval {
	if !b.over {
		sum += n - 1
	}
	return Interval{sum / n, sum / n}
}

func (b *average) tell(c *check) {
	if b.any {
		c.measure(b.mean(b.worst, b.of), b.when, b.when, once(&b.told))
	}
}

func (b *average) shut(c *check, _ stamp) { b.tell(c) }

func (b *average) expire(*check, signal.Instant) {}

func (b *average) stop(c *check, _ signal.Instant) { b.tell(c) }

// once is 1 the first time, then 0: a worse value is the same occurrence.
func once(told *bool) int {
	if *told {
		return 0
	}
	*told = true
	return 1
}

// A place is where a stretch of time lies with respect to a scope.
type place uint8

const (
	outside  place = iota
	inside         // certainly, as a whole
	doubtful       // the border's span leaves it open
)

// place says where a stretch lies that ended before anything still to come. A
// stretch that a border certainly cuts lies outside.
func (c *check) place(from, to signal.Instant) place {
	switch {
	case c.open && from >= c.opened.span.Late:
		return inside
	case c.open && from >= c.opened.span.Early:
		return doubtful
	case c.closed.known && to > c.closed.span.Early && to <= c.closed.span.Late:
		return doubtful
	}
	return outside
}

func (c *check) breaks(v Interval) bool {
	sense, limit := c.limit()
	return c.judge(Measured{Rule: c.rule, Value: v, Limit: limit, Sense: sense}) != Pass
}

// unsureIfBroken notes a value that may belong to the scope and would not pass.
func (c *check) unsureIfBroken(v Interval, at signal.Span) {
	if !c.breaks(v) {
		return
	}
	o := occurrence{verdict: Inconclusive, why: whyOrder, spans: [2]signal.Span{at}, n: 1}
	if c.open && at.Late > c.opened.span.Early {
		c.seg.add(o)
	}
	if c.closed.known && at.Early < c.closed.span.Late && at.Late > c.closed.span.Early {
		c.total.add(o) // of the segment before, which counts already
	}
}
