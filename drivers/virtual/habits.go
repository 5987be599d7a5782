package virtual

import (
	"time"

	"pintle/rig/signal"
)

// habits are how a controller goes about its work: the figures of its Config, and
// what its defects have made of it. The zero value of every other field is sound.
type habits struct {
	ControllerConfig
	deaf        signal.LineSet   // limits that do not stop it
	lag         [8]time.Duration // further delay of a stop, by its reason
	interrupts  bool             // raw edges matter, not only looks
	rawLimits   bool             // no debounce of limits
	rawButton   bool             // no debounce of the button
	restarts    bool             // a limit that breaks again starts it
	retries     time.Duration    // after a stall
	homes       bool             // moves at power-up
	repeats     time.Duration    // of a held button
	byMemory    bool             // pays no heed to limits that are made already
	deafMoving  bool             // to presses in mid-travel
	ignoresBoth bool             // both limits made mean nothing
	stutters    time.Duration    // first part of a start
	sameWay     bool             // after a stop in mid-travel
	countsHeld  bool             // a button down at power-up is a press
	ignoresBeam bool
	noReverse   bool
	kicks       time.Duration // drive the other way after a stop
}

// memory is what only a defective controller has to remember.
type memory struct {
	queue     int            // presses that interrupts have counted
	burst     signal.Instant // of the first press in a burst
	inBurst   int            // presses in it
	pressed   signal.Instant // when a held button last counted
	decided   signal.Instant // when the latest stop was decided
	bounced   bool           // the limit has bounced since
	broke     bool           // the limit that stopped it has broken again
	forced    bool           // the next drive pays no heed to limits
	homed     bool
	stuttered bool
	kicking   way // the way of the drive that is being kicked back from
}

func newHabits(c ControllerConfig) habits {
	h := habits{ControllerConfig: c}
	for _, name := range c.Defects {
		if d, ok := defectNamed(name); ok {
			d.habit(&h)
		}
	}
	return h
}

// looks is how many looks in a row must read alike to span a time.
func (h *habits) looks(d time.Duration) int {
	return 1 + int((d+h.Loop-1)/h.Loop)
}

// press has the last word on whether a look found a press.
func (h *habits) press(p *porter, at signal.Instant, press bool) bool {
	if h.rawButton {
		press = p.trouble.queue > 0
		if press {
			p.trouble.queue--
		}
		if p.trouble.queue > 0 {
			p.alarm = at
		}
	}
	if h.repeats == 0 {
		return press
	}
	if press {
		p.trouble.pressed = at
	}
	if p.inputs[signal.Remote].made() || p.inputs[signal.SecondRemote].made() {
		if at.Sub(p.trouble.pressed) >= h.repeats {
			press, p.trouble.pressed = true, at
		}
		p.alarm = min(p.alarm, p.trouble.pressed.Add(h.repeats))
	}
	return press
}

// stir is what a controller does at rest without being asked: nothing, if sound.
func (h *habits) stir(p *porter, at signal.Instant) {
	m := &p.trouble
	switch {
	case h.rawLimits && m.bounced:
		m.bounced, m.forced = false, true
		p.begin(at, p.last)
	case h.restarts && m.broke:
		m.broke = false
		p.begin(at, p.last)
	case h.retries > 0 && p.reason == byStall:
		if at.Sub(p.stopped) >= h.retries {
			p.begin(at, p.last)
		}
	case h.homes && !m.homed:
		m.homed = true
		if !p.inputs[signal.OpenLimit].made() && !p.inputs[signal.ClosedLimit].made() {
			p.begin(at, closing)
		}
	}
}

// started is called when a drive has begun.
func (h *habits) started(p *porter, at signal.Instant) {
	m := &p.trouble
	m.broke, m.bounced = false, false
	if m.forced {
		m.forced = false
		p.inputs[p.drive.ahead()].believe(signal.Broken)
	}
	switch {
	case m.kicking != idle:
		p.last, m.kicking = m.kicking, idle
		p.reason, p.switchTo, p.switchAt = byHabit, idle, at.Add(h.kicks)
	case h.stutters > 0 && !m.stuttered:
		m.stuttered, p.then = true, p.drive
		p.reason, p.switchTo, p.switchAt = byHabit, idle, at.Add(h.stutters)
	}
}

// stopped is called when a drive has ended.
func (h *habits) stopped(p *porter, at signal.Instant, was way) {
	switch {
	case p.switchAt != signal.Never: // it goes on already
	case h.retries > 0 && p.reason == byStall:
		p.alarm = at.Add(h.retries)
	case h.kicks > 0 && p.reason != byHabit:
		p.trouble.kicking = was
		p.switchTo, p.switchAt = -was, at.Add(200*time.Millisecond)
	}
	if p.trouble.bounced || p.trouble.broke {
		p.alarm = at
	}
}

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
			p.hearButton(at, in.raw)
		case signal.OpenLimit, signal.ClosedLimit:
			p.hearLimit(at, l, in.raw)
		}
	}
}

// hearButton counts presses, but no more than two in one burst.
func (p *porter) hearButton(at signal.Instant, v signal.Level) {
	m := &p.trouble
	if !p.habits.rawButton || v == signal.Broken || at < p.quiet {
		return
	}
	if at.Sub(m.burst) > burstTime {
		m.burst, m.inBurst = at, 0
	}
	if m.inBurst < 2 {
		m.inBurst++
		m.queue++
		p.alarm = min(p.alarm, at)
	}
}

func (p *porter) hearLimit(at signal.Instant, l signal.Line, v signal.Level) {
	m := &p.trouble
	switch {
	case !p.habits.rawLimits:
	case v == signal.Made:
		if p.drive != idle && p.switchAt == signal.Never && p.drive.ahead() == l && !p.habits.deaf.Has(l) {
			p.stop(at, byLimit)
		}
	case p.reason == byLimit && p.last.ahead() == l && at.Sub(m.decided) <= bounceTime:
		m.bounced = true
		p.alarm = min(p.alarm, at)
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
