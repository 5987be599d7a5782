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
// no reading tells. Before the first reading the current is taken to be that of the
// first.
type heat struct {
	cool, warm thermal.Replica
	last       signal.Sample
	began      signal.Instant
	begun      bool
	now        Interval // at the end of the last reading

	fresh bool // nothing of the segment has been looked at
	any   bool
	told  bool
	peak  Interval
	least int64 // largest of the loads' lower bounds
	when  signal.Span
}

// begin sets the load at the beginning of a trial.
func (b *heat) begin(h Heating, at signal.Instant) {
	*b = heat{cool: thermal.Replica{Curve: h.Curve}, warm: thermal.Replica{Curve: h.Curve}, began: at,
		now: Interval{h.Start, h.Start}, fresh: true}
	b.cool.Begin(float64(h.Start) / 1e6)
	b.warm.Begin(float64(h.Start) / 1e6)
}

func (b *heat) open(*check, stamp) {
	b.fresh, b.any, b.told, b.peak, b.least = true, false, false, Interval{}, 0
}

func (b *heat) step(*check, stamp) {}

// samples takes the samples from and up to, without, to. Nothing is still to come
// that happened before they ended.
func (b *heat) samples(c *check, t *tape, from, to int64) {
	for k := from; k < to; k++ {
		b.sample(c, t.at(k))
	}
}

func (b *heat) sample(c *check, s *signal.Sample) {
	was := b.now
	b.follow(s)
	b.now = Interval{millionths(math.Floor(b.cool.Load() * 1e6)), millionths(math.Ceil(b.warm.Load() * 1e6))}
	at := signal.Span{Early: s.From, Late: s.To}
	switch c.place(s.From, s.To) {
	case inside:
		b.take(c, b.now, at)
		if b.fresh { // as hot as it was left before
			b.take(c, hull(was, b.now), at)
		}
	case doubtful:
		c.unsureIfBroken(hull(was, b.now), at)
	default:
		b.cut(c, hull(was, b.now), at)
	}
	b.fresh = b.fresh && !c.open
}

// millionths is a load as a whole number. One too large for that is as large as can be:
// turned into a whole number as it is, it might come out below zero.
func millionths(load float64) int64 {
	if load < mostLoad {
		return int64(load)
	}
	return mostLoad // also where it is no number
}

const mostLoad = 1 << 52

// follow lets the replicas take in a reading.
func (b *heat) follow(s *signal.Sample) {
	was, d := b.last.Current, time.Duration(s.From-b.last.From)
	if !b.begun {
		b.begun, was, d = true, s.Current, time.Duration(s.To-min(s.From, b.began))
	}
	b.last = *s
	b.cool.Add(min(was, s.Current), d)
	b.warm.Add(max(was, s.Current), d)
}

// cut takes the load during a reading that lies across a border of the scope. Where
// the scope certainly has its end, the load was at some time in that part one from
// the reading's beginning to its end. Otherwise it can only take a pass away.
func (b *heat) cut(c *check, v Interval, at signal.Span) {
	switch {
	case c.open && at.Late > c.opened.span.Late:
		b.take(c, v, at)
	case c.open && at.Late > c.opened.span.Early,
		c.closed.known && at.Early < c.closed.span.Late && at.Late > c.closed.span.Early:
		c.unsureIfBroken(v, at)
	}
}

// hull is the interval that holds both.
func hull(v, w Interval) Interval {
	return Interval{min(v.Least, w.Least), max(v.Most, w.Most)}
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
		b.note(c, v, at)
	}
}

func (b *heat) note(c *check, v Interval, at signal.Span) {
	c.measure(v, at, signal.Span{}, once(&b.told))
}

func (b *heat) tell(c *check) {
	if b.any {
		b.note(c, b.peak, b.when)
	}
}

func (b *heat) shut(c *check, _ stamp) { b.tell(c) }

func (b *heat) expire(*check, signal.Instant) {}

func (b *heat) stop(c *check, _ signal.Instant) { b.tell(c) }
