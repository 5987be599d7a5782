package live

import (
	"fmt"

	"pintle/rig"
	"pintle/rig/signal"
)

// tick asks the lines at every turn. Turns that were missed are not made up for:
// the lines come up to now in one go.
func (b *Bench) tick() {
	alarm := b.c.Clock.newAlarm()
	defer alarm.stop()
	next := b.origin
	for {
		next = max(next.Add(turn), b.c.Clock())
		select {
		case <-alarm.set(next):
		case <-b.quit:
			return
		}
		b.mu.Lock()
		if !b.closed {
			b.advance()
		}
		b.mu.Unlock()
	}
}

// advance lets the lines come up to now. The lock is held.
func (b *Bench) advance() signal.Instant {
	now := b.Now()
	for b.err == nil {
		o, err := b.c.Lines.Next(now + b.base)
		switch {
		case err != nil:
			b.err = fmt.Errorf("live bench: the lines: %w", err)
			b.wake()
		case o.Kind == rig.Reached:
			return now
		case o.Kind == rig.Sampled:
			b.pass(o.Sample)
		default:
			o.Span.Early -= b.base
			o.Span.Late -= b.base
			o.Planned -= b.base
			b.sense(&o)
			b.see(o)
		}
	}
	return now
}

func (b *Bench) sense(o *rig.Observation) {
	switch {
	case o.Kind == rig.Sensed && o.Level == signal.Made:
		b.sensed |= signal.SetOf(o.Line)
	case o.Kind == rig.Sensed:
		b.sensed &^= signal.SetOf(o.Line)
	}
}

// see keeps an observation until it is asked for.
func (b *Bench) see(o rig.Observation) {
	b.seen = append(b.seen, o)
	b.wake()
}

func (b *Bench) wake() {
	select {
	case b.woken <- struct{}{}:
	default:
	}
}

// pass hands a sample over to the wire. It never waits: a wire that is blocked
// must not keep the bench from being made safe.
func (b *Bench) pass(s signal.Sample) {
	if b.c.Speak == nil {
		return
	}
	s.From -= b.base
	s.To -= b.base
	select {
	case b.spoken <- s:
	default:
		b.wireFailed(fmt.Errorf("it is blocked, and %d samples wait", len(b.spoken)))
	}
}

// speak puts samples on the wire, until the bench is closed or the wire fails.
func (b *Bench) speak() {
	defer close(b.spoke)
	for {
		select {
		case <-b.quit: // also when there is more to say
			return
		default:
		}
		select {
		case s := <-b.spoken:
			err := b.c.Speak(s)
			b.mu.Lock()
			switch {
			case b.closed:
			case err != nil:
				b.wireFailed(err)
			default:
				b.spokeAt(s, b.Now())
			}
			b.mu.Unlock()
			if err != nil {
				return
			}
		case <-b.quit:
			return
		}
	}
}

// spokeAt says, once until the bench is made safe, that a sample was spoken so late
// that the meter, which cannot know it, will take it for one of a later time. The
// lock is held.
func (b *Bench) spokeAt(s signal.Sample, now signal.Instant) {
	spoken := b.c.Facts.Meter
	room := b.c.Meter.Facts().Most - spoken.Most
	late := now.Sub(s.To.Add(spoken.Least)) // by the end of its stretch it was delivered then
	if late <= room || b.late {
		return
	}
	b.late = true
	b.see(rig.Observation{Kind: rig.Trouble, Span: signal.At(now), Trouble: &rig.BenchTrouble{
		Code: WireLate,
		Text: fmt.Sprintf("a sample of the rehearsal was on its way for %v, and the longest latency stated for the meter leaves %v for that: "+
			"let the computer do less beside, or state a longer latency", late, room),
	}})
}

// wireFailed says once that the wire has failed. The lock is held.
func (b *Bench) wireFailed(err error) {
	if b.broken != nil {
		return
	}
	b.broken = &rig.BenchTrouble{Code: WireFailed, Text: fmt.Sprintf("the wire of the rehearsal failed: %v; see who holds its other end", err)}
	b.see(rig.Observation{Kind: rig.Trouble, Span: signal.At(b.Now()), Trouble: b.broken})
}
