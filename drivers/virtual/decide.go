package virtual

import "pintle/rig/signal"

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
	if at < p.quiet {
		return
	}
	switch {
	case p.drive != idle && p.switchAt != signal.Never: // about to stop
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
		case button:
			press = press || in.made()
		case p.reason == byLimit && l == p.last.ahead() && !in.made():
			p.trouble.broke = true
		}
	}
	return p.habits.press(p, at, press)
}

// both says that both limits are made, which no sound gate can do.
func (p *porter) both() bool {
	return p.inputs[signal.OpenLimit].made() && p.inputs[signal.ClosedLimit].made()
}

// reached says that the limit ahead is made.
func (p *porter) reached(w way) bool {
	if p.habits.deaf.Has(w.ahead()) || p.habits.ignoresBoth && p.both() {
		return false
	}
	return p.armed && p.inputs[w.ahead()].made()
}

// barred says that a drive must not begin.
func (p *porter) barred(w way) bool {
	switch {
	case p.trouble.forced:
		return false
	case p.both():
		return !p.habits.ignoresBoth
	case p.inputs[w.ahead()].made():
		return !p.habits.byMemory
	}
	return w == closing && p.beam()
}

func (p *porter) beam() bool { return p.inputs[signal.Beam].made() && !p.habits.ignoresBeam }

// choose picks the way that a press at rest asks for.
func (p *porter) choose() way {
	open, closed := p.inputs[signal.OpenLimit].made(), p.inputs[signal.ClosedLimit].made()
	switch {
	case open != closed && !p.habits.byMemory:
		if open {
			return closing
		}
		return opening
	case p.last == idle:
		return opening
	case p.habits.sameWay:
		return p.last
	}
	return -p.last
}

// rest is a look while nothing moves.
func (p *porter) rest(at signal.Instant, press bool) {
	if press {
		p.begin(at, p.choose())
		return
	}
	p.habits.stir(p, at)
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
	switch {
	case p.reached(p.drive):
		p.stop(at, byLimit)
	case press && !p.habits.deafMoving:
		p.stop(at, byPress)
	case at.Sub(p.started) >= p.habits.RunTime:
		p.stop(at, byRunTime)
	case p.stall(at):
		p.stop(at, byStall)
	case p.drive == closing && p.beam():
		p.stop(at, byBeam)
		if !p.habits.noReverse {
			p.then = opening
		}
	}
}

// stall says that the current has been too high for too long.
func (p *porter) stall(at signal.Instant) bool {
	if at.Sub(p.started) < p.habits.InrushMask || p.shunt.Current(at).Abs() < p.habits.StallCurrent {
		p.stalled = signal.Never
		return false
	}
	p.stalled = min(p.stalled, at)
	return at.Sub(p.stalled) >= p.habits.StallTime
}

// begin decides on a drive, which follows once the start delay and the dead time
// are over.
func (p *porter) begin(at signal.Instant, w way) {
	if p.barred(w) {
		return
	}
	p.switchTo, p.switchAt = w, at.Add(p.habits.StartDelay)
	if p.last != idle && w != p.last {
		p.switchAt = max(p.switchAt, p.stopped.Add(p.habits.DeadTime))
	}
}

// stop decides on the end of a drive.
func (p *porter) stop(at signal.Instant, why reason) {
	p.reason = why
	p.switchTo, p.switchAt = idle, at.Add(p.habits.StopDelay+p.habits.lag[why])
	p.trouble.decided, p.trouble.stuttered = at, false
}

// change switches the bridge.
func (p *porter) change(at signal.Instant) {
	p.switchAt = signal.Never
	was := p.drive
	p.set(p.switchTo)
	if p.drive == idle {
		p.stopped = at
		if w := p.then; w != idle {
			p.then = idle
			p.begin(at, w)
		}
		p.habits.stopped(p, at, was)
		return
	}
	p.started, p.stalled, p.reason, p.last = at, signal.Never, noReason, p.drive
	p.armed = !p.habits.byMemory
	p.habits.started(p, at)
}
