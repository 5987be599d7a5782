package virtual

import (
	"time"

	"pintle/rig/signal"
)

var _ Controller = (*porter)(nil)

// way is a direction of the drive.
type way int8

const (
	closing way = -1
	idle    way = 0
	opening way = 1
)

// reason is why a drive ended.
type reason uint8

const (
	noReason reason = iota
	byLimit
	byPress
	byRunTime
	byStall
	byBeam
	byShort
	byOpen  // circuit
	byHabit // of a defect

	reasonCount
)

// A porter is the built-in controller: two buttons, two limits, a beam. A press
// opens a closed gate, closes an open one, stops a moving one, and sends one that
// stands between back the way it came. It remembers an end that it has reached,
// even if the limit there breaks again. Like most small boards it is a loop that
// looks at its inputs every few milliseconds; between looks it only switches its
// bridge when a delay has run out.
//
// What it does at a look is in decide.go, and what makes it do it wrongly in
// defects.go.
type porter struct {
	habits habits
	shunt  Shunt
	seed   random
	phase  float64 // of the loop as the controller wakes for the first time
	phased bool    // phase is given

	inputs  [signal.LineCount]input
	now     signal.Instant // of the latest plan or step
	wake    signal.Instant // nothing happens before this
	powered bool
	failing signal.Instant // since the supply is too low: when the logic resets
	woken   signal.Instant // when it last powered up
	base    signal.Instant // of look 0, jitter aside
	looks   int64          // looks up to this number are done with
	look    int64          // number of the next look that is needed
	lookAt  signal.Instant // its instant; Never if none is needed
	jitters uint64         // seed of the looks' jitter

	drive    way
	switchAt signal.Instant // when the bridge goes over to switchTo
	switchTo way
	bothTo   signal.Instant // until when both halves of the bridge are driven; Never if they are not
	then     way            // after a stop: drive this way ...
	after    time.Duration  // ... no sooner than this

	quiet    signal.Instant // presses before this are ignored
	alarm    signal.Instant // a look is needed by this, whatever the inputs do
	started  signal.Instant // of the drive
	stopped  signal.Instant // end of the latest drive
	stalled  signal.Instant // since when the current has been a stall's
	shorted  signal.Instant // since when it has been a short circuit's
	parted   signal.Instant // since when there has been none
	last     way            // direction of the latest drive; idle since power-up if none
	turned   way            // the same, but not forgotten in a reset: the dead time depends on it
	lost     way            // direction of the drive that the latest reset cut short
	meant    way            // direction of the drive that the latest reset kept from starting
	pressed  signal.Instant // when a button last counted as pressed
	beamed   signal.Instant // since when the beam has been interrupted
	reason   reason         // of its end
	armed    bool           // the limit ahead has been seen broken in this drive
	trouble  memory         // what only defects remember
	outgoing [2]PinState    // drive-open, drive-close
}

// longAgo is before anything that a delay could still reach back to.
const longAgo signal.Instant = -1 << 62

// supplies are the inputs that its logic lives on.
var supplies = [...]signal.Line{signal.Supply, signal.SupplyDip, signal.SupplySag}

// watched are the inputs that the loop looks at.
var watched = [...]signal.Line{signal.Remote, signal.SecondRemote, signal.OpenLimit, signal.ClosedLimit, signal.Beam}

func newPorter(c ControllerConfig, b BatteryConfig) *porter {
	return &porter{habits: newHabits(c, b)}
}

// Reset makes it as new.
func (p *porter) Reset(seed uint64, shunt Shunt) {
	*p = porter{habits: p.habits, shunt: shunt, seed: random(seed), stopped: longAgo, switchAt: signal.Never}
	for _, l := range watched {
		p.inputs[l].needed = p.habits.needed(l)
	}
	p.powerDown(longAgo)
	p.wake = p.nextWake()
}

// Plan takes the future of an input.
func (p *porter) Plan(line signal.Line, now signal.Instant, future signal.Timeline) {
	p.now = now
	p.inputs[line].plan(future)
	p.wake = p.nextWake()
}

// Run goes on until an instant or a change of the outputs.
func (p *porter) Run(until signal.Instant) (signal.Instant, bool) {
	for p.wake <= until {
		at, before := p.wake, p.outgoing
		p.step(at)
		p.wake = p.nextWake()
		if p.outgoing != before {
			return at, true
		}
	}
	return until, false
}

// Output is the state of drive-open or drive-close.
func (p *porter) Output(line signal.Line) PinState {
	switch line {
	case signal.DriveOpen:
		return p.outgoing[0]
	case signal.DriveClose:
		return p.outgoing[1]
	}
	return HighZ
}

// step does all that is due at an instant.
func (p *porter) step(at signal.Instant) {
	p.now = at
	p.power(at)
	if !p.powered {
		return
	}
	if p.habits.interrupts {
		p.interrupt(at)
	}
	if p.bothTo <= at {
		p.set(idle)
	}
	if p.switchAt <= at {
		p.change(at)
	}
	if p.lookAt <= at {
		p.decide(at)
		p.looks = p.look + 1
	}
}

// supplied says that there is enough for the logic to live on.
func (p *porter) supplied() bool {
	return p.inputs[signal.Supply].raw == signal.Made &&
		!(p.habits.dipResets && p.inputs[signal.SupplyDip].raw == signal.Made) &&
		!(p.habits.sagResets && p.inputs[signal.SupplySag].raw == signal.Made)
}

// power follows the supply. The logic outlives a loss that is over soon enough.
func (p *porter) power(at signal.Instant) {
	for _, l := range supplies {
		p.inputs[l].read(at)
	}
	switch on := p.supplied(); {
	case on && !p.powered:
		p.powerUp(at)
	case on:
		p.failing = signal.Never
	case p.powered && p.failing == signal.Never:
		p.failing = at.Add(p.habits.HoldUp)
		p.trouble.upset = p.trouble.upset || p.drive != idle && p.habits.upsets.Has(signal.Supply)
	}
	if p.powered && p.failing <= at {
		p.powerDown(at)
	}
}

// wakeAt gives the loop's phase as the controller wakes for the first time.
func (p *porter) wakeAt(phase float64) { p.phase, p.phased = phase, true }

// powerUp starts the loop at a phase of its own.
func (p *porter) powerUp(at signal.Instant) {
	p.powered, p.woken, p.failing = true, at, signal.Never
	p.base, p.looks = at.Add(below(p.seed.next(), p.habits.Loop)), 0
	if p.phased {
		p.base, p.phased = at.Add(time.Duration(p.phase*float64(p.habits.Loop))), false
	}
	p.jitters = p.seed.next()
	p.quiet = at.Add(p.habits.PowerUpQuiet)
	for _, l := range watched {
		in := &p.inputs[l]
		in.read(at)
		in.heard = in.raw
	}
	p.set(idle)
	p.habits.woke(p, at)
}

// powerDown forgets everything, as a board without lasting memory does; but for
// the dead time, which a capacitor or a few bytes that outlive a reset must keep.
func (p *porter) powerDown(at signal.Instant) {
	p.powered = false
	p.meant = idle
	if p.drive == idle && p.switchAt != signal.Never {
		p.meant = p.switchTo
	} else if p.drive != idle && at.Sub(p.started) < p.habits.keepsOrder {
		p.meant = p.drive
	}
	if p.lost = p.drive; p.drive != idle {
		p.stopped = at
	}
	p.drive, p.then, p.last, p.reason, p.after = idle, idle, idle, noReason, 0
	p.switchAt, p.lookAt, p.alarm, p.failing, p.bothTo = signal.Never, signal.Never, signal.Never, signal.Never, signal.Never
	p.stalled, p.shorted, p.parted = signal.Never, signal.Never, signal.Never
	p.pressed, p.beamed = longAgo, longAgo
	p.trouble = memory{burst: longAgo}
	p.outgoing = [2]PinState{HighZ, HighZ}
}

// set drives the bridge.
func (p *porter) set(w way) {
	brakes := p.habits.brakes > 0 && w == idle && p.drive != idle
	p.drive, p.bothTo = w, signal.Never
	p.outgoing = [2]PinState{Low, Low}
	switch w {
	case opening:
		p.outgoing[0] = High
	case closing:
		p.outgoing[1] = High
	}
	if brakes {
		p.outgoing, p.bothTo = [2]PinState{High, High}, p.now.Add(p.habits.brakes)
	}
}

// nextWake works out when something happens next.
func (p *porter) nextWake() signal.Instant {
	if p.supplied() != (p.powered && p.failing == signal.Never) {
		return p.now // planned again before it was run to
	}
	wake := p.failing
	for _, l := range supplies {
		wake = min(wake, p.inputs[l].due())
	}
	if !p.powered {
		return wake
	}
	p.look, p.lookAt = p.nextLook()
	wake = min(wake, p.switchAt, p.lookAt, p.bothTo)
	if p.habits.interrupts {
		wake = min(wake, p.nextInterrupt())
	}
	return wake
}

// nextLook finds the next look that can find anything. While nothing is under way
// and the inputs are settled, the looks up to the next edge would find nothing
// new and are left out.
func (p *porter) nextLook() (int64, signal.Instant) {
	if p.looks == 0 || p.drive != idle || p.switchAt != signal.Never {
		return p.firstLook(p.now)
	}
	need := p.alarm
	for _, l := range watched {
		if !p.inputs[l].settled() {
			return p.firstLook(p.now)
		}
		need = min(need, p.inputs[l].due())
	}
	if need == signal.Never {
		return p.looks, signal.Never
	}
	return p.firstLook(need)
}

// firstLook is the first look at or after an instant that is not done with.
func (p *porter) firstLook(from signal.Instant) (int64, signal.Instant) {
	n := p.looks
	at := p.instant(n)
	if at >= from {
		return n, at
	}
	n = max(n, int64((from.Sub(p.base)-p.habits.LoopJitter)/p.habits.Loop))
	for at = p.instant(n); at < from; at = p.instant(n) {
		n++
	}
	return n, at
}

// instant is when a look happens. Its jitter depends on nothing but its number.
func (p *porter) instant(look int64) signal.Instant {
	at := p.base.Add(time.Duration(look) * p.habits.Loop)
	if p.habits.LoopJitter > 0 {
		at = at.Add(below(mix(p.jitters+uint64(look)), p.habits.LoopJitter))
	}
	return at
}
