package virtual

import (
	"time"

	"pintle/rig/signal"
)

// habits are how a controller goes about its work: the figures of its Config, and
// what its defects have made of it. The zero value of every other field is sound.
type habits struct {
	ControllerConfig
	dipResets, sagResets bool // the voltages that its logic does not live on

	deaf         signal.LineSet             // limits that do not stop it
	lag          [reasonCount]time.Duration // further delay of a stop, by its reason
	retries      [reasonCount]time.Duration // after a stop for this reason it drives on, so much later
	interrupts   bool                       // raw edges matter, not only looks
	rawLimits    bool                       // no debounce of limits
	quickLimits  bool                       // a limit's first touch stops it
	quickBeam    bool                       // the beam's first flicker stops it
	edgePresses  int                        // edges of the button that count as presses, in one burst; none: looks count them
	edgeSecond   bool                       // an edge of the second button is a press
	snapPress    bool                       // one look at a button will do
	restarts     bool                       // a limit that breaks again starts it
	homes        bool                       // moves at power-up
	movesOff     bool                       // moves at power-up if both limits are made
	repeats      time.Duration              // of a held button
	byMemory     bool                       // pays no heed to limits that are made already
	deafMoving   bool                       // to presses in mid-travel
	ignoresBoth  bool                       // both limits made mean nothing
	stutters     time.Duration              // first part of a start
	sameWay      bool                       // after a stop in mid-travel
	forgetsEnd   bool                       // once the limit there breaks
	countsHeld   bool                       // a button down at power-up is a press
	hangs        bool                       // when two buttons go down together
	deafSecond   bool                       // to the second remote
	callsOff     bool                       // a stop, when it is pressed
	pressTurns   bool                       // a press in mid-travel turns it round
	deafStalled  bool                       // to presses while the motor is stalled
	rawBehind    bool                       // a limit's first touch stops it, even of the one behind
	upsets       signal.LineSet             // supplies that turn it round when they are as usual again
	drivesOn     bool                       // a press right after arrival goes on the same way
	ignoresBeam  bool
	beamEdge     bool          // sees the beam only when it is interrupted while closing
	beamBoth     bool          // the beam stops an opening gate too
	beamTurns    bool          // and turns it round
	tires        time.Duration // of a beam that is interrupted for this long
	closesAgain  bool          // when the beam is clear after a reversal
	noReverse    bool
	pulseLost    bool          // a limit must still be made when the bridge is to open
	stopsBehind  bool          // at a magnet behind it
	turnsBehind  bool          // and turns round there
	hasty        time.Duration // the limit behind must break sooner than this
	flinches     time.Duration // and no sooner than this
	missesEach   int           // limit of so many
	limitless    time.Duration // after power-up no limit counts
	kicks        time.Duration // drive the other way after a stop
	brakes       time.Duration // with both halves of the bridge, at each stop
	reversesAll  bool          // after a stall while opening too
	stallsUnseen way           // no stall is seen this way
	runsUncut    way           // no run-time cut-out this way
	runAdds      bool          // run time counts over all drives
	runTurns     bool          // the run-time cut-out turns it round
	runWaits     bool          // run time stands still while the supply is low
	wraps        bool          // its clock of 16 bits, in milliseconds
	rouses       time.Duration // moves by itself so long after power-up
	closesFirst  bool          // at the first press after power-up
	tries        time.Duration // drives so long at power-up
	wears        time.Duration // stops later by this with each drive
	pressHasty   bool          // a press knows no dead time
	ownHasty     bool          // its own reversals know no dead time
	weak         bool          // gives up while the supply is low
	comesOn      bool          // as it was, when the supply returns
	resumes      bool          // its travel, after a reset
	startsOver   bool          // what a reset has kept from starting
	keepsOrder   time.Duration // a drive shorter than this counts as such
	locksUp      bool          // after a reset that has cut a drive short
	losesDead    bool          // in a reset
	closesLater  time.Duration // by itself
}

// memory is what only a defective controller has to remember.
type memory struct {
	queue     int            // presses that interrupts have counted
	burst     signal.Instant // of the first press in a burst
	inBurst   int            // presses in it
	hung      bool           // it does nothing more
	hurried   bool           // a press came while it was about to stop at a limit
	held      signal.Instant // when a held button last counted
	decided   signal.Instant // when the latest stop was decided
	bounced   bool           // the limit has bounced since
	broke     bool           // the limit that stopped it has broken again
	left      bool           // the limit behind has broken in this drive
	leaves    bool           // it was made as the drive began
	upset     bool           // the supply has not been as usual in this drive
	trying    bool           // the next drive is a trial of the motor
	shy       bool           // the beam has turned it round
	forced    bool           // the next drive pays no heed to limits
	homed     bool
	stuttered bool
	drives    int           // since power-up
	ran       time.Duration // in all of them
	resume    way           // the travel that a reset cut short
	kicking   way           // the way of the drive that is being kicked back from
}

func newHabits(c ControllerConfig, b BatteryConfig) habits {
	h := habits{ControllerConfig: c, dipResets: b.Dipped < c.BrownOut, sagResets: b.Sagging < c.BrownOut}
	h.lag[byLimit], h.lag[byPress], h.lag[byBeam] = c.LimitLag, c.PressLag, c.BeamLag
	for _, name := range c.Defects {
		if d, ok := defectNamed(name); ok {
			d.habit(&h)
		}
	}
	h.interrupts = h.rawLimits || h.quickLimits || h.quickBeam || h.rawBehind || h.edgeSecond || h.edgePresses > 0
	return h
}

// looks is how many looks in a row must read alike to span a time.
func (h *habits) looks(d time.Duration) int {
	return 1 + int((d+h.Loop-1)/h.Loop)
}

// needed is how many looks must read alike for an input to be believed.
func (h *habits) needed(l signal.Line) int {
	switch {
	case l == signal.SecondRemote && h.deafSecond:
		return 1 << 30
	case l == signal.Beam:
		return h.looks(h.GlitchTime)
	case l == signal.OpenLimit || l == signal.ClosedLimit:
		return h.looks(max(h.LimitDebounce, h.GlitchTime))
	case h.snapPress:
		return 1
	}
	return h.looks(max(h.RemoteDebounce, h.GlitchTime))
}

// press has the last word on whether a look found a press.
func (h *habits) press(p *porter, at signal.Instant, press bool) bool {
	m := &p.trouble
	if h.edgePresses > 0 || h.edgeSecond {
		press = m.queue > 0 || press && h.edgePresses == 0
		if m.queue > 0 {
			m.queue--
		}
		if m.queue > 0 {
			p.alarm = at
		}
	}
	return h.repeat(p, at, press)
}

// repeat makes a press of a button that is held.
func (h *habits) repeat(p *porter, at signal.Instant, press bool) bool {
	if h.repeats == 0 {
		return press
	}
	m := &p.trouble
	if press {
		m.held = at
	}
	if p.inputs[signal.Remote].made() || p.inputs[signal.SecondRemote].made() {
		if at.Sub(m.held) >= h.repeats {
			press, m.held = true, at
		}
		p.alarm = min(p.alarm, m.held.Add(h.repeats))
	}
	return press
}

// whileStopping is a look between the decision to stop and the stop.
func (h *habits) whileStopping(p *porter, press bool) {
	switch {
	case !press:
	case h.callsOff:
		p.switchAt, p.reason, p.then, p.armed = signal.Never, noReason, idle, false
	case h.drivesOn && p.reason == byLimit:
		p.trouble.hurried = true
	}
}

// next is what follows a stop: the way, and no sooner than when.
func (h *habits) next(p *porter) (way, time.Duration) {
	switch closes := p.drive == closing; {
	case p.reason == byBeam && closes && !h.noReverse:
		p.trouble.shy = true
		return opening, h.BeamReversal
	case p.reason == byBeam && h.beamTurns:
		p.trouble.forced = true
		return closing, 0
	case p.reason == byLimit && h.turnsBehind && !p.limit(p.drive.ahead()):
		p.trouble.forced = true
		return -p.drive, 0
	case p.reason == byHabit && p.trouble.upset:
		p.trouble.upset = false
		return -p.drive, 0
	case p.reason == byStall && (closes || h.reversesAll) && h.StallReversal > 0:
		return -p.drive, h.StallReversal
	case p.reason == byHabit && h.closesAgain && p.trouble.shy:
		p.trouble.shy = false
		return closing, 0
	case p.reason == byPress && h.pressTurns, p.reason == byRunTime && h.runTurns:
		return -p.drive, 0
	}
	return idle, 0
}

// dead is the dead time of a drive that was asked for, or was its own idea.
func (h *habits) dead(own bool) time.Duration {
	if own && h.ownHasty || !own && h.pressHasty {
		return 0
	}
	return h.DeadTime
}

// overrun says that the drive has lasted too long.
func (h *habits) overrun(p *porter, at signal.Instant) bool {
	ran := at.Sub(p.started)
	if h.runAdds {
		ran += p.trouble.ran
	}
	return ran >= h.RunTime && p.drive != h.runsUncut
}

// stir is what a controller does at rest without being asked: nothing, if sound.
func (h *habits) stir(p *porter, at signal.Instant) {
	m := &p.trouble
	rested := at.Sub(p.stopped)
	switch {
	case m.hurried:
		m.hurried, m.forced = false, true
		p.begin(at, p.last, true)
	case h.rawLimits && m.bounced:
		m.bounced, m.forced = false, true
		p.begin(at, p.last, true)
	case h.restarts && m.broke:
		m.broke = false
		p.begin(at, p.last, true)
	case h.retries[p.reason] > 0 && rested >= h.retries[p.reason]:
		p.begin(at, p.last, true)
	case (h.homes || h.movesOff) && !m.homed:
		m.homed = true
		h.home(p, at)
	case h.rouses > 0 && m.drives == 0 && at.Sub(p.woken) >= h.rouses:
		p.begin(at, p.choose(), true)
	case m.resume != idle:
		w := m.resume
		m.resume = idle
		p.begin(at, w, true)
	case h.closesLater > 0 && p.reason == byLimit && p.last == opening && rested >= h.closesLater:
		p.reason = noReason
		p.begin(at, closing, true)
	case h.closesAgain && m.shy && p.last == opening && !p.beam():
		m.shy = false
		p.begin(at, closing, true)
	}
}

// home is a move that nobody has asked for.
func (h *habits) home(p *porter, at signal.Instant) {
	switch open, closed := p.limit(signal.OpenLimit), p.limit(signal.ClosedLimit); {
	case h.homes && !open && !closed:
		p.begin(at, closing, true)
	case h.movesOff && open && closed:
		p.trouble.forced = true
		p.begin(at, opening, true)
	}
}

// started is called when a drive has begun.
func (h *habits) started(p *porter, at signal.Instant) {
	m := &p.trouble
	m.broke, m.bounced, m.left, m.upset = false, false, false, false
	m.leaves = p.limit((-p.drive).ahead())
	m.drives++
	if m.forced {
		m.forced = false
		p.inputs[p.drive.ahead()].believe(signal.Broken)
	}
	switch {
	case m.trying:
		m.trying = false
		p.last, p.reason, p.switchTo, p.switchAt = idle, byHabit, idle, at.Add(h.tries)
	case m.kicking != idle:
		p.last, m.kicking = m.kicking, idle
		p.reason, p.switchTo, p.switchAt = byHabit, idle, at.Add(h.kicks)
	case h.stutters > 0 && !m.stuttered:
		m.stuttered, p.then = true, p.drive
		p.reason, p.switchTo, p.switchAt = byHabit, idle, at.Add(h.stutters)
	}
}

// round is how long a clock of 16 bits takes to come round.
const round = 1 << 16 * time.Millisecond

// late is how much later a drive begins for a clock that has come round since the
// latest.
func (h *habits) late(p *porter, at signal.Instant) time.Duration {
	if h.wraps && at.Sub(max(p.stopped, p.woken)) >= round {
		return round
	}
	return 0
}

// stopped is called when a drive has ended.
func (h *habits) stopped(p *porter, at signal.Instant, was way) {
	p.trouble.ran += at.Sub(p.started)
	switch {
	case p.switchAt != signal.Never: // it goes on already
	case h.retries[p.reason] > 0:
		p.alarm = at.Add(h.retries[p.reason])
	case h.closesLater > 0:
		p.alarm = at.Add(h.closesLater)
	case h.kicks > 0 && p.reason != byHabit:
		p.trouble.kicking = was
		p.switchTo, p.switchAt = -was, at.Add(200*time.Millisecond)
	}
	if p.trouble.bounced || p.trouble.broke || p.trouble.shy || p.trouble.hurried {
		p.alarm = at
	}
}

// woke is called at power-up.
func (h *habits) woke(p *porter, at signal.Instant) {
	w := p.lost
	p.lost = idle
	if h.homes || h.movesOff {
		p.alarm = p.quiet
	}
	if h.rouses > 0 {
		p.alarm = at.Add(h.rouses)
	}
	if h.tries > 0 {
		p.trouble.trying, p.switchTo, p.switchAt = true, opening, at
	}
	switch {
	case w == idle:
	case h.locksUp:
		p.trouble.hung = true
	case h.comesOn:
		p.switchTo, p.switchAt = w, at
	case h.resumes:
		p.trouble.resume, p.alarm = w, p.quiet
	case h.losesDead:
		p.turned, p.quiet = idle, at
	}
	if h.startsOver && p.meant != idle {
		p.switchTo, p.switchAt = p.meant, at
	}
}

// watch is called at each look while the motor is driven.
func (h *habits) watch(p *porter) {
	if !p.limit((-p.drive).ahead()) {
		p.trouble.left = true
	}
	for _, l := range [...]signal.Line{signal.SupplyDip, signal.SupplySag} {
		p.trouble.upset = p.trouble.upset || h.upsets.Has(l) && p.inputs[l].raw == signal.Made
	}
	if h.runWaits && p.inputs[signal.SupplyDip].raw == signal.Made {
		p.started = p.started.Add(h.Loop)
	}
}

// tooLong says that there is another reason to give up.
func (h *habits) tooLong(p *porter, at signal.Instant) bool {
	return h.weak && p.low() || h.closesAgain && p.trouble.shy && p.drive == opening && !p.beam() ||
		p.trouble.upset && !p.low() ||
		h.flinches > 0 && at.Sub(p.started) < h.flinches && p.trouble.leaves && p.trouble.left ||
		h.hasty > 0 && at.Sub(p.started) >= h.hasty && p.limit((-p.drive).ahead())
}

// misses says that a limit is not seen this time.
func (h *habits) misses(p *porter) bool {
	return h.missesEach > 0 && p.trouble.drives%h.missesEach == 0
}

// wear is how much later a stop comes for all the drives before it.
func (h *habits) wear(p *porter) time.Duration {
	return time.Duration(p.trouble.drives) * h.wears
}

// relents says that a stop does not happen after all.
func (h *habits) relents(p *porter) bool {
	if !h.pulseLost || p.reason != byLimit || p.inputs[p.drive.ahead()].made() {
		return false
	}
	p.reason = noReason
	return true
}

// hurries is the way that a press right after arrival asks for; idle if it is no
// different from others.
func (h *habits) hurries(p *porter, at signal.Instant) way {
	if !h.drivesOn || p.reason != byLimit || at.Sub(p.stopped) >= hurry {
		return idle
	}
	p.trouble.forced = true
	return p.last
}

// hurry is how long a motor may still coast.
const hurry = 500 * time.Millisecond
