package meter

import (
	"fmt"
	"math/bits"
	"time"

	"pintle/rig"
	"pintle/rig/signal"
)

// A sampler makes samples of readings and watches them over time.
type sampler struct {
	c *Config

	known  bool // there is a reading before, with nothing wrong between
	before reading
	same   int    // equal readings in a row
	code   string // the latest trouble
	count  uint   // how often in a row
	told   signal.Instant
}

// again is how long a trouble that goes on may be left untold: whoever begins to listen
// is to hear of it before the meter counts as silent.
const again = 100 * time.Millisecond

// take turns a reading into a sample, or a fault into a trouble. It is not ok
// where a trouble has just been told and needs no telling again.
func (s *sampler) take(r reading, f fault, l *link) (Reading, bool) {
	said, latest := l.said, s.before.arrival
	if f.none() {
		if f = s.watch(r); f.code != OverRange {
			said = nil // not the message is at fault, but what it follows
		}
	} else {
		s.known = false
	}
	if f.code == Silent || f.code == ErrorQueue || f.code == Lost {
		said = nil
	}
	if !f.none() {
		out, ok := s.trouble(f, said, l.clock())
		out.Began = s.began(f, l, latest)
		return out, ok
	}
	s.code, s.count = "", 0
	c := r.current
	if s.c.Invert {
		c = -c
	}
	sample := signal.Sample{
		From:    r.arrival.Add(-s.c.Most - s.c.Window),
		To:      r.arrival.Add(-s.c.Least),
		Current: c,
	}
	return Reading{At: r.arrival, Sample: sample}, true
}

// watch compares a reading with the meter's facts and with the one before it.
func (s *sampler) watch(r reading) (f fault) {
	if r.current.Abs() > s.c.Range {
		s.known = false
		return fault{OverRange, "more than the range of " + s.c.Range.String()}
	}
	if s.known && r.current == s.before.current {
		s.same++
	} else {
		s.same = 1
	}
	if s.known {
		f = s.gap(r)
	}
	s.before, s.known = r, true
	if f.none() && s.c.Stuck > 0 && s.same >= s.c.Stuck && r.current != 0 {
		return fault{Stuck, fmt.Sprintf("%d times %v", s.same, r.current)}
	}
	return f
}

// gap tells from the time between two readings whether one is missing. Where the
// meter tells the time, that decides; otherwise the arrivals, and then a single
// missing reading is only sure to be noticed if the latency is known to a quarter
// of the interval.
func (s *sampler) gap(r reading) fault {
	i := s.c.Interval
	if r.stamped && s.before.stamped {
		step := time.Duration(r.stamp - s.before.stamp)
		switch {
		case step <= 0:
			return fault{WrongClock, "the meter's clock stood still or went back"}
		case step < i/2:
			return fault{WrongClock, fmt.Sprintf("readings are %v apart and not %v", step, i)}
		case step > i+i/2:
			return fault{Lost, fmt.Sprintf("%v between two readings, by the meter's clock", step)}
		}
		return fault{}
	}
	if step := r.arrival.Sub(s.before.arrival); r.streamed && step > i+i/2+s.c.Most-s.c.Least {
		return fault{Lost, fmt.Sprintf("%v between two readings", step)}
	}
	return fault{}
}

// began is the beginning of the stretch that a trouble may tell of: that of a reading in
// the message's place, or of the latest one before the gap.
func (s *sampler) began(f fault, l *link, latest signal.Instant) signal.Instant {
	at := l.arrival
	switch f.code {
	case Silent:
		return l.clock()
	case Lost:
		at = min(at, latest)
	}
	return at.Add(-s.c.Most - s.c.Window)
}

// trouble tells a trouble the first time, the second, the fourth, and so on, and now and
// then: a line full of garbage must not fill the memory.
func (s *sampler) trouble(f fault, said []byte, now signal.Instant) (Reading, bool) {
	if f.code != s.code {
		s.code, s.count = f.code, 0
	}
	s.count++
	if bits.OnesCount(s.count) > 1 && (f.code == Silent || now.Sub(s.told) < again) {
		return Reading{}, false
	}
	s.told = now
	return Reading{At: now, Trouble: s.complain(f, said)}, true
}

// complain puts a trouble into words.
func (s *sampler) complain(f fault, said []byte) *rig.BenchTrouble {
	info := about(f.code)
	text := fmt.Sprintf("meter %s: %s: %s", s.c.Port, info.What, f.detail)
	if len(said) > 0 {
		text += fmt.Sprintf(": %q", clip(said))
	}
	if s.code == f.code && s.count > 1 {
		text += fmt.Sprintf(" (%d times)", s.count)
	}
	return &rig.BenchTrouble{Code: f.code, Text: text + "; " + info.Do}
}

// clip keeps a message short enough to quote.
func clip(b []byte) []byte {
	if len(b) > 48 {
		return append(append([]byte(nil), b[:45]...), "..."...)
	}
	return b
}
