package live

import (
	"cmp"
	"errors"
	"fmt"
	"sync"
	"time"

	"pintle/drivers/meter"
	"pintle/rig"
	"pintle/rig/signal"
)

// A Source is a meter that gives readings by itself, in the order of time, until
// it is closed. Its stamps come from the bench's clock.
type Source interface {
	Readings() <-chan meter.Reading
	Facts() rig.MeterFacts
	Close() error
}

// A Config says what a bench is put together from.
type Config struct {
	Lines rig.Bench // who drives the lines
	Facts rig.Facts // of that bench
	Meter Source
	Clock Clock // the one by which the meter stamps its readings

	// Speak takes the samples of a simulated meter behind Lines, for a wire on which
	// Meter hears them. It is called in a goroutine of its own and may wait for the
	// wire. Nil: such samples are dropped.
	Speak func(signal.Sample) error

	Lead time.Duration // stated, where the lines' own is not longer; zero: 5 ms
	Late time.Duration // stated, where the lines' own is not longer; zero: 25 ms
}

const (
	// turn is how often the lines are asked.
	turn = time.Millisecond
	// usualLead covers the conductor's own thinking.
	usualLead = 5 * time.Millisecond
	// usualLate is what an ordinary process may be kept waiting by the system, and a
	// little more: a later edge is a fault of the bench.
	usualLate = 25 * time.Millisecond
)

// The names of the troubles that a rehearsal can have. They do not change.
const (
	WireFailed = "rehearsal-wire" // Speak failed, or does not keep up
	WireLate   = "rehearsal-late" // a sample was spoken so late that the meter takes it for a later one
)

// A Bench is a bench in real time.
type Bench struct {
	c       Config
	alarm   alarm
	origin  signal.Instant // of the bench, on the clock
	base    signal.Instant // of the bench, on the lines' clock
	spoken  chan signal.Sample
	spoke   chan struct{} // closed when nothing more is spoken
	quit    chan struct{}
	ticking sync.WaitGroup
	woken   chan struct{} // something was put into seen

	readings <-chan meter.Reading // nil once the meter is gone
	held     *meter.Reading       // the next one, which edges may come before
	since    signal.Instant       // what was seen before is no concern of anybody's
	gone     *rig.BenchTrouble    // why it is gone
	told     bool                 // and that has been said since the bench was last made safe or forgot

	mu     sync.Mutex // guards what follows, and the lines
	seen   []rig.Observation
	sensed signal.LineSet    // as made
	err    error             // the lines failed
	broken *rig.BenchTrouble // the wire is, which has been said
	late   bool              // the wire was late, which has been said since the bench was last made safe
	closed bool
}

var (
	_ rig.Bench     = (*Bench)(nil)
	_ rig.Forgetter = (*Bench)(nil)
)

// New puts a bench together, and time begins. The bench closes what it was made
// from when it is closed; where there is an error here it is left alone.
func New(c Config) (*Bench, rig.Facts, error) {
	if err := c.check(); err != nil {
		return nil, rig.Facts{}, fmt.Errorf("live bench: %w", err)
	}
	facts := c.Facts
	facts.Virtual = false
	facts.Lead = max(facts.Lead, cmp.Or(c.Lead, usualLead))
	facts.Late = max(facts.Late, cmp.Or(c.Late, usualLate))
	facts.Meter = c.Meter.Facts()
	b := &Bench{
		c: c, alarm: c.Clock.newAlarm(), origin: c.Clock(), base: c.Lines.Now(),
		spoken: make(chan signal.Sample, 1024), spoke: make(chan struct{}), quit: make(chan struct{}), woken: make(chan struct{}, 1),
		readings: c.Meter.Readings(),
	}
	b.ticking.Go(b.tick)
	go b.speak()
	return b, facts, nil
}

func (c *Config) check() error {
	var errs []error
	bad := func(wrong bool, what string) {
		if wrong {
			errs = append(errs, errors.New(what))
		}
	}
	bad(c.Lines == nil, "nobody drives the lines")
	bad(c.Meter == nil, "there is no meter")
	bad(c.Clock == nil, "there is no clock")
	bad(c.Lead < 0, "the lead is negative")
	bad(c.Late < 0, "the lateness allowed is negative")
	if c.Meter != nil && c.Speak != nil {
		errs = append(errs, checkRehearsal(c.Meter.Facts(), c.Facts.Meter)...)
	}
	return errors.Join(errs...)
}

// checkRehearsal compares the meter with the simulated one that it is to hear: if
// what was stated of it did not cover the other, its samples would stand for the
// wrong stretches of time.
func checkRehearsal(heard, spoken rig.MeterFacts) (errs []error) {
	if heard.Most <= spoken.Most {
		errs = append(errs, fmt.Errorf("the meter's longest latency, %v, leaves nothing for the wire: the simulated meter alone takes up to %v", heard.Most, spoken.Most))
	}
	if heard.Least > spoken.Least {
		errs = append(errs, fmt.Errorf("the meter's shortest latency, %v, is longer than that of the simulated meter, %v", heard.Least, spoken.Least))
	}
	if heard.Window < spoken.Window {
		errs = append(errs, fmt.Errorf("the meter's window, %v, is shorter than that of the simulated meter, %v", heard.Window, spoken.Window))
	}
	return errs
}

// Now is the present instant.
func (b *Bench) Now() signal.Instant { return b.c.Clock() - b.origin }

var errClosed = errors.New("live bench: the bench is closed")

// Plan passes a line's future on to who drives it. An edge that is due already
// happens at once.
func (b *Bench) Plan(line signal.Line, future []signal.Edge) error {
	shifted := make([]signal.Edge, len(future))
	for i, e := range future {
		shifted[i] = signal.Edge{At: e.At, Level: e.Level}
		if e.At != signal.Never {
			shifted[i].At += b.base
		}
	}
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.closed {
		return errClosed
	}
	b.advance() // what was planned before has happened up to now
	if b.err != nil {
		return b.err
	}
	return b.c.Lines.Plan(line, shifted)
}

// Forget drops what was seen and not asked for, and what the meter said. That it is gone,
// or the wire is, is told all the same.
func (b *Bench) Forget() {
	b.mu.Lock()
	if !b.closed {
		b.advance()
	}
	b.seen = b.seen[:0]
	for l := range signal.Line(signal.LineCount) {
		if b.sensed.Has(l) {
			b.see(rig.Observation{Kind: rig.Sensed, Line: l, Level: signal.Made, Span: signal.At(b.Now())})
		}
	}
	if b.broken != nil {
		b.see(rig.Observation{Kind: rig.Trouble, Span: signal.At(b.Now()), Trouble: b.broken})
	}
	b.told, b.late = false, false
	b.mu.Unlock()
	b.since = signal.Never
	for b.hear() {
		b.reading()
	}
	b.since = b.Now()
}

// hear holds the next reading, where there is one. It says whether one is held.
func (b *Bench) hear() bool {
	if b.held == nil {
		select {
		case r, ok := <-b.readings:
			b.hold(r, ok)
		default:
		}
	}
	return b.held != nil
}

// hold keeps a reading while the lines come up to it.
func (b *Bench) hold(r meter.Reading, open bool) {
	if open {
		b.held = &r
		return
	}
	b.readings = nil
	if b.gone == nil {
		b.gone = &rig.BenchTrouble{Code: meter.HungUp, Text: "the meter gives no more readings: it has been closed"}
	}
}

// Next gives the next thing seen, or waits until the instant. Edges come before
// readings of what came later.
func (b *Bench) Next(until signal.Instant) (rig.Observation, error) {
	for {
		heard := b.hear() // first: the lines then come at least up to it
		now, o, err := b.look()
		if err != nil || o.Kind != 0 {
			return o, err
		}
		if heard {
			if o, ok := b.reading(); ok {
				return o, nil
			}
			continue
		}
		if b.gone != nil && !b.told {
			b.told = true
			return rig.Observation{Kind: rig.Trouble, Span: signal.At(now), Trouble: b.gone}, nil
		}
		if now >= until {
			return rig.Observation{Kind: rig.Reached, Span: signal.At(until)}, nil
		}
		at := until.Add(time.Duration(b.origin))
		select {
		case <-b.alarm.set(at):
		case <-b.woken:
		case r, ok := <-b.readings:
			b.hold(r, ok)
		}
	}
}

// look lets the lines come up to now and takes the first thing that they saw.
func (b *Bench) look() (now signal.Instant, o rig.Observation, err error) {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.closed {
		return 0, o, errClosed
	}
	now = b.advance()
	if len(b.seen) > 0 {
		o = b.seen[0]
		b.seen = append(b.seen[:0], b.seen[1:]...)
		return now, o, nil
	}
	return now, o, b.err
}

// reading makes an observation of the reading that is held, unless it is of before. That
// the meter is gone holds whenever it was said.
func (b *Bench) reading() (rig.Observation, bool) {
	r := b.held
	b.held = nil
	at, began := r.At-b.origin, r.At-b.origin
	if r.Trouble != nil {
		began = r.Began - b.origin
		if r.Trouble.Code == meter.HungUp {
			b.gone, b.told = r.Trouble, began >= b.since
		}
	}
	if began < b.since {
		return rig.Observation{}, false
	}
	if r.Trouble != nil {
		return rig.Observation{Kind: rig.Trouble, Span: signal.At(at), Trouble: r.Trouble}, true
	}
	s := r.Sample
	s.From -= b.origin
	s.To -= b.origin
	return rig.Observation{Kind: rig.Sampled, Span: signal.At(at), Sample: s}, true
}

// Safe makes the lines safe at once, whatever else is going on.
func (b *Bench) Safe() error {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.told, b.late = false, false
	if !b.closed {
		b.advance()
	}
	return b.c.Lines.Safe()
}

// patience is how long Close waits for a wire that is blocked.
const patience = 100 * time.Millisecond

// Close makes the lines safe, lets the wire finish what it is at, and then lets go
// of lines and meter.
func (b *Bench) Close() error {
	b.mu.Lock()
	if b.closed {
		b.mu.Unlock()
		return nil
	}
	b.closed = true
	err := b.c.Lines.Safe()
	b.mu.Unlock()
	close(b.quit)
	b.ticking.Wait()
	select {
	case <-b.spoke:
	case <-b.alarm.set(b.c.Clock().Add(patience)):
	}
	b.alarm.stop()
	return errors.Join(err, b.c.Lines.Close(), b.c.Meter.Close())
}
