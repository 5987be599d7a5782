package virtual

import (
	"time"

	"pintle/rig/signal"
)

// A bounce is over by this time after the first touch, and so is a burst of presses.
const (
	bounceTime = 100 * time.Millisecond
	burstTime  = 300 * time.Millisecond
)

// interrupt handles raw edges at the instant at which they happen.
func (p *porter) interrupt(at signal.Instant) {
	for _, l := range watched {
		in := &p.inputs[l]
		in.read(at)
		if in.raw == in.heard {
			continue
		}
		in.heard = in.raw
		switch l {
		case signal.Remote, signal.SecondRemote:
			p.hearButton(at, l, in.raw)
		case signal.OpenLimit, signal.ClosedLimit:
			p.hearLimit(at, l, in.raw)
		case signal.Beam:
			p.hearBeam(at, in.raw)
		}
	}
}

// hearButton counts presses, but no more than so many in one burst.
func (p *porter) hearButton(at signal.Instant, l signal.Line, v signal.Level) {
	m := &p.trouble
	if p.habits.edgePresses == 0 && !(p.habits.edgeSecond && l == signal.SecondRemote) || l == signal.SecondRemote && p.habits.deafSecond || v == signal.Broken || at < p.quiet {
		return
	}
	if at.Sub(m.burst) > burstTime {
		m.burst, m.inBurst = at, 0
	}
	if m.inBurst < max(p.habits.edgePresses, 1) {
		m.inBurst++
		m.queue++
		p.alarm = min(p.alarm, at)
	}
}

func (p *porter) hearLimit(at signal.Instant, l signal.Line, v signal.Level) {
	m := &p.trouble
	switch {
	case p.habits.rawBehind && v == signal.Made && p.drive != idle && p.switchAt == signal.Never && p.drive.ahead() != l:
		p.stop(at, byLimit)
	case !p.habits.rawLimits && !p.habits.quickLimits:
	case v == signal.Made:
		if p.drive != idle && p.switchAt == signal.Never && p.drive.ahead() == l && !p.habits.deaf.Has(l) {
			p.stop(at, byLimit)
		}
	case p.habits.rawLimits && p.reason == byLimit && p.last.ahead() == l && at.Sub(m.decided) <= bounceTime:
		m.bounced = true
		p.alarm = min(p.alarm, at)
	}
}

func (p *porter) hearBeam(at signal.Instant, v signal.Level) {
	if p.habits.quickBeam && v == signal.Made && p.drive == closing && p.switchAt == signal.Never {
		p.stop(at, byBeam)
		p.then, p.after = p.habits.next(p)
	}
}

// nextInterrupt is when the next raw edge comes.
func (p *porter) nextInterrupt() signal.Instant {
	next := signal.Never
	for _, l := range watched {
		in := &p.inputs[l]
		if in.raw != in.heard {
			return p.now
		}
		next = min(next, in.due())
	}
	return next
}
