package benchtest

import (
	"errors"
	"fmt"
	"time"

	"pintle/rig"
	"pintle/rig/signal"
)

// A Fake is a bench in simulated time with nothing connected to it. Set the
// fields before the first call.
type Fake struct {
	About    rig.Facts
	Draw     func(signal.Instant) signal.Current // what the meter reads of a window that ends then; nil: no current
	Troubles []rig.Observation                   // given when their Span.Early comes; in the order of time
	Failed   error                               // what Safe and Close answer

	Safes, Closes int // how often each was called

	now    signal.Instant
	level  [signal.LineCount]signal.Level
	future [signal.LineCount][]signal.Edge
	taken  int64 // samples given
	closed bool
}

var _ rig.Bench = (*Fake)(nil)

// FakeFacts describe a bench in simulated time with every driven line and a
// meter that reads a thousand times a second.
func FakeFacts() rig.Facts {
	f := rig.Facts{Name: "fake", Virtual: true}
	for _, info := range signal.Lines {
		if info.Driven {
			f.Lines |= signal.SetOf(info.Line)
		}
	}
	f.Meter = rig.MeterFacts{
		Name: "fake meter", Interval: time.Millisecond, Window: time.Millisecond,
		Least: 100 * time.Microsecond, Most: 300 * time.Microsecond,
		Resolution: 1000, Range: 100 * signal.Ampere,
	}
	return f
}

// NewFake makes a fake bench with FakeFacts.
func NewFake() *Fake { return &Fake{About: FakeFacts()} }

var errClosed = errors.New("bench is closed")

// Plan keeps a copy of the future.
func (f *Fake) Plan(line signal.Line, future []signal.Edge) error {
	switch {
	case f.closed:
		return fmt.Errorf("plan %v: %w", line, errClosed)
	case !f.About.Lines.Has(line) || !line.Info().Driven:
		return fmt.Errorf("plan %v: this bench does not drive that line", line)
	}
	f.future[line] = append(f.future[line][:0], future...)
	return nil
}

// Next goes on to the next edge, sample or trouble, or to the instant.
func (f *Fake) Next(until signal.Instant) (rig.Observation, error) {
	if f.closed {
		return rig.Observation{}, fmt.Errorf("next until %v: %w", until, errClosed)
	}
	for {
		line, due := f.first()
		arrival := f.arrival()
		switch {
		case len(f.Troubles) > 0 && f.Troubles[0].Span.Early <= min(until, due, arrival):
			o := f.Troubles[0]
			f.Troubles = f.Troubles[1:]
			f.now = max(f.now, o.Span.Early)
			return o, nil
		case line != signal.NoLine && due <= min(until, arrival):
			if o, happened := f.emit(line, due); happened {
				return o, nil
			}
		case arrival <= until:
			return f.sample(arrival), nil
		default:
			f.now = max(f.now, until)
			return rig.Observation{Kind: rig.Reached, Span: signal.At(until)}, nil
		}
	}
}

// first finds the edge that is due first, never before now.
func (f *Fake) first() (signal.Line, signal.Instant) {
	line, due := signal.NoLine, signal.Never
	for l, future := range f.future {
		if len(future) > 0 && future[0].At < due {
			line, due = signal.Line(l), future[0].At
		}
	}
	return line, max(due, f.now)
}

func (f *Fake) emit(line signal.Line, due signal.Instant) (rig.Observation, bool) {
	e := f.future[line][0]
	f.future[line] = f.future[line][1:]
	f.now = due
	if f.level[line] == e.Level {
		return rig.Observation{}, false
	}
	f.level[line] = e.Level
	return rig.Observation{Kind: rig.Emitted, Line: line, Level: e.Level, Span: signal.At(due), Planned: e.At}, true
}

// arrival is when the next sample is delivered: after the longest latency.
func (f *Fake) arrival() signal.Instant {
	m := f.About.Meter
	if m.Interval <= 0 {
		return signal.Never
	}
	return max(f.now, signal.Instant(f.taken+1)*signal.Instant(m.Interval)+signal.Instant(m.Most))
}

func (f *Fake) sample(arrival signal.Instant) rig.Observation {
	m := f.About.Meter
	s := signal.Sample{From: arrival.Add(-m.Most - m.Window), To: arrival.Add(-m.Least)}
	if f.Draw != nil {
		s.Current = f.Draw(arrival.Add(-m.Most))
	}
	f.now = arrival
	f.taken++
	return rig.Observation{Kind: rig.Sampled, Span: signal.Span{Early: s.From, Late: s.To}, Sample: s}
}

// Now is the simulated instant.
func (f *Fake) Now() signal.Instant { return f.now }

// Level tells what a line is at now.
func (f *Fake) Level(line signal.Line) signal.Level { return f.level[line] }

// Safe releases every line and forgets every plan.
func (f *Fake) Safe() error {
	f.Safes++
	f.level = [signal.LineCount]signal.Level{}
	for l := range f.future {
		f.future[l] = f.future[l][:0]
	}
	return f.Failed
}

// Close makes the bench safe; everything but Safe, Now and Close is an error
// after it.
func (f *Fake) Close() error {
	f.Closes++
	if f.closed {
		return nil
	}
	f.closed = true
	return f.Safe()
}
