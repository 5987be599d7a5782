package derive

import (
	"fmt"
	"math"
)

// deadTime works out the pause between one direction and the other.
func deadTime(g Given, current *work) *work {
	w := begin("dead time", Nanoseconds)
	w.dieAway(g)
	run, peak := w.runDown(g)
	threshold := 0.0
	if !current.conflict() && current.p.Proposed > 0 {
		threshold = current.proposed()
	}
	stall := begin("", Nanoseconds).masked(g, threshold)
	words := "the least stall time (see there)"
	if stall < tell {
		stall, words = tell, "100 ms to tell a stall"
		w.source(fromTell)
	}
	loop := w.looks(g)
	w.source(fromReverse, fromLoops)
	w.most("reversal within 2 s", "If a closing gate is to reverse within 2 s of a stall, "+words+" and two looks at the inputs must fit in as well:",
		reversal-stall-float64(2*loop), "%s", terms(" − ", "2 s", sec(stall), "2 × "+sec(loop)))
	w.prefer = run
	w.finish(nearLow)
	if w.conflict() {
		w.cureDeadTime(g, stall, peak)
	} else if run > 0 && w.proposed() >= run {
		w.note("After %s the motor stands still, so reversing it costs no more than starting it.", sec(w.proposed()))
	}
	return w
}

func (w *work) dieAway(g Given) {
	decay, sw := seconds(g.CurrentDecay), seconds(g.BridgeSwitching)
	if decay == 0 {
		w.missing("the motor's electrical time constant, for the decay of its current")
	}
	if sw == 0 {
		w.missing("the time that the bridge needs to change over")
	}
	if decay+sw == 0 {
		return
	}
	w.source(fromDecay)
	w.least("the current to die away and the bridge to change over", "Five electrical time constants let the motor's current die away; then the bridge changes over:",
		float64(5*decay)+sw, "%s", terms(" + ", "5 × "+sec(decay), sec(sw)))
}

// coastDown is the time from full speed to standstill, as far as is known.
func (g Given) coastDown() float64 {
	if g.RunDown > 0 {
		return seconds(g.RunDown)
	}
	return seconds(max(g.Opening.CoastTime, g.Closing.CoastTime))
}

// runDown writes what a reversal at full speed would draw, and how long the motor
// must run down before the bridge stands it. It gives the whole run-down and the
// current at full speed.
func (w *work) runDown(g Given) (run, peak float64) {
	run = g.coastDown()
	if run == 0 {
		w.missing("how long the motor takes to run down")
	}
	v, i := round(g.Battery), amperes(g.StallCold)
	light := g.lightest()
	if v == 0 || i == 0 || light == 0 || light >= i {
		w.missing("battery voltage, stall current and running current, for what a reversal at full speed draws")
		if run > 0 {
			w.least("the motor to run down", "What a reversal at full speed draws is not known, so the motor is left to run down:", run, "%s", sec(run))
		}
		return run, 0
	}
	w.source(fromMotor)
	r := w.eq("Blocked, only its resistance holds the motor's current back:", v/i, ohm, "%s / %s", volt(v), amp(i))
	e := w.eq("Running, it makes a voltage of its own against the battery's:", v-float64(light*r), volt, "%s − %s × %s", volt(v), amp(light), ohm(r))
	peak = w.eq("Reversed at full speed, the two add up and drive", (v+e)/r, amp, "(%s + %s) / %s", volt(v), volt(e), ohm(r))
	short := amperes(g.Bridge.Short)
	switch {
	case short >= peak:
		w.say("The bridge is rated for %s, so for its sake the motor need not run down first.", amp(short))
	case run == 0:
	case short == 0:
		w.missing("the bridge's short rating, for how far the motor must run down")
		w.least("the motor to run down", "What the bridge stands is not known, so the motor is left to run down:", run, "%s", sec(run))
	default:
		allowed := w.eq(fmt.Sprintf("The bridge is rated for %s. That leaves for the motor's own voltage", amp(short)), float64(short*r)-v, volt, "%s × %s − %s", amp(short), ohm(r), volt(v))
		allowed = math.Max(0, allowed)
		w.least("the motor to run down", "Speed, and that voltage with it, falls evenly as the motor runs down. It is low enough after", run*(1-allowed/e),
			"%s × (1 − %s / %s)", sec(run), plain(allowed), plain(e))
	}
	return run, peak
}

// lightest is the lesser running current: with it the motor turns fastest.
func (g Given) lightest() float64 {
	a, b := amperes(g.Opening.Running), amperes(g.Closing.Running)
	if a == 0 || b > 0 && b < a {
		return b
	}
	return a
}

// cureDeadTime gathers every change that is needed, for one alone may not do.
func (w *work) cureDeadTime(g Given, stall, peak float64) {
	loop, sw, decay := seconds(g.Loop), seconds(g.BridgeSwitching), seconds(g.CurrentDecay)
	electric := float64(5*decay) + sw
	if w.why[0] == "the motor to run down" && electric <= w.high && peak > 0 && g.Bridge.whole() {
		x := handyUp(peak)
		w.remedy(func(g *Given) { g.Bridge.Short = max(g.Bridge.Short, microamps(x)) },
			"a bridge that stands %s for a moment", amp(x))
	}
	left := reversal
	var text []string
	var fixes []func(*Given)
	need := func(do bool, fix func(*Given), words string) {
		if do {
			text, fixes = append(text, words), append(fixes, fix)
		}
	}
	need(loop > 0.25, func(g *Given) { g.Loop = duration(10e-3) }, "a controller that looks at its inputs every 10 ms")
	need(stall > 0.5, func(g *Given) { g.Opening.soften(0.4); g.Closing.soften(0.4) }, "a start whose inrush is over within 400 ms")
	left -= math.Min(stall, 0.5) + 2*math.Min(loop, 0.25)
	need(sw > left/2, func(g *Given) { g.BridgeSwitching = duration(10e-3) }, "a bridge that changes over within 10 ms")
	x := handyDown((left - math.Min(sw, left/2)) / 5)
	need(float64(5*decay)+math.Min(sw, left/2) > left, func(g *Given) { g.CurrentDecay = duration(x) },
		fmt.Sprintf("a faster path for the motor's current, with a time constant of at most %s", sec(x)))
	y := handyDown(left)
	need(g.coastDown() > left, func(g *Given) { g.RunDown = duration(y) },
		fmt.Sprintf("a brake that stops the motor within %s", sec(y)))
	if len(text) > 0 {
		w.remedy(all(fixes), "%s", and(text))
	}
}
