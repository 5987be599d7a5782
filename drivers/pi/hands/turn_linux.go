package hands

import (
	"errors"
	"fmt"

	rigsignal "pintle/rig/signal"
)

// turn does all that is due, then sleeps until something is, or for a millisecond.
func (h *hand) turn() error {
	now := h.clock.now()
	if err := h.heed(now); err != nil {
		return err
	}
	for _, l := range h.wired {
		h.desk.windows[l].read(&h.laid[l])
	}
	if err := h.emit(); err != nil {
		return err
	}
	if err := h.sense(); err != nil {
		return err
	}
	if err := h.beat(h.clock.now()); err != nil {
		return err
	}
	h.readPins()
	h.desk.done.Store(now)
	if h.burst.goesOn(h.clock.now(), h.next()) {
		return nil
	}
	until := min(h.next()-int64(h.c.Spin), h.clock.now()+turn)
	if h.heart != 0 {
		until = min(until, h.nextBeat)
	}
	if until > h.clock.now() {
		h.clock.sleep(until)
		h.desk.wakes.put(h.clock.now() - until)
	}
	return nil
}

// heed does what must not wait: a guard that has tripped, a conductor that is silent or
// asks for safety.
func (h *hand) heed(now int64) error {
	if h.made[h.supply] {
		if h.meter != nil && h.c.Guard.MeterSilence > 0 && now-h.desk.heard.Load() > int64(h.c.Guard.MeterSilence) {
			h.trip(MeterSilent)
		}
		h.alone(now)
	}
	asked := h.desk.safeAsked.Load()
	if Trip(h.desk.tripped.Load()) == NoTrip && asked == h.safe {
		return nil
	}
	for _, l := range h.wired {
		h.laid[l].forget()
	}
	err := h.rest()
	h.safe = asked
	h.desk.safeDone.Store(asked)
	return err
}

// alone trips the guard where the supply must not be on, nor come on, since nobody is
// there who would take it off again: the conductor planned ahead and then fell silent,
// or there is no meter any more.
func (h *hand) alone(now int64) bool {
	switch {
	case now-h.desk.beat.Load() > int64(h.c.Guard.Conductor):
		h.trip(ConductorSilent)
	case h.unplugged.Load():
		h.trip(MeterGone)
	default:
		return false
	}
	return true
}

// rest takes the supply off, then releases every other line, also where that failed.
func (h *hand) rest() error {
	failed := h.set(h.bits[h.supply], map1(h, h.supply, rigsignal.Broken))
	mask, bits := uint64(0), uint64(0)
	for _, l := range h.wired {
		if l != h.supply && h.made[l] {
			mask |= h.bits[l]
			bits |= map1(h, l, rigsignal.Broken)
		}
	}
	return errors.Join(failed, h.set(mask, bits))
}

// map1 is a line's bit at a level.
func map1(h *hand, l rigsignal.Line, v rigsignal.Level) uint64 {
	if h.wires[l].logical(v) {
		return h.bits[l]
	}
	return 0
}

// release is rest on the way out, whatever else is wrong. The heartbeat stops.
func (h *hand) release() {
	_ = h.rest()
	if h.heart != 0 {
		_ = h.outputs.Set(h.heart, 0)
	}
}

// set drives lines at once and lays down when that was.
func (h *hand) set(mask, bits uint64) error { return h.setPlanned(mask, bits, 0) }

func (h *hand) setPlanned(mask, bits uint64, planned int64) error {
	if mask == 0 {
		return nil
	}
	before := h.clock.now()
	if err := h.outputs.Set(mask, bits); err != nil {
		return fmt.Errorf("drive the lines: %w", err)
	}
	after := h.clock.now()
	for _, l := range h.wired {
		if mask&h.bits[l] == 0 {
			continue
		}
		made := (bits&h.bits[l] != 0) != h.wires[l].Rest
		if made == h.made[l] {
			continue
		}
		h.made[l] = made
		if l == h.supply {
			h.desk.supply.Store(number(made))
			h.desk.heard.Store(max(h.desk.heard.Load(), after)) // its silence counts from here on
		}
		at := planned
		if at == 0 {
			at = before
		}
		h.line = note{kind: emitted, line: uint32(l), made: number(made), planned: at, early: before, late: after}
		h.desk.lines.put(&h.line, after)
	}
	return nil
}

func number(b bool) uint32 {
	if b {
		return 1
	}
	return 0
}

// next is when the next edge of any line is due.
func (h *hand) next() int64 {
	next := int64(rigsignal.Never)
	for _, l := range h.wired {
		next = min(next, h.laid[l].due())
	}
	return next
}

// emit emits what is due, and stays awake for what is due within the spin.
func (h *hand) emit() error {
	for {
		next := h.next()
		now := h.clock.now()
		if next > now+int64(h.c.Spin) {
			return nil
		}
		for next > now {
			if Trip(h.desk.tripped.Load()) != NoTrip || h.desk.safeAsked.Load() != h.safe {
				return nil // the next turn heeds it
			}
			now = h.clock.now()
		}
		if Trip(h.desk.tripped.Load()) != NoTrip {
			return nil
		}
		if err := h.emitAt(next); err != nil {
			return err
		}
		h.burst.latest = h.clock.now()
	}
}

// emitAt emits the edges of one instant together.
func (h *hand) emitAt(at int64) error {
	mask, bits := uint64(0), uint64(0)
	for _, l := range h.wired {
		for h.laid[l].due() <= at {
			e := h.laid[l].pop()
			level := rigsignal.Broken
			if e.made != 0 {
				level = rigsignal.Made
			}
			if (e.made != 0) == h.made[l] && mask&h.bits[l] == 0 {
				continue
			}
			mask |= h.bits[l]
			bits = bits&^h.bits[l] | map1(h, l, level)
		}
	}
	on := mask&h.bits[h.supply] != 0 && bits&h.bits[h.supply] == map1(h, h.supply, rigsignal.Made)
	if on && h.alone(h.clock.now()) {
		return nil // the next turn makes all safe
	}
	return h.setPlanned(mask, bits, at)
}

// sense takes what the kernel has of sensed edges.
func (h *hand) sense() error {
	if h.inputs == nil {
		return nil
	}
	for e := &h.edge; ; {
		is, err := h.inputs.Take(e)
		if err != nil || !is {
			return err
		}
		w := h.c.Inputs[e.Line]
		made := e.Level != w.Rest
		h.senses(w.Line, made) // first: a conductor who forgets the note sees the level
		if e.Lost > 0 {        // before the note, and not in words: the trial may be over with it
			h.desk.edges.add(uint64(e.Lost), e.At)
		}
		h.line = note{kind: sensed, line: uint32(w.Line), made: number(made), early: e.At, late: e.At}
		h.desk.lines.put(&h.line, e.At)
		if e.Lost > 0 {
			if err := h.lookAgain(); err != nil {
				return err
			}
		}
	}
}

func (h *hand) senses(l rigsignal.Line, made bool) {
	if made {
		h.desk.sensed.Or(uint32(rigsignal.SetOf(l)))
	} else {
		h.desk.sensed.And(^uint32(rigsignal.SetOf(l)))
	}
}

// lookAgain reads the sensed lines, where their edges do not tell.
func (h *hand) lookAgain() error {
	levels, err := h.inputs.Levels()
	for n, w := range h.c.Inputs {
		h.senses(w.Line, (levels&(1<<n) != 0) != w.Rest)
	}
	return err
}

// beat toggles the heartbeat while all is well.
func (h *hand) beat(now int64) error {
	if h.heart == 0 || now < h.nextBeat {
		return nil
	}
	h.nextBeat = now + int64(h.c.Beat)
	well := Trip(h.desk.tripped.Load()) == NoTrip && now-h.desk.beat.Load() <= int64(h.c.Guard.Conductor)
	if !well && !h.beating {
		return nil
	}
	h.beating = well && !h.beating
	bits := uint64(0)
	if h.beating {
		bits = h.heart
	}
	return h.outputs.Set(h.heart, bits)
}

// notice says something in words. Where so much has been said that there is no room it
// counts as lost, which makes the trial void.
func (h *hand) notice(n Notice) {
	if n.At == 0 {
		n.At = h.clock.now()
	}
	h.desk.said.Add(1) // first: readings wait until the conductor has heard it
	select {
	case h.notices <- n:
	default:
		h.desk.unsaid.add(1, n.At)
	}
}

// trip latches the guard, the first time.
func (h *hand) trip(t Trip) {
	h.desk.tripAt.CompareAndSwap(0, h.clock.now()) // first: who sees the one sees the other
	h.desk.tripped.CompareAndSwap(uint32(NoTrip), uint32(t))
}
