package live

import (
	"errors"
	"fmt"
	"time"

	"pintle/drivers/meter"
	"pintle/rig"
	"pintle/rig/signal"
)

// A Source is a meter that sends readings by itself, in the order of time, until
// it is closed.
type Source interface {
	Readings() <-chan meter.Reading
	Facts() rig.MeterFacts
	Close() error
}

// A Config says what a bench is put together from.
type Config struct {
	Lines rig.Bench // who drives the lines; its instants are those of Clock
	Facts rig.Facts // of that bench
	Meter Source
	Clock Clock // the one by which the meter stamps its readings
	// Speak takes the samples of a simulated meter behind Lines, for a wire on which
	// Meter hears them; nil: they are dropped.
	Speak func(signal.Sample) error
}

// A Bench keeps real time.
type Bench struct {
	Config
	seen   []rig.Observation // not yet given
	closed bool
}

const (
	// lead covers the time from a plan to the next turn of the bench.
	lead = 5 * time.Millisecond
	// late is what an ordinary process may be kept waiting by the system, and a
	// little more: a later edge is a fault of the bench.
	late = 25 * time.Millisecond
	// turn is how long the bench waits at most before it looks at the lines again.
	turn = time.Millisecond
)

var errClosed = errors.New("live bench: it is closed")

// New puts a bench together. It closes what it was made from when it is closed.
func New(c Config) (*Bench, rig.Facts, error) {
	if c.Lines == nil || c.Meter == nil || c.Clock == nil {
		return nil, rig.Facts{}, errors.New("live bench: lines, meter and clock are needed")
	}
	facts := c.Facts
	facts.Virtual = false
	facts.Lead = max(facts.Lead, lead)
	facts.Late = max(facts.Late, late)
	facts.Meter = c.Meter.Facts()
	return &Bench{Config: c}, facts, nil
}

// Now is the present instant.
func (b *Bench) Now() signal.Instant { return b.Clock() }

// Plan replaces what is to come on a line. What has happened up to now stays.
func (b *Bench) Plan(line signal.Line, future []signal.Edge) error {
	if b.closed {
		return errClosed
	}
	if err := b.pump(b.Now()); err != nil {
		return err
	}
	return b.Lines.Plan(line, future)
}

// Next gives what was seen, or waits for it until the instant has come.
func (b *Bench) Next(until signal.Instant) (rig.Observation, error) {
	for {
		if b.closed {
			return rig.Observation{}, errClosed
		}
		now := b.Now()
		if err := b.pump(now); err != nil {
			return rig.Observation{}, err
		}
		b.hear()
		if len(b.seen) > 0 {
			return b.take(), nil
		}
		if now >= until {
			return rig.Observation{Kind: rig.Reached, Span: signal.At(until)}, nil
		}
		b.wait(min(until.Sub(now), turn))
	}
}

// take gives the earliest observation that waits.
func (b *Bench) take() rig.Observation {
	o := b.seen[0]
	b.seen = b.seen[:copy(b.seen, b.seen[1:])]
	return o
}

// pump lets the lines do what is due. An edge happened between the instant that
// its driver gives and now, when its doing is over.
func (b *Bench) pump(now signal.Instant) error {
	for {
		o, err := b.Lines.Next(now)
		if err != nil {
			return fmt.Errorf("live bench: drive the lines up to %v: %w", now, err)
		}
		switch o.Kind {
		case rig.Reached:
			return nil
		case rig.Sampled:
			if b.Speak == nil {
				continue
			}
			if err := b.Speak(o.Sample); err != nil {
				b.seen = append(b.seen, trouble(now, "rehearsal-wire", fmt.Sprintf("the simulated meter cannot speak: %v", err)))
			}
			continue
		case rig.Emitted, rig.Sensed:
			o.Span.Late = max(o.Span.Late, b.Now())
		}
		b.seen = append(b.seen, o)
	}
}

func trouble(at signal.Instant, code, text string) rig.Observation {
	return rig.Observation{Kind: rig.Trouble, Span: signal.At(at), Trouble: &rig.BenchTrouble{Code: code, Text: text}}
}

// hear takes in what the meter has sent.
func (b *Bench) hear() {
	for {
		select {
		case r, ok := <-b.Meter.Readings():
			b.reading(r, ok)
			if !ok {
				return
			}
		default:
			return
		}
	}
}

// reading keeps one reading. The end of the readings is a trouble each time that it
// is met: a bench without a meter is none.
func (b *Bench) reading(r meter.Reading, ok bool) {
	switch {
	case !ok:
		b.seen = append(b.seen, trouble(b.Now(), meter.HungUp, "the meter is gone: nothing more can come from it"))
	case r.Trouble != nil:
		b.seen = append(b.seen, rig.Observation{Kind: rig.Trouble, Span: signal.At(r.At), Trouble: r.Trouble})
	default:
		b.seen = append(b.seen, rig.Observation{Kind: rig.Sampled, Span: signal.Span{Early: r.Sample.From, Late: r.Sample.To}, Sample: r.Sample})
	}
}

// wait lets some time pass, or a reading come.
func (b *Bench) wait(d time.Duration) {
	t := time.NewTimer(d)
	defer t.Stop()
	select {
	case r, ok := <-b.Meter.Readings():
		b.reading(r, ok)
	case <-t.C:
	}
}

// Safe takes the supply off and releases all lines.
func (b *Bench) Safe() error {
	if b.closed {
		return nil
	}
	return b.Lines.Safe()
}

// Close makes the bench safe and lets go of lines and meter.
func (b *Bench) Close() error {
	if b.closed {
		return nil
	}
	b.closed = true
	return errors.Join(b.Lines.Safe(), b.Lines.Close(), b.Meter.Close())
}
