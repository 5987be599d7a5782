package pi

import (
	"errors"
	"fmt"
	"time"

	"pintle/drivers/pi/hands"
	"pintle/rig"
	"pintle/rig/signal"
)

// A Config says what a bench is made from.
type Config struct {
	Name  string
	Hands hands.Config
	Meter rig.MeterFacts
	Lead  time.Duration // how far ahead edges must be planned; 0: 50 ms
	Late  time.Duration // an edge later than this is a fault; 0: 1 ms, or 10 ms without real-time priority
}

const (
	usualLead = 50 * time.Millisecond
	// usualLate is far above what hands with real-time priority were measured to be late
	// by, and below what would change a verdict. Without that priority an ordinary
	// process may be kept waiting for milliseconds.
	usualLate   = time.Millisecond
	ungrantLate = 10 * time.Millisecond
)

// stale is how long after its port was opened a meter's readings may be old ones, that
// waited in a buffer on the way.
const stale = 200 * time.Millisecond

// A Bench is a bench whose lines the hands drive.
type Bench struct {
	hands  *hands.Hands
	origin signal.Instant // on CLOCK_MONOTONIC
	driven signal.LineSet
	edge   hands.Note // has been taken and not given
	edged  bool       // there is one
	note   hands.Note
	held   bool           // the note is a reading that something may come before
	since  signal.Instant // what was seen before is no concern of anybody's
	made   signal.LineSet // were sensed as such then, which has still to be told
	told   hands.Trip     // the trip that has been told
	gone   bool           // that the hands are gone has been told
	short  shortage       // what was lost, as told
	pulled hands.Notice   // why the meter is gone; zero: it is not
	untold bool           // that it is has still to be told
	closed bool
}

var (
	_ rig.Bench     = (*Bench)(nil)
	_ rig.Halter    = (*Bench)(nil)
	_ rig.Forgetter = (*Bench)(nil)
	_ rig.Mirror    = (*Bench)(nil)
	_ rig.Sleeper   = (*Bench)(nil)
)

// New starts the hands. The facts say what was granted; Ready says what was not.
func New(c Config) (*Bench, rig.Facts, hands.Notice, error) {
	h, err := hands.Start(c.Hands)
	if err != nil {
		return nil, rig.Facts{}, hands.Notice{}, fmt.Errorf("bench: %w", err)
	}
	if err := h.Rest(stale + 2*c.Meter.Interval); err != nil {
		return nil, rig.Facts{}, hands.Notice{}, errors.Join(fmt.Errorf("bench: %w", err), h.Close())
	}
	b := &Bench{hands: h, origin: signal.Instant(h.Now())}
	facts := rig.Facts{Name: c.Name, Lead: c.Lead, Late: c.Late, Meter: c.Meter}
	facts.Meter.Says = h.Ready.Says
	for _, w := range append(append([]hands.Wire(nil), c.Hands.Outputs...), c.Hands.Inputs...) {
		facts.Lines |= signal.SetOf(w.Line)
		if w.Line.Info().Driven && w.Line != signal.Heartbeat {
			b.driven |= signal.SetOf(w.Line)
		}
	}
	if facts.Lead == 0 {
		facts.Lead = usualLead
	}
	facts.Late = c.late(h.Ready.Lost)
	return b, facts, h.Ready, nil
}

// late is how late an edge may be where so much was refused.
func (c Config) late(refused []string) time.Duration {
	switch {
	case c.Late != 0:
		return c.Late
	case len(refused) > 0:
		return ungrantLate
	}
	return usualLate
}

// Now is the present instant.
func (b *Bench) Now() signal.Instant { return signal.Instant(b.hands.Now()) - b.origin }

var errClosed = errors.New("the bench is closed")

// Plan lays out the future of a line.
func (b *Bench) Plan(l signal.Line, future []signal.Edge) error {
	switch {
	case b.closed:
		return errClosed
	case !b.driven.Has(l):
		return fmt.Errorf("plan %v: this bench does not drive it", l)
	}
	shifted := make([]signal.Edge, 0, len(future))
	for _, e := range future {
		if e.At == signal.Never {
			break
		}
		shifted = append(shifted, signal.Edge{At: e.At + b.origin, Level: e.Level})
	}
	b.hands.Plan(l, shifted)
	return nil
}

// Forget drops what was seen and not asked for, and what was lost of it. What ails the
// bench is told anew: a guard that has tripped, a meter that is gone, hands that are.
func (b *Bench) Forget() {
	b.made = b.hands.Forget()
	b.held, b.edged = false, false
	b.since = b.Now()
	b.told, b.gone, b.untold = hands.NoTrip, false, b.pulled.Gone
}

// Next gives what the hands have laid down, edges and troubles before readings of what came
// later, or waits for the instant. That something was lost comes first of all: a trial
// could be over before all that is still there has been looked at.
func (b *Bench) Next(until signal.Instant) (rig.Observation, error) {
	for {
		if b.closed {
			return rig.Observation{}, errClosed
		}
		b.hands.Beat()
		done := b.done()                           // before looking: what is laid down later is later
		b.edged = b.edged || b.hands.Line(&b.edge) // first: what was lost before it is counted by then
		if o, ok := b.shortOf(); ok {
			return o, nil
		}
		if o, ok := b.wasMade(); ok {
			return o, nil
		}
		if b.edged {
			b.edged = false
			return b.changed(&b.edge), nil
		}
		b.held = b.held || b.hands.Sample(&b.note) // first: what it must not overtake is there by then
		speaking := b.hands.Speaking()
		if o, ok := b.trouble(); ok {
			return o, nil
		}
		if b.held && !speaking && b.note.Arrived-b.origin <= done {
			if o, ok := b.sample(); ok {
				return o, nil
			}
			continue
		}
		if done >= until {
			return rig.Observation{Kind: rig.Reached, Span: signal.At(until)}, nil
		}
		b.hands.Wait(b.origin + until)
	}
}

// done is the instant up to which all is laid down. Hands that are gone lay down nothing
// any more, so that nothing has to wait for it: a reading that did would keep a trip back.
func (b *Bench) done() signal.Instant {
	if b.hands.Gone() {
		return b.Now()
	}
	return signal.Instant(b.hands.Done()) - b.origin
}

// wasMade tells of a line that was sensed as made when the bench forgot.
func (b *Bench) wasMade() (rig.Observation, bool) {
	for l := signal.Line(1); b.made != 0; l++ {
		if b.made.Has(l) {
			b.made &^= signal.SetOf(l)
			return rig.Observation{Kind: rig.Sensed, Line: l, Level: signal.Made, Span: signal.At(b.since)}, true
		}
	}
	return rig.Observation{}, false
}

// changed makes an observation of an edge.
func (b *Bench) changed(n *hands.Note) rig.Observation {
	o := rig.Observation{Kind: rig.Emitted, Line: n.Line, Level: n.Level, Planned: n.Planned - b.origin,
		Span: signal.Span{Early: n.Span.Early - b.origin, Late: n.Span.Late - b.origin}}
	if n.Sensed {
		o.Kind, o.Planned = rig.Sensed, 0
	}
	return o
}

// sample makes an observation of the reading that is held, unless it is of before. It is
// called once the lines' thread has told of all edges up to the reading's coming: the
// thread that reads the meter may be ahead of it.
func (b *Bench) sample() (rig.Observation, bool) {
	b.held = false
	at := b.note.Arrived - b.origin
	s := b.note.Sample
	s.From -= b.origin
	s.To -= b.origin
	return rig.Observation{Kind: rig.Sampled, Span: signal.At(at), Sample: s}, at >= b.since
}

func said(at signal.Instant, code, text string) (rig.Observation, bool) {
	return rig.Observation{Kind: rig.Trouble, Span: signal.At(at), Trouble: &rig.BenchTrouble{Code: code, Text: text}}, true
}

// shortOf tells what was lost, each time that there is more.
func (b *Bench) shortOf() (rig.Observation, bool) {
	code, text := b.short.of(b.hands, int64(b.since+b.origin))
	if code == "" {
		return rig.Observation{}, false
	}
	return said(b.Now(), code, text)
}

// word gives the next thing that the hands said since. That the meter is gone holds
// whenever it was said.
func (b *Bench) word() (hands.Notice, bool) {
	for {
		select {
		case n := <-b.hands.Notices():
			if n.Gone {
				b.pulled, b.untold = n, false
				return n, true
			}
			if signal.Instant(n.At)-b.origin >= b.since {
				return n, true
			}
			continue
		default:
		}
		is := b.untold
		b.untold = false
		return b.pulled, is
	}
}

// trouble tells what is wrong, each thing once.
func (b *Bench) trouble() (rig.Observation, bool) {
	if n, ok := b.word(); ok {
		return said(b.Now(), n.Code, n.Text)
	}
	if t, at := b.hands.Tripped(); t != hands.NoTrip && t != b.told && (!b.held || signal.Instant(at) <= b.note.Arrived) {
		b.told = t
		code, text := tripText(t)
		return said(signal.Instant(at)-b.origin, code, text)
	}
	if b.hands.Gone() && !b.gone && !b.held { // last: what is still there may say why
		return b.handless()
	}
	return rig.Observation{}, false
}

// handless tells that the hands are gone, at once, and what is known of the supply.
func (b *Bench) handless() (rig.Observation, bool) {
	b.gone = true
	text := "the process that drives the lines died or hung; the supply was taken off"
	if !b.hands.Off() {
		text = "the process that drives the lines died or hung; its lines are being taken over: IF THE SUPPLY STAYS ON, TAKE IT OFF BY HAND"
	}
	return said(b.Now(), "hands-gone", text)
}

// trips is the table of why the guard may have acted. The first two are the
// controller's own doing, and have the names that the conductor knows them by.
var trips = map[hands.Trip][2]string{
	hands.TooMuchCurrent:  {rig.GuardCurrent, "the bench's guard took the supply off: the motor current came to what the guard does not allow"},
	hands.TooLongDrive:    {rig.GuardDrive, "the bench's guard took the supply off: the motor had run without a pause for longer than the guard allows"},
	hands.MeterSilent:     {"meter-silent", "the bench's guard took the supply off: the current meter fell silent; check its lead and its supply"},
	hands.ConductorSilent: {"conductor-silent", "the bench's guard took the supply off: the program gave no sign of life for too long; let the computer do less beside"},
	hands.MeterGone:       {"meter-gone", "the bench's guard took the supply off: the meter's port is gone; check its plug"},
	hands.LinesFailed:     {"lines-failed", "the lines could not be driven any more, and were let go"},
}

func tripText(t hands.Trip) (code, text string) {
	if w, ok := trips[t]; ok {
		return w[0], w[1]
	}
	return "guard", fmt.Sprintf("the bench's guard took the supply off, for a reason it gives as %d", t)
}

// Safe takes the supply off, releases the lines and forgets every plan.
func (b *Bench) Safe() error {
	if b.closed {
		return nil
	}
	return b.hands.Safe()
}

// Pins gives the driven lines that are made as their pins have it.
func (b *Bench) Pins() (signal.LineSet, error) {
	if b.closed {
		return 0, errClosed
	}
	return b.hands.Pins()
}

// Woke gives by how much later than they asked to the hands were woken.
func (b *Bench) Woke() []time.Duration { return b.hands.Woke() }

// Halt makes the lines safe, whatever the bench's own goroutine is doing.
func (b *Bench) Halt() error { return b.hands.Halt() }

// Close makes the bench safe and ends the hands.
func (b *Bench) Close() error {
	if b.closed {
		return nil
	}
	b.closed = true
	return b.hands.Close()
}
