package fitness

import (
	"fmt"
	"time"

	"pintle/rig"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// tryGuard lowers the guard's threshold to half the running current and sees how soon
// the supply falls. The end of the run is planned beforehand, in case it does not.
func (s *session) tryGuard() (err error) {
	r := Result{Name: "guard", Limits: []Figure{{Name: "supply falls within", Value: int64(s.GuardTime), Unit: Nanoseconds}}}
	defer func() { s.add(r) }()
	switch {
	case s.Guard == nil:
		r.Done, r.Verdict, r.Reason = nothing, rule.Inconclusive, "There was no way to set the guard's threshold for the check."
		r.Advice = "Try the guard by hand: allow less current than the motor takes, run it, and see the supply fall."
		return nil
	case s.notTried(&r):
		return nil
	}
	most := s.running.Abs() / 2
	r.Done = fmt.Sprintf("The guard was set to allow less than %v, and the motor was run.", roundly(most))
	bench, done, err := s.Guard(most)
	if err != nil {
		r.Verdict, r.Reason, r.Advice = rule.Fail, "The guard could not be set: "+err.Error()+".", "Mend what it names, then check the bench again."
		return nil
	}
	defer func() {
		safe := bench.Safe()
		if safe == nil && done != nil {
			safe = done()
		}
		if safe != nil && err == nil {
			err = fmt.Errorf("make the bench safe after the guard was tried: %w", safe)
		}
	}()
	return s.provoke(bench, most, &r)
}

func (s *session) provoke(b rig.Bench, most signal.Current, r *Result) error {
	own := s.bench
	s.bench = b
	defer func() { s.bench = own }()
	watch := rig.NewGuarded(b, s.Protect, s.Motion) // in case the other one sleeps
	h, err := s.shoot(watch, 0, Step{Line: signal.Supply})
	if err != nil {
		r.Verdict, r.Reason, r.Advice = rule.Inconclusive, "The check ended here: "+err.Error(), "Check the bench again."
		return err
	}
	over, seen := signal.Instant(0), false
	for _, x := range s.readings {
		if x.current.Abs() >= most {
			over, seen = x.at, true
			break
		}
	}
	if t := watch.Tripped(); t != nil {
		r.Verdict, r.Reason = rule.Inconclusive, "The check's own guard had to step in, so nothing is known of the other: "+t.Text+"."
		r.Advice = "Have the check protect the bench against a larger current than the motor starts with, if the bench bears it."
		return nil
	}
	if !seen {
		s.keepTroubles()
		r.Verdict, r.Reason = rule.Inconclusive, "The current never reached the guard's threshold, so the guard was not put to the test."
		r.Advice = "See that the motor runs, and check again."
		return nil
	}
	s.judgeGuard(r, h, over)
	s.troubles = s.troubles[:0] // they were provoked
	return nil
}

func (s *session) judgeGuard(r *Result, h *shot, over signal.Instant) {
	fell, how := s.fell(h, over)
	if how == "" {
		r.Verdict, r.Reason = rule.Fail, "The current was beyond the threshold, and the guard did not take the supply off."
		r.Advice = "Do not run a motor on this bench before the guard works."
		return
	}
	after := max(0, fell.Sub(over))
	r.Figures = []Figure{{Name: "supply fell after", Value: int64(after), Unit: Nanoseconds}}
	r.Reason = fmt.Sprintf("The supply fell %s after the first sample beyond the threshold, %s.", took(after), how)
	if after <= s.GuardTime {
		r.Verdict = rule.Pass
		return
	}
	r.Verdict, r.Advice = rule.Fail, "Allow real-time priority, and take other work off the machine."
}

// fell is when the supply fell before it was planned to, and how that is known: by the
// bench's word, or by the current's end where the bench does not tell its own edges.
func (s *session) fell(h *shot, over signal.Instant) (signal.Instant, string) {
	for _, o := range s.edges {
		if o.Kind == rig.Emitted && o.Line == signal.Supply && o.Level == signal.Broken && o.Span.Late < h.off && o.Span.Late >= over.Add(-s.Facts.Meter.Interval) {
			return o.Span.Late, "as the bench says"
		}
	}
	if len(s.troubles) == 0 { // the controller may have stopped by itself
		return 0, ""
	}
	last := -1
	for i, x := range s.readings {
		if x.at < h.off && x.current.Abs() >= s.least() {
			last = i
		}
	}
	if last >= 0 && last+1 < len(s.readings) && s.readings[last+1].at < h.off.Add(-10*time.Millisecond) {
		return s.readings[last+1].at.Add(-s.Facts.Meter.Least), "as the end of the current shows"
	}
	return 0, ""
}
