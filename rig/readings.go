package rig

import (
	"cmp"
	"fmt"
	"time"

	"pintle/rig/signal"
)

// A readings holds a meter to its promises, in a trial as it is performed and in
// a trace that is judged again.
type readings struct {
	meter    MeterFacts
	lastFrom signal.Instant
	expected signal.Instant // when the present sample began at the earliest, by count
}

// begin makes the reading that began then the one before the next; Never before: there is
// none.
func (r *readings) begin(from signal.Instant) { r.lastFrom, r.expected = from, from }

// next takes the next reading, and says what is wrong with its place in time.
func (r *readings) next(s *signal.Sample) *BenchTrouble {
	if s.From < r.lastFrom { // a promise of every bench, which spans and counting rest on
		return &BenchTrouble{"samples-disordered", fmt.Sprintf("a sample of the motor current from %v came after one from %v", s.From, r.lastFrom)}
	}
	if gap := r.missing(s); gap > 0 {
		return &BenchTrouble{samplesLost, fmt.Sprintf(
			"samples of the motor current are missing before %v: %v are not accounted for, and the meter gives one every %v", s.From, gap, r.meter.Interval)}
	}
	return nil
}

const samplesLost = "samples-lost"

// missing gives the time that no sample accounts for; zero while none is lost. The
// delay of a sample is only known within bounds, so one that is missing may hide in
// them. Where the meter is steady the samples are counted, and what hides adds up.
func (r *readings) missing(s *signal.Sample) time.Duration {
	gap := s.From.Sub(r.lastFrom)
	first := r.lastFrom == -signal.Never
	r.lastFrom = s.From
	if first {
		r.expected = s.From
		return 0
	}
	r.expected = r.expected.Add(r.meter.Interval)
	ahead := s.From.Sub(r.expected)
	if ahead < 0 {
		r.expected, ahead = s.From, 0
	}
	room := r.room()
	switch {
	case gap > r.meter.Interval+room:
		return gap - r.meter.Interval
	case r.meter.Steady && ahead > room:
		return ahead
	}
	return 0
}

// room is how far from where it belongs a sample may come.
func (r *readings) room() time.Duration {
	return r.meter.Interval/2 + r.meter.Most - r.meter.Least
}

// overRange says that a reading is at the end of what the meter can read: the current
// may be any amount above it, so no rule on it can be said to be kept.
func (r *readings) overRange(i signal.Current) *BenchTrouble {
	m := &r.meter
	if most := r.mostRead(); i <= most && i >= -most {
		return nil
	}
	return &BenchTrouble{"meter-over-range", fmt.Sprintf(
		"the meter read %v, and its range of %v ends there: what flowed may have been any amount more; take a meter of a wider range, or set the guard's most current below it", i, cmp.Or(m.Range, signal.MostCurrent))}
}

// mostRead is the most that a reading tells; one above it may be of any current.
func (r *readings) mostRead() signal.Current {
	if r.meter.Range > 0 {
		return min(signal.MostCurrent, r.meter.Range-r.meter.Resolution)
	}
	return signal.MostCurrent
}
