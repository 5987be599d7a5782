package virtual

import (
	"time"

	"pintle/rig/signal"
)

// ahead is the limit that ends a drive.
func (w way) ahead() signal.Line {
	if w == opening {
		return signal.OpenLimit
	}
	return signal.ClosedLimit
}

// decide is one look: read the inputs, then do what the state asks for.
func (p *porter) decide(at signal.Instant) {
	if p.alarm <= at {
		p.alarm = signal.Never
	}
	press := p.read(at)
	if at < p.quiet || p.trouble.hung {
		return
	}
	switch {
	case p.drive != idle && p.switchAt != signal.Never:
		p.habits.whileStopping(p, press)
	case p.drive != idle:
		p.watch(at, press)
	case p.switchAt != signal.Never:
		p.prepare(press)
	default:
		p.rest(at, press)
	}
}

// read looks at all inputs and says whether there is a press. What the first look
// after power-up finds is taken for granted: a button that was down already is
// no press.
func (p *porter) read(at signal.Instant) (press bool) {
	for _, l := range watched {
		in := &p.inputs[l]
		button := l == signal.Remote || l == signal.SecondRemote
		if p.looks == 0 && !(button && p.habits.countsHeld) {
			in.read(at)
			in.believe(in.raw)
			continue
		}
		if !in.look(at) {
			continue
		}
		switch {
		case button && in.made():
			press = p.count(at, l) || press
		case l == signal.Beam && in.made():
			p.beamed = at
		case p.reason == byLimit && l == p.last.ahead() && !in.made():
			p.trouble.broke = true
		}
	}
	return p.habits.press(p, at, press)
}

// Two hands do not press at the very same time.
const sameMoment = 250 * time.Millisecond

// count says whether a button that has gone down is a press of its own: two that
// go down together are one.
func (p *porter) count(at signal.Instant, l signal.Line) bool {
	other := signal.Remote + signal.SecondRemote - l
	if p.inputs[other].made() && at.Sub(p.pressed) < sameMoment {
		p.trouble.hung = p.habits.hangs
		return false
	}
	p.pressed = at
	return true
}

// limit says that a limit is made.
func (p *porter) limit(l signal.Line) bool {
	return p.inputs[l].made() && p.now.Sub(p.woken) >= p.habits.limitless
}

// both says that both limits are made, which no sound gate can do.
func (p *porter) both() bool { return p.limit(signal.OpenLimit) && p.limit(signal.ClosedLimit) }

// reached says that the limit ahead is made.
func (p *porter) reached(w way) bool {
	if p.habits.deaf.Has(w.ahead()) || p.habits.ignoresBoth && p.both() || p.habits.misses(p) {
		return false
	}
	return p.armed && p.limit(w.ahead()) || p.habits.stopsBehind && p.trouble.left && p.limit((-w).ahead())
}

// barred says that a drive must not begin.
func (p *porter) barred(w way) bool {
	switch {
	case p.trouble.forced:
		return false
	case p.habits.weak && p.low():
		return true
	case p.both():
		return !p.habits.ignoresBoth
	case p.limit(w.ahead()):
		return !p.habits.byMemory
	}
	return w == closing && p.beam() && !p.habits.beamEdge
}

// beam says that the beam is interrupted.
func (p *porter) beam() bool {
	return p.inputs[signal.Beam].made() && !p.habits.ignoresBeam &&
		!(p.habits.tires > 0 && p.now.Sub(p.beamed) >= p.habits.tires)
}

// low says that the supply is not what it should be.
func (p *porter) low() bool {
	return p.inputs[signal.SupplyDip].raw == signal.Made || p.inputs[signal.SupplySag].raw == signal.Made
}

// choose picks the way that a press at rest asks for.
func (p *porter) choose() way {
	open, closed := p.limit(signal.OpenLimit), p.limit(signal.ClosedLimit)
	switch {
	case p.habits.closesFirst && p.last == idle:
		p.trouble.forced = true
		return closing
	case open != closed && !p.habits.byMemory:
		if open {
			return closing
		}
		return opening
	case p.last == idle:
		return opening
	case p.habits.sameWay, p.habits.forgetsEnd && p.reason == byLimit:
		return p.last
	}
	return -p.last
}

// rest is a look while nothing moves.
func (p *porter) rest(at signal.Instant, press bool) {
	if !press {
		p.habits.stir(p, at)
		return
	}
	if w := p.habits.hurries(p, at); w != idle {
		p.begin(at, w, false)
		return
	}
	p.begin(at, p.choose(), false)
}

// prepare is a look while a drive is about to begin.
func (p *porter) prepare(press bool) {
	if press || p.barred(p.switchTo) {
		p.switchAt = signal.Never
		p.trouble.forced, p.trouble.kicking = false, idle
	}
}

// watch is a look while the motor is driven.
func (p *porter) watch(at signal.Instant, press bool) {
	if p.inputs[p.drive.ahead()].raw == signal.Broken {
		p.armed = true
	}
	p.habits.watch(p)
	trip := p.trip(at)
	switch {
	case p.reached(p.drive):
		p.stop(at, byLimit)
	case press && !p.habits.deafMoving && !(p.habits.deafStalled && p.stalled != signal.Never):
		p.stop(at, byPress)
	case p.habits.overrun(p, at):
		p.stop(at, byRunTime)
	case trip != noReason:
		p.stop(at, trip)
	case p.beamStops():
		p.stop(at, byBeam)
	case p.habits.tooLong(p, at):
		p.stop(at, byHabit)
	default:
		return
	}
	p.then, p.after = p.habits.next(p)
}

// beamStops says that the beam ends this drive.
func (p *porter) beamStops() bool {
	if p.drive == opening && !p.habits.beamBoth || (p.habits.beamEdge || p.habits.beamTurns) && p.beamed < p.started {
		return false
	}
	return p.beam()
}

// trip says what is wrong with the current, if it has been for too long.
func (p *porter) trip(at signal.Instant) reason {
	h, i := &p.habits, p.shunt.Current(at).Abs()
	p.shorted = since(p.shorted, at, h.ShortCurrent > 0 && i >= h.ShortCurrent)
	p.stalled = since(p.stalled, at, i >= h.StallCurrent)
	p.parted = since(p.parted, at, h.OpenTime > 0 && i < h.OpenCurrent)
	switch {
	case lasts(p.shorted, at, h.ShortTime):
		return byShort
	case lasts(p.stalled, at, h.StallTime) && at.Sub(p.started) >= h.InrushMask && p.drive != h.stallsUnseen:
		return byStall
	case lasts(p.parted, at, h.OpenTime):
		return byOpen
	}
	return noReason
}

// since keeps the instant at which a thing began, or Never while it is not so.
func since(was, at signal.Instant, is bool) signal.Instant {
	if !is {
		return signal.Never
	}
	return min(was, at)
}

func lasts(from, at signal.Instant, d time.Duration) bool {
	return from != signal.Never && at.Sub(from) >= d
}

// begin decides on a drive, which follows once the start delay and the dead time
// are over. It may be the controller's own idea.
func (p *porter) begin(at signal.Instant, w way, own bool) {
	if p.barred(w) {
		return
	}
	p.switchTo, p.switchAt = w, at.Add(p.habits.StartDelay+p.habits.late(p, at))
	if p.turned != idle && w != p.turned {
		p.switchAt = max(p.switchAt, p.stopped.Add(p.habits.dead(own)))
	}
}

// stop decides on the end of a drive.
func (p *porter) stop(at signal.Instant, why reason) {
	p.reason = why
	p.switchTo, p.switchAt = idle, at.Add(p.habits.StopDelay+p.habits.lag[why]+p.habits.wear(p))
	p.trouble.decided, p.trouble.stuttered = at, false
}

// change switches the bridge.
func (p *porter) change(at signal.Instant) {
	p.switchAt = signal.Never
	if p.switchTo == idle && p.habits.relents(p) {
		return
	}
	was := p.drive
	p.set(p.switchTo)
	if p.drive == idle {
		p.stopped = at
		if w := p.then; w != idle {
			p.then = idle
			p.begin(at, w, true)
			if p.switchAt != signal.Never {
				p.switchAt = max(p.switchAt, at.Add(p.after))
			}
			p.after = 0
		}
		p.habits.stopped(p, at, was)
		return
	}
	p.started, p.reason, p.last, p.turned = at, noReason, p.drive, p.drive
	p.stalled, p.shorted, p.parted = signal.Never, signal.Never, signal.Never
	p.armed = !p.habits.byMemory
	p.habits.started(p, at)
}
