package rig

import (
	"fmt"
	"time"

	"pintle/rig/signal"
)

// missing gives the time that no sample accounts for; zero while none is lost. The
// delay of a sample is only known within bounds, so one that is missing may hide in
// them. Where the meter is steady the samples are counted, and what hides adds up.
func (c *Conductor) missing(s signal.Sample) time.Duration {
	m := c.facts.Meter
	gap := s.From.Sub(c.lastFrom)
	first := c.lastFrom == -signal.Never
	c.lastFrom = s.From
	if first {
		c.expected = s.From
		return 0
	}
	c.expected = c.expected.Add(m.Interval)
	ahead := s.From.Sub(c.expected)
	if ahead < 0 {
		c.expected, ahead = s.From, 0
	}
	room := m.Interval/2 + m.Most - m.Least
	switch {
	case gap > m.Interval+room:
		return gap - m.Interval
	case m.Steady && ahead > room:
		return ahead
	}
	return 0
}

// overRange says that a reading is at the end of what the meter can read: the current
// may be any amount above it, so no rule on it can be said to be kept.
func (c *Conductor) overRange(i signal.Current) *BenchTrouble {
	m := &c.facts.Meter
	if m.Range <= 0 || i.Abs() <= m.Range-m.Resolution {
		return nil
	}
	return &BenchTrouble{"meter-over-range", fmt.Sprintf(
		"the meter read %v, and its range of %v ends there: what flowed may have been any amount more; take a meter of a wider range, or set the guard's most current below it", i, m.Range)}
}
