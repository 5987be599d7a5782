package fitness

import (
	"errors"
	"fmt"
	"time"

	"pintle/rig"
	"pintle/rig/motion"
	"pintle/rig/signal"
)

// A Setup is what is known of a bench besides its own answers, and how thoroughly it
// is put to the test. Zero durations and counts take the usual figures.
type Setup struct {
	Facts    rig.Facts
	Identity string // what the meter says it is
	Expected string // what it should say, from the bench's file
	Pairs    []Pair // outputs that are read back

	Pulse    signal.Line   // the line on which edges are timed; no power relay. NoLine: one is picked
	Lateness time.Duration // for which edges are timed; zero: a minute
	Pace     time.Duration // from one of them to the next; zero: 5 ms
	Bursts   int           // of edges with short gaps; zero: 6
	Gaps     Range         // of a burst; zero: 50 to 500 µs

	Rest     time.Duration  // for which the meter is read at no current; zero: a minute
	Drift    int64          // the interval may be off by so many millionths; zero: 10 000, one in a hundred
	Clock    int64          // the bench's own clock may be; zero: 100
	ZeroMost signal.Current // largest reading of no current; zero: a step of the reading or its noise, the larger

	Start []Move        // how a current is made to flow; nil: supply on, the remote pressed
	Run   time.Duration // from then until the current is steady; zero: 1 s
	Step  Step          // how the current is stepped
	Steps int           // how often; zero: 30
	Drops int           // how often the supply is dropped; zero: 5
	Drop  time.Duration // longest time from the supply's edge to the current's end; zero: 100 ms
	Pause time.Duration // with the supply off in between; zero: 400 ms

	// Protect guards the bench while a current flows. Without a figure: 95 % of the
	// meter's range, and half a second of silence at least.
	Protect rig.Guard
	Motion  motion.Thresholds // when the motor counts as driven, for the guard

	// Guard gives the bench with a guard that allows less than the given current, and
	// what ends that. It may close the bench that was checked: it is asked last. Nil:
	// the guard is not tried.
	Guard     func(most signal.Current) (rig.Bench, func() error, error)
	GuardTime time.Duration // from the sample to the supply's edge; zero: two intervals of the meter

	Tell func(Result) // is told each result as it comes, for whoever waits; nil: nobody
}

// A Pair is an output and the input that it is looped back to.
type Pair struct {
	Output, Input signal.Line
	Inverted      bool          // the input is made while the output is broken
	Within        time.Duration // zero: 50 ms
}

// A Move takes a line to a level, and waits.
type Move struct {
	Line  signal.Line
	Level signal.Level
	Wait  time.Duration
}

// A Step is how the current is made to change at once: by a line, to a level.
type Step struct {
	Line  signal.Line // NoLine: lead-cut where there is one, or else the supply goes off
	Level signal.Level
	// Follows is how long after the edge the current changes: the relay's own time,
	// half the rise. Zero is none on a virtual bench, and 0 to 20 ms on a real one
	// (relays of this size; common practice, no source).
	Follows Range
}

// usual fills in the usual figures.
func (s Setup) usual() Setup {
	pick(&s.Lateness, time.Minute)
	pick(&s.Pace, 5*time.Millisecond)
	pick(&s.Bursts, 6)
	pick(&s.Gaps, Range{50 * time.Microsecond, 500 * time.Microsecond})
	pick(&s.Rest, time.Minute)
	pick(&s.Drift, 10_000)
	pick(&s.Clock, 100)
	m := s.Facts.Meter
	pick(&s.ZeroMost, max(m.Resolution, m.Noise))
	pick(&s.Run, time.Second)
	pick(&s.Steps, 30)
	pick(&s.Drops, 5)
	pick(&s.Drop, 100*time.Millisecond)
	pick(&s.Pause, 400*time.Millisecond)
	pick(&s.GuardTime, 2*m.Interval)
	pick(&s.Protect.MostCurrent, m.Range/100*95)
	pick(&s.Protect.LongestDrive, 30*time.Second)
	pick(&s.Protect.MeterSilence, max(500*time.Millisecond, 4*m.Interval+m.Most))
	pick(&s.Motion.Runs, max(8*m.Noise, 4*m.Resolution))
	pick(&s.Motion.Stops, s.Motion.Runs/2)
	pick(&s.Pulse, firstOf(s.Facts.Lines, pulses))
	if s.Start == nil {
		s.Start = []Move{{signal.Supply, signal.Made, 1500 * time.Millisecond}}
		if s.Facts.Lines.Has(signal.Remote) {
			s.Start = append(s.Start, Move{signal.Remote, signal.Made, 200 * time.Millisecond}, Move{signal.Remote, signal.Broken, 0})
		}
	}
	if s.Step.Line == signal.NoLine {
		s.Step.Line, s.Step.Level = signal.Supply, signal.Broken
		if s.Facts.Lines.Has(signal.LeadCut) {
			s.Step.Line, s.Step.Level = signal.LeadCut, signal.Made
		}
	}
	if !s.Facts.Virtual {
		pick(&s.Step.Follows, Range{0, 20 * time.Millisecond})
	}
	return s
}

func pick[T comparable](v *T, usual T) {
	var zero T
	if *v == zero {
		*v = usual
	}
}

// pulses are the lines for timing edges, the best first: sensors, which have no power
// relay that would wear.
var pulses = []signal.Line{signal.HallTravel, signal.HallOpen, signal.HallClosed, signal.OpenLimit,
	signal.ClosedLimit, signal.Beam, signal.Remote, signal.SecondRemote}

func firstOf(has signal.LineSet, lines []signal.Line) signal.Line {
	for _, l := range lines {
		if has.Has(l) {
			return l
		}
	}
	return signal.NoLine
}

// Check collects all that is wrong with a setup whose usual figures are filled in.
func (s Setup) check() error {
	var errs []error
	need := func(ok bool, format string, args ...any) {
		if !ok {
			errs = append(errs, fmt.Errorf(format, args...))
		}
	}
	m := s.Facts.Meter
	need(s.driven(signal.Supply), "the bench has no line supply: it could not be made safe")
	need(m.Interval > 0, "the meter's interval is %v", m.Interval)
	need(m.Window >= 0 && m.Window <= m.Interval, "the meter's window is %v and its interval %v", m.Window, m.Interval)
	need(m.Least >= 0 && m.Most >= m.Least, "the meter's latency is %v to %v", m.Least, m.Most)
	need(m.Resolution > 0 && m.Range > 0, "the meter's resolution is %v and its range %v", m.Resolution, m.Range)
	need(s.Gaps.Least > 0 && s.Gaps.Most >= s.Gaps.Least, "the gaps of a burst are %v to %v", s.Gaps.Least, s.Gaps.Most)
	need(s.Step.Follows.Least >= 0 && s.Step.Follows.Most >= s.Step.Follows.Least, "the current follows the step after %v to %v", s.Step.Follows.Least, s.Step.Follows.Most)
	need(s.driven(s.Step.Line), "the step is made by %v, which the bench does not drive", s.Step.Line)
	need(s.Pulse != signal.Supply, "edges are not timed on the supply")
	need(s.Pulse == signal.NoLine || s.driven(s.Pulse), "edges are timed on %v, which the bench does not drive", s.Pulse)
	for _, d := range []time.Duration{s.Lateness, s.Pace, s.Rest, s.Run, s.Drop, s.Pause, s.GuardTime} {
		need(d > 0, "a time of the check is %v", d)
	}
	need(s.Steps > 0 && s.Drops > 0 && s.Bursts > 0, "nothing is repeated %d, %d or %d times", s.Steps, s.Drops, s.Bursts)
	on := false
	for i, v := range s.Start {
		need(s.driven(v.Line), "move %d of the start is of %v, which the bench does not drive", i+1, v.Line)
		need(v.Wait >= 0, "move %d of the start waits %v", i+1, v.Wait)
		on = on || v.Line == signal.Supply && v.Level == signal.Made
	}
	need(on, "the start does not put the supply on")
	for _, p := range s.Pairs {
		need(p.Output != signal.Supply, "the supply is not read back by %v: its test is the current", p.Input)
		need(s.driven(p.Output) && s.Facts.Lines.Has(p.Input) && p.Input != p.Output, "%v cannot be read back by %v on this bench", p.Output, p.Input)
	}
	if err := errors.Join(errs...); err != nil {
		return fmt.Errorf("check the bench: %w", err)
	}
	return nil
}

func (s Setup) driven(l signal.Line) bool {
	return s.Facts.Lines.Has(l) && l.Info().Driven && l != signal.Heartbeat
}

// Takes is about how long the check will take on the bench's clock.
func (s Setup) Takes() time.Duration {
	s = s.usual()
	once := s.Pause + s.Run + s.after() + s.Facts.Lead
	for _, v := range s.Start {
		once += v.Wait
	}
	return s.Lateness + s.Rest + time.Duration(s.Steps+s.Drops+1)*once + time.Duration(len(s.lines()))*4*toggle
}

// hold is for how long a step is kept up: long enough for the meter to settle, and
// shorter than a controller takes to notice a stall.
func (s Setup) hold() time.Duration {
	m := s.Facts.Meter
	return max(30*time.Millisecond, s.past()+10*m.Interval)
}

// past is how long after a step all readings are of what came of it.
func (s Setup) past() time.Duration {
	m := s.Facts.Meter
	return m.Window + 2*m.Most + s.Step.Follows.Most + 4*m.Interval
}

// after is for how long the samples are looked at once the supply is off.
func (s Setup) after() time.Duration {
	m := s.Facts.Meter
	return 2*s.Drop + s.Step.Follows.Most + 2*m.Most + 20*m.Interval
}

// lines are those that are toggled: all but the supply, whose test is the current.
func (s Setup) lines() []signal.Line {
	var all []signal.Line
	for _, info := range signal.Lines {
		if s.driven(info.Line) && info.Line != signal.Supply {
			all = append(all, info.Line)
		}
	}
	return all
}
