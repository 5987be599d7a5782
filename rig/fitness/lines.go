package fitness

import (
	"fmt"
	"time"

	"pintle/rig"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// toggle is how long a line stays at a level while it is tried, longer where it has to
// be read back.
const toggle = 20 * time.Millisecond

// toggleLines makes and breaks each line in turn with the supply off.
func (s *session) toggleLines() error {
	if err := s.bench.Safe(); err != nil {
		return fmt.Errorf("make the bench safe before its check: %w", err)
	}
	for _, l := range s.lines() {
		r, err := s.toggleLine(l)
		if err != nil {
			return err
		}
		s.add(r)
	}
	return nil
}

func (s *session) pairOf(l signal.Line) (Pair, bool) {
	for _, p := range s.Pairs {
		if p.Output == l {
			pick(&p.Within, 50*time.Millisecond)
			return p, true
		}
	}
	return Pair{}, false
}

func (s *session) toggleLine(l signal.Line) (Result, error) {
	s.forget()
	pair, paired := s.pairOf(l)
	pins, mirrored := rig.Can[rig.Mirror](s.bench)
	hold := max(toggle, 2*pair.Within)
	if mirrored {
		hold = max(hold, toggleRead)
	}
	at := s.soon()
	edges := []signal.Edge{{At: at, Level: signal.Made}, {At: at.Add(hold), Level: signal.Broken}}
	if err := s.plan(s.bench, l, edges); err != nil {
		return Result{}, err
	}
	var seen []look
	for _, e := range edges {
		if !mirrored {
			break
		}
		if err := s.until(s.bench, e.At.Add(hold/2), nil); err != nil {
			return Result{}, err
		}
		seen = append(seen, s.look(pins, e.Level, e.At.Add(hold)))
	}
	if err := s.until(s.bench, at.Add(2*hold+s.grace()), nil); err != nil {
		return Result{}, err
	}
	s.keepTroubles()
	r := Result{Name: "line " + l.String(), Done: fmt.Sprintf("With the supply off the line was made for %s, then broken.", took(hold))}
	for _, e := range edges {
		if _, ok := s.emitted(l, e.At); !ok {
			r.Verdict, r.Reason = rule.Fail, fmt.Sprintf("The bench never said that it was %v.", e.Level)
			r.Advice = fmt.Sprintf("Look whether another program holds the line %v, and at the pin that the bench's file gives it.", l)
			return r, nil
		}
	}
	if judgePins(&r, l, seen) && !paired || r.Verdict == rule.Fail {
		return r, nil
	}
	if !paired {
		r.Verdict, r.Reason = rule.Inconclusive, "The bench says that it was switched, but nothing reads this line back."
		r.Advice = "Loop the line back to an input of the bench for the check, and name that under read back by in the bench's file; or see with a test lamp that it switches."
		return r, nil
	}
	s.readBack(&r, pair, edges)
	return r, nil
}

// readBack judges what the inputs saw of a line's edges.
func (s *session) readBack(r *Result, p Pair, edges []signal.Edge) {
	var worst time.Duration
	for _, e := range edges {
		want := e.Level
		if p.Inverted {
			want = want.Not()
		}
		out, _ := s.emitted(p.Output, e.At)
		lag, ok := s.sensed(p.Input, want, out.Span.Early, p.Within)
		if !ok {
			r.Verdict, r.Reason = rule.Fail, fmt.Sprintf("When %v was %v, %v did not become %v within %s: the line is stuck or not connected.", p.Output, e.Level, p.Input, want, took(p.Within))
			r.Advice = fmt.Sprintf("Look at the lead and the relay or opto-coupler of %v, and at the loop back to %v.", p.Output, p.Input)
			return
		}
		worst = max(worst, lag)
	}
	r.Figures = []Figure{{Name: "read back after", Value: int64(worst), Unit: Nanoseconds}}
	r.Limits = []Figure{{Name: "at most", Value: int64(p.Within), Unit: Nanoseconds}}
	if other, ok := s.crossed(p); ok {
		r.Verdict, r.Reason = rule.Fail, fmt.Sprintf("%v moved as well: two lines touch, or are wired the wrong way round.", other)
		r.Advice = fmt.Sprintf("Look at the leads of %v and of what is read back by %v.", p.Output, other)
		return
	}
	r.Verdict, r.Reason = rule.Pass, fmt.Sprintf("%v followed both ways.", p.Input)
}

func (s *session) emitted(l signal.Line, planned signal.Instant) (rig.Observation, bool) {
	for _, o := range s.edges {
		if o.Kind == rig.Emitted && o.Line == l && o.Planned == planned {
			return o, true
		}
	}
	return rig.Observation{}, false
}

// sensed finds an input's edge to a level, and how long after an instant it came.
func (s *session) sensed(l signal.Line, v signal.Level, after signal.Instant, within time.Duration) (time.Duration, bool) {
	for _, o := range s.edges {
		if o.Kind == rig.Sensed && o.Line == l && o.Level == v && o.Span.Late >= after && o.Span.Late.Sub(after) <= within {
			return o.Span.Late.Sub(after), true
		}
	}
	return 0, false
}

// crossed finds an input that moved and is another line's.
func (s *session) crossed(p Pair) (signal.Line, bool) {
	for _, o := range s.edges {
		if o.Kind != rig.Sensed || o.Line == p.Input {
			continue
		}
		for _, other := range s.Pairs {
			if other.Input == o.Line {
				return o.Line, true
			}
		}
	}
	return signal.NoLine, false
}
