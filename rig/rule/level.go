package rule

import (
	"time"

	"pintle/rig/signal"
)

// extreme follows the largest or the smallest current in the scope.
type extreme struct {
	over  bool // the smallest counts
	any   bool
	value signal.Current
	when  signal.Sample
	told  bool
}

func (b *extreme) open(c *check, _ stamp) { *b = extreme{over: b.over} }

func (b *extreme) step(*check, stamp) {}

// band gives the currents that would change nothing.
func (b *extreme) band(c *check) (lo, hi signal.Current) {
	switch {
	case !c.open:
		return 0, 1 << 62
	case !b.any:
		return 1, 0
	case b.over:
		return b.value, 1 << 62
	}
	return 0, b.value
}

func (b *extreme) sample(c *check, s signal.Sample, size signal.Current) {
	if !c.open || s.From < c.opened.span.Late {
		return
	}
	if b.any && (b.over && size >= b.value || !b.over && size <= b.value) {
		return
	}
	b.any, b.value, b.when = true, size, s
	if b.breaks(c) && c.rule.Scope.Kind != Before && c.rule.Scope.Kind != Between && c.r == nil {
		b.told = true
		b.tell(c, false)
	}
}

func (b *extreme) breaks(c *check) bool {
	sense, limit := c.limit()
	return c.judge(Interval{int64(b.value), int64(b.value)}, limit, sense) == Fail
}

func (b *extreme) tell(c *check, doubt bool) {
	if b.any {
		v := Interval{int64(b.value), int64(b.value)}
		span := signal.Span{Early: b.when.From, Late: b.when.To}
		c.measure(v, span, span, 1, doubt)
	}
}

// shut judges the segment. A reading that reaches past its end may be of a
// current that flowed after it.
func (b *extreme) shut(c *check, at stamp) {
	b.tell(c, b.when.To > at.span.Early && b.breaks(c))
}

func (b *extreme) expire(*check, signal.Instant) {}

func (b *extreme) stop(c *check, _ signal.Instant) { b.tell(c, false) }

// average follows the mean of the current over a window.
type average struct {
	over  bool
	ring  []signal.Sample // the samples of the window, oldest at head
	head  int
	n     int
	sum   int64
	any   bool
	value int64
	when  signal.Span
}

func (b *average) open(*check, stamp) {
	b.head, b.n, b.sum, b.any = 0, 0, 0, false
}

func (b *average) step(*check, stamp) {}

func (b *average) sample(c *check, s signal.Sample, size signal.Current) {
	if !c.open || s.From < c.opened.span.Late {
		return
	}
	full := false
	for b.n > 0 && s.From.Sub(b.ring[b.head].From) >= c.rule.Window {
		b.sum -= int64(b.ring[b.head].Current)
		b.head = (b.head + 1) % len(b.ring)
		b.n--
		full = true
	}
	b.push(signal.Sample{From: s.From, To: s.To, Current: size})
	if !full && !b.covers(c) {
		return
	}
	mean := b.sum / int64(b.n)
	if b.any && (b.over && mean >= b.value || !b.over && mean <= b.value) {
		return
	}
	b.any, b.value = true, mean
	b.when = signal.Span{Early: b.ring[b.head].From, Late: s.To}
}

// covers says whether the samples reach over the whole window: the readings of a
// window that is just full are one interval short of it from first to last.
func (b *average) covers(c *check) bool {
	if b.n < 2 {
		return false
	}
	first, last := b.ring[b.head], b.ring[(b.head+b.n-1)%len(b.ring)]
	span := last.From.Sub(first.From)
	return span+span/time.Duration(b.n-1) >= c.rule.Window
}

func (b *average) push(s signal.Sample) {
	if b.n == len(b.ring) {
		grown := make([]signal.Sample, max(64, 2*len(b.ring)))
		for i := range b.n {
			grown[i] = b.ring[(b.head+i)%len(b.ring)]
		}
		b.ring, b.head = grown, 0
	}
	b.ring[(b.head+b.n)%len(b.ring)] = s
	b.n++
	b.sum += int64(s.Current)
}

func (b *average) tell(c *check, doubt bool) {
	if b.any {
		c.measure(Interval{b.value, b.value}, b.when, b.when, 1, doubt)
	}
}

func (b *average) shut(c *check, at stamp) {
	sense, limit := c.limit()
	broken := b.any && c.judge(Interval{b.value, b.value}, limit, sense) == Fail
	b.tell(c, broken && b.when.Late > at.span.Early)
}

func (b *average) expire(*check, signal.Instant) {}

func (b *average) stop(c *check, _ signal.Instant) { b.tell(c, false) }
