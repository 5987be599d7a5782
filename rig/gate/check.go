package gate

import (
	"errors"
	"fmt"
	"time"

	"pintle/rig/signal"
)

// A Mistake is one thing that cannot be in a Spec or a Start.
type Mistake struct {
	Field string // such as Opening.RunUp or Sensors[2].From
	Says  string // what is wrong, and what it should be
}

func (m Mistake) Error() string { return m.Field + ": " + m.Says }

// SensorLines are the lines that the gate itself can make and break.
var SensorLines = signal.LinesOf(signal.OfGate)

// longestTime keeps every instant that the model works out far inside the range
// of an Instant.
const longestTime = 24 * time.Hour

// longestDelay is the longest that a sensor's output may take, or bounce.
const longestDelay = time.Second

// mistakes collects them in the order of the fields.
type mistakes []error

func (m *mistakes) unless(ok bool, field, format string, args ...any) {
	if !ok {
		*m = append(*m, Mistake{field, fmt.Sprintf(format, args...)})
	}
}

// Check reports every mistake in the spec, each as a Mistake.
func (s *Spec) Check() error {
	var m mistakes
	if s.Machine == nil || s.Opening != (Travel{}) {
		s.Opening.check(&m, "Opening")
	}
	if s.Machine == nil || s.Closing != (Travel{}) {
		s.Closing.check(&m, "Closing")
	}
	s.Closed.check(&m, "Closed", s.Machine != nil)
	s.Open.check(&m, "Open", s.Machine != nil)
	for i, sensor := range s.Sensors {
		sensor.check(&m, fmt.Sprintf("Sensors[%d]", i))
	}
	stall := s.StallCurrent.Abs()
	m.unless(stall == 0 || stall >= max(s.OpeningCurrent.Abs(), s.ClosingCurrent.Abs()), "StallCurrent",
		"%v must not be below the current of a moving motor, %v opening and %v closing",
		s.StallCurrent, s.OpeningCurrent, s.ClosingCurrent)
	if s.Machine != nil {
		m = append(m, within("Machine.", s.Machine.Check())...)
	}
	return errors.Join(m...)
}

func (t Travel) check(m *mistakes, field string) {
	m.unless(t.Time > 0 && t.Time <= longestTime, field+".Time", "%v must be above zero and at most %v", t.Time, longestTime)
	m.unless(t.RunUp >= 0 && t.RunUp <= max(t.Time, 0), field+".RunUp", "%v must not be negative nor longer than the Time, %v", t.RunUp, t.Time)
	m.unless(t.Coast >= 0 && t.Coast <= longestTime, field+".Coast", "%v must not be negative, and at most %v", t.Coast, longestTime)
}

// The comparisons are written so that a value which is not a number is a mistake.
func (s Stop) check(m *mistakes, field string, moved bool) {
	m.unless(s.Restitution >= 0 && s.Restitution < 1, field+".Restitution", "%v must be at least 0 and below 1", s.Restitution)
	m.unless(moved || s.Restitution == 0 || s.Return >= leastReturn && s.Return <= mostReturn, field+".Return",
		"%v must be above zero, from %v to %v travels per second squared", s.Return, leastReturn, mostReturn)
}

func (s Sensor) check(m *mistakes, field string) {
	m.unless(SensorLines.Has(s.Line), field+".Line", "%v is no line that a gate can make or break", s.Line)
	m.unless(s.From >= 0 && s.From <= 1, field+".From", "%v must be from 0 (closed) to 1 (open)", s.From)
	m.unless(s.To >= 0 && s.To <= 1, field+".To", "%v must be from 0 (closed) to 1 (open)", s.To)
	m.unless(s.From < s.To, field+".To", "%v must be above From, %v", s.To, s.From)
	m.unless(s.Hysteresis >= 0 && s.Hysteresis <= 1, field+".Hysteresis", "%v must be from 0 to 1", s.Hysteresis)
	m.unless(s.Kind == AnyKind || s.Kind.Info().OfGate, field+".Kind", "%v is no sensor that a gate moves", s.Kind)
	m.unless(s.Delay >= 0 && s.Delay <= longestDelay, field+".Delay", "%v must not be negative, and at most %v", s.Delay, longestDelay)
	m.unless(s.Bounce >= 0 && s.Bounce <= longestDelay, field+".Bounce", "%v must not be negative, and at most %v", s.Bounce, longestDelay)
	m.unless(s.Bounce == 0 || s.Kind == AnyKind || s.Kind.Info().Bounces, field+".Bounce", "a %v does not bounce", s.Kind)
}

// Check reports a start that is off the travel.
func (s Start) Check() error {
	var m mistakes
	m.unless(s.Position >= 0 && s.Position <= 1, "Position", "%v must be from 0 (closed) to 1 (open)", s.Position)
	m.unless(s.Obstacle <= 1, "Obstacle", "%v must be from 0 (closed) to 1 (open), or negative for nothing in the way", s.Obstacle)
	return errors.Join(m...)
}

// within gives mistakes of a part, with the part's name before the field's.
func within(part string, err error) (named []error) {
	joined, ok := err.(interface{ Unwrap() []error })
	if !ok {
		return nil
	}
	for _, e := range joined.Unwrap() {
		var m Mistake
		if errors.As(e, &m) {
			named = append(named, Mistake{part + m.Field, m.Says})
		}
	}
	return named
}
