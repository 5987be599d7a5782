package fitness

import (
	"fmt"

	"pintle/rig/rule"
	"pintle/rig/signal"
)

// A scale is what all readings of a check tell of the meter's steps and its range.
type scale struct {
	any   bool
	first signal.Current
	step  signal.Current // greatest common divisor of all differences; 0: none differed
	peak  signal.Current
	seen  map[signal.Current]struct{} // different readings, as many as matter
}

// several is how many different readings it takes to say that the meter has no finer
// steps: their common divisor is a multiple of its step less than once in a thousand
// times by chance.
const several = 12

func (s *scale) take(c signal.Current) {
	if !s.any {
		s.any, s.first, s.seen = true, c, map[signal.Current]struct{}{}
	}
	s.peak = max(s.peak, c.Abs())
	for a, b := s.step, (c - s.first).Abs(); ; a, b = b, a%b {
		if b == 0 {
			s.step = a
			break
		}
	}
	if len(s.seen) < several {
		s.seen[c] = struct{}{}
	}
}

// readable judges in what steps the meter reads, and whether its range holds all that
// was read.
func (s *session) readable() error {
	s.add(s.resolution(), s.reach())
	return nil
}

func (s *session) resolution() Result {
	m, k := s.Facts.Meter, &s.scale
	r := Result{Name: "meter: resolution", Done: "The smallest step between all readings of the check was worked out.",
		Limits: []Figure{{Name: "at most", Value: int64(m.Resolution), Unit: Microamps}}}
	if k.step > 0 {
		r.Figures = []Figure{{Name: "step", Value: int64(k.step), Unit: Microamps}}
	}
	switch {
	case k.step > 0 && k.step <= m.Resolution:
		r.Verdict, r.Reason = rule.Pass, "The meter reads in steps no coarser than stated."
	case len(k.seen) < several:
		r.Verdict, r.Reason = rule.Inconclusive, fmt.Sprintf("Only %d different readings came, too few to tell.", len(k.seen))
		r.Advice = "Let the check read the meter for longer, with a motor connected."
	default:
		r.Verdict, r.Reason = rule.Fail, "The meter reads in coarser steps than stated."
		r.Advice = "Set the meter to a finer range, or state the step that was seen."
	}
	return r
}

func (s *session) reach() Result {
	m, k := s.Facts.Meter, &s.scale
	r := Result{Name: "meter: range", Done: "The largest reading of the check was held against the meter's range.",
		Figures: []Figure{{Name: "largest", Value: int64(k.peak), Unit: Microamps}}, Limits: []Figure{{Name: "less than", Value: int64(m.Range), Unit: Microamps}}}
	switch {
	case k.peak > m.Range-m.Resolution:
		r.Verdict, r.Reason = rule.Fail, "The meter came to the end of its range: what flowed may have been more."
		r.Advice = "Use a meter or a shunt with a larger range: a motor's starting current is many times its running current."
	case s.running.Abs() < s.least():
		r.Verdict, r.Reason = rule.Inconclusive, "No current was seen to flow, so the range was not put to the test."
		r.Advice = "Mend what kept the motor from running, then check the bench again."
	default:
		r.Verdict, r.Reason = rule.Pass, "Running and starting current lie within the range."
	}
	return r
}
