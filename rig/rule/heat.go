package rule

import (
	"math"
	"time"

	"pintle/rig/signal"
	"pintle/rig/thermal"
)

// heat follows the thermal load of a part. The load is of the whole trial, for heat
// does not heed a scope; the largest one within the scope counts.
//
// Between two readings the current may have been either: one replica takes the
// smaller of the two, another the larger, and the load lies between them. A ripple
// that the meter averages away within one reading heats more than its mean, which
// no reading tells.
type heat struct {
	cool, warm thermal.Replica
	last       signal.Sample
	begun      bool

	any   bool
	told  bool
	peak  Interval
	least int64 // largest of the loads' lower bounds
	when  signal.Span
}

// begin sets the load at the beginning of a trial.
func (b *heat) begin(h Heating) {
	*b = heat{cool: thermal.Replica{Curve: h.Curve}, warm: thermal.Replica{Curve: h.Curve}}
	b.cool.Begin(float64(h.Start) / 1e6)
	b.warm.Begin(float64(h.Start) / 1e6)
}

func (b *heat) open(*check, stamp) { b.any, b.told, b.peak, b.least = false, false, Interval{}, 0 }

func (b *heat) step(*check, stamp) {}

// samples takes the samples from and up to, without, to. Nothing is still to come
// that happened before they ended.
func (b *heat) samples(c *check, t *tape, from, to int64) {
	for k := from; k < to; k++ {
		b.sample(c, *t.at(k))
	}
}

func (b *heat) sample(c *check, s signal.Sample) {
	was, d := b.last.Current, time.Duration(s.From-b.last.From)
	if !b.begun {
		b.begun, was, d = true, s.Current, time.Duration(s.To-s.From)
	}
	b.last = s
	b.cool.Add(min(was, s.Current), d)
	b.warm.Add(max(was, s.Current), d)
	v := Interval{int64(math.Floor(b.cool.Load() * 1e6)), int64(math.Ceil(b.warm.Load() * 1e6))}
	switch c.place(s.From, s.To) {
	case outside:
		return
	case doubtful:
		c.unsureIfBroken(v, signal.Span{Early: s.From, Late: s.To})
		return
	}
	b.take(c, v, signal.Span{Early: s.From, Late: s.To})
}

// take keeps the largest load. One that may break the limit is told at once: of
// those the surest counts, which need not be the largest.
func (b *heat) take(c *check, v Interval, at signal.Span) {
	hotter, surer := !b.any || v.Most > b.peak.Most, !b.any || v.Least > b.least
	if hotter {
		b.any, b.peak, b.when = true, v, at
	}
	if surer {
		b.least = v.Least
	}
	if (hotter || surer) && c.breaks(v) {
		c.measure(v, at, at, once(&b.told), false)
	}
}

func (b *heat) tell(c *check) {
	if b.any {
		c.measure(b.peak, b.when, b.when, once(&b.told), false)
	}
}

func (b *heat) shut(c *check, _ stamp) { b.tell(c) }

func (b *heat) expire(*check, signal.Instant) {}

func (b *heat) stop(c *check, _ signal.Instant) { b.tell(c) }
