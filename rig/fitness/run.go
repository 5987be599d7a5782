package fitness

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"pintle/rig"
	"pintle/rig/rule"
	"pintle/rig/signal"
	"pintle/rig/wording"
)

// stride is how far Next is asked to go at once, so that a check can be cancelled.
const stride = 20 * time.Millisecond

// A reading is a sample and when the bench had it.
type reading struct {
	at      signal.Instant
	current signal.Current
}

// A session is one check under way.
type session struct {
	Setup
	ctx      context.Context
	bench    rig.Bench
	report   Report
	edges    []rig.Observation // emitted and sensed since the last forget
	readings []reading         // likewise
	troubles []rig.Observation // likewise
	said     []string          // every trouble there was, other than those that were provoked

	scale   scale
	swing   time.Duration  // of the arrivals at rest
	even    bool           // that is known
	running signal.Current // what flows once the start is over; 0: not known
	noStep  string         // why no current is to be had, or must not be
	sign    sign           // of the current, against the way that the motor was driven
	dark    bool           // the supply has not been on yet
	flows   int            // readings in a row of a current that flows all the same
}

// Run puts a bench to the test, which ends with the bench safe whatever happens. The
// report is good for as far as it goes even where there is an error: a cancelled check
// says so. Date is for the caller to fill in.
func Run(ctx context.Context, bench rig.Bench, setup Setup) (report Report, err error) {
	s := &session{Setup: setup.usual(), ctx: ctx, bench: bench}
	s.report = Report{Bench: s.Facts.Name, Virtual: s.Facts.Virtual, Meter: s.Facts.Meter.Name, Identity: s.Identity}
	s.dark = true
	began, finished := bench.Now(), false
	defer func() {
		safe := bench.Safe()
		if safe != nil {
			safe = fmt.Errorf("make the bench safe after its check: %w", safe)
			s.add(Result{Name: "safe at the end", Done: "The supply was taken off and all lines were released.", Verdict: rule.Fail,
				Reason: safe.Error(), Advice: "Switch the bench off by hand now, then find out why it does not obey."})
		}
		err = errors.Join(err, safe)
		if err != nil {
			s.report.Aborted = strings.ReplaceAll(err.Error(), "\n", "; ")
		} else if !finished { // a panic passes through
			s.report.Aborted = "the check broke off"
		}
		s.report.Took = int64(bench.Now().Sub(began))
		s.report.sum()
		report = s.report
	}()
	if err = s.check(); err != nil {
		return
	}
	for _, part := range []func() error{s.toggleLines, s.timeEdges, s.identify, s.rest, s.drops, s.steps, s.readable, s.tryGuard} {
		if err = part(); err != nil {
			break
		}
	}
	if errors.Is(err, errLive) {
		err, finished = nil, true
	}
	if err != nil || finished {
		return
	}
	s.sayTroubles()
	finished = true
	return
}

func (s *session) add(results ...Result) {
	for _, r := range results {
		s.report.Results = append(s.report.Results, r)
		if s.Tell != nil {
			s.Tell(r)
		}
	}
}

// forget empties what was seen.
func (s *session) forget() {
	s.edges, s.readings, s.troubles = s.edges[:0], s.readings[:0], s.troubles[:0]
}

// until takes in what a bench sees up to an instant, or until it is enough.
func (s *session) until(b rig.Bench, at signal.Instant, enough func() bool) error {
	for {
		if err := s.ctx.Err(); err != nil {
			return fmt.Errorf("the check was broken off: %w", err)
		}
		goal := min(at, b.Now().Add(stride))
		o, err := b.Next(goal)
		if err != nil {
			return fmt.Errorf("check the bench: what it sees until %v: %w", goal, err)
		}
		switch o.Kind {
		case rig.Reached:
			if goal >= at {
				return nil
			}
		case rig.Sampled:
			s.readings = append(s.readings, reading{o.Sample.To.Add(s.Facts.Meter.Least), o.Sample.Current})
			s.scale.take(o.Sample.Current)
			if s.live(o.Sample.Current) {
				return errLive
			}
		case rig.Emitted, rig.Sensed:
			s.edges = append(s.edges, o)
		case rig.Trouble:
			s.troubles = append(s.troubles, o)
		}
		if enough != nil && enough() {
			return nil
		}
	}
}

func (s *session) wait(d time.Duration) error { return s.until(s.bench, s.bench.Now().Add(d), nil) }

func (s *session) plan(b rig.Bench, l signal.Line, future []signal.Edge) error {
	if err := b.Plan(l, future); err != nil {
		return fmt.Errorf("check the bench: plan %v: %w", l, err)
	}
	return nil
}

// soon is the earliest instant for which edges can be planned in good order.
func (s *session) soon() signal.Instant {
	return s.bench.Now().Add(s.Facts.Lead + 5*time.Millisecond)
}

// grace is how long after its time an edge is waited for.
func (s *session) grace() time.Duration { return 2*s.Facts.Late + 5*time.Millisecond }

// keepTroubles remembers the troubles that nobody provoked.
func (s *session) keepTroubles() {
	for _, o := range s.troubles {
		if o.Trouble != nil {
			s.said = append(s.said, o.Trouble.Text)
		}
	}
	s.troubles = s.troubles[:0]
}

func (s *session) sayTroubles() {
	r := Result{Name: "troubles", Done: "What the bench itself said during the check was kept.",
		Figures: []Figure{{Name: "troubles", Value: int64(len(s.said)), Unit: Count}}, Limits: []Figure{{Name: "most", Unit: Count}}}
	if len(s.said) == 0 {
		r.Verdict, r.Reason = rule.Pass, "It had nothing to complain of."
	} else {
		r.Verdict, r.Reason = rule.Fail, "The first was: "+s.said[0]+"."
		r.Advice = "Mend what it names, then check the bench again."
	}
	s.add(r)
}

// took words a time for messages: three digits, such as 3.12 ms.
func took(d time.Duration) string {
	unit := time.Nanosecond
	for unit*1000 <= d.Abs() && unit < time.Second {
		unit *= 1000
	}
	return wording.Time(d.Round(max(1, unit/100)))
}
