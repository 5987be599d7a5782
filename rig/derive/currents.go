package derive

import "math"

// honest writes the most that the motor draws without a fault, as a lower bound.
func (w *work) honest(g Given) {
	w.source(fromMargin)
	for _, d := range g.ways() {
		if p := amperes(d.InrushPeak); p > 0 {
			w.least("the inrush when "+d.name, "The most that starting to "+d.to+" draws, with a margin of 25 %:", p*margin, "%s × %s", amp(p), plain(margin))
		}
	}
	if i := g.blocked(); i > 0 {
		w.least("the blocked motor", "What a blocked motor draws with a cold winding, with a margin of 25 %:", i*margin, "%s × %s", amp(i), plain(margin))
	}
}

// mostCurrent works out the current that is never passed, starting and stalling
// included.
func mostCurrent(g Given) *work {
	w := begin("most current", Microamperes)
	w.honest(g)
	if g.blocked() == 0 {
		w.missing("the stall current")
	}
	short := amperes(g.Bridge.Short)
	if short > 0 {
		w.most("the bridge", "For a moment the bridge stands", short, "%s", amp(short))
		w.source("the bridge's rating")
	} else {
		w.missing("the bridge's short rating")
	}
	w.finish(nearLow)
	if w.conflict() {
		x := handyUp(w.low)
		w.remedy(func(g *Given) { g.Bridge.Short = microamps(x) }, "a bridge that stands %s for a moment", amp(x))
		w.advise("a bridge that limits its current, or a start that is ramped up")
	}
	return w
}

// shortCurrent works out the current that counts as a short circuit.
func shortCurrent(g Given, most *work) Proposal {
	w := begin("short-circuit current", Microamperes)
	if x := most.proposed(); x > 0 {
		w.source(fromMargin)
		w.least("the most current", "A gate that is well must not reach it; the most current, as proposed:", x, "%s", amp(x))
	}
	short, driven := amperes(g.Bridge.Short), amperes(g.ShortCircuit)
	if short > 0 {
		w.source("the bridge's rating")
		w.most("the bridge", "For a moment the bridge stands", short, "%s", amp(short))
	} else {
		w.missing("the bridge's short rating")
	}
	if driven > 0 {
		w.source(fromMargin)
		w.most("what the battery drives", "A short circuit must surely pass it; the battery and its leads drive, with a margin of 25 %:", driven/margin, "%s / %s", amp(driven), plain(margin))
	} else {
		w.missing("what the battery drives through a short circuit")
	}
	w.finish(middle)
	if w.conflict() {
		b, d := handyUp(w.low), handyUp(margin*handyUp(w.low))
		var text []string
		var fix []func(*Given)
		if short > 0 && short < w.low {
			text, fix = append(text, "a bridge that stands "+amp(b)+" for a moment"), append(fix, func(g *Given) { g.Bridge.Short = microamps(b) })
		}
		if driven > 0 && driven < d {
			text, fix = append(text, "a battery and leads that drive at least "+amp(d)+" through a short circuit"), append(fix, func(g *Given) { g.ShortCircuit = microamps(d) })
		}
		w.remedy(all(fix), "%s", and(text))
	}
	return w.p
}

// quickest is as often as any controller looks at its inputs, in seconds.
const quickest = 1e-6

// shortTime works out how soon a short circuit must be switched off.
func shortTime(g Given) Proposal {
	w := begin("short-circuit time", Nanoseconds)
	loop, sw := seconds(g.Loop), seconds(g.BridgeSwitching)
	if loop > 0 {
		w.source(fromLoops)
		w.least("two looks at the current", "The controller needs two looks at the current, and the bridge its time:", float64(2*loop)+sw, "%s", terms(" + ", "2 × "+sec(loop), sec(sw)))
		w.prefer = 2 * w.low
	} else {
		w.missing("how often the controller looks at the current")
	}
	i := amperes(g.ShortCircuit)
	if i == 0 {
		if i = amperes(g.Bridge.Short); i > 0 {
			w.missing("what the battery drives through a short circuit; the bridge's short rating stands in for it")
		}
	}
	bridge := g.heated()[1]
	var before float64
	if i > 0 {
		before = w.before(g, false)
		w.stands(bridge, i, before, false)
		if i > amperes(g.Bridge.Short) && g.Bridge.whole() {
			w.note("%s is beyond what the bridge is rated for at any length of time. The curve only says what its heat allows: trust a trip in the bridge itself, not the controller's loop.", amp(i))
		}
	}
	w.finish(nearLow)
	if w.conflict() {
		if g.ShortCircuit > 0 || g.Bridge.sturdier(i, before, w.low).Short == g.Bridge.Short {
			w.sturdy([]heated{bridge}, i, before, w.low)
		}
		if x := handyDown((w.high - sw) / 2); x >= quickest {
			w.remedy(func(g *Given) { g.Loop = duration(x) }, "a controller that looks at the current at least every %s", sec(x))
		}
		w.advise("a trip in the bridge itself, which does not wait for the controller")
	}
	return w.p
}

// openTime works out how long a drive without current may go on.
func openTime(g Given) Proposal {
	w := begin("open-circuit time", Nanoseconds)
	w.source(fromNothing)
	w.least("the start", "Until a relay has pulled in and a soft start has begun, it is usual for no current to flow, for", noCurrent, "%s", sec(noCurrent))
	quick := math.NaN()
	for _, d := range g.ways() {
		if t := seconds(d.Time); t > 0 && !(t >= quick) {
			quick = t
		}
	}
	if quick > 0 {
		w.source("the gate's own travel")
		w.most("the quicker travel", "After that the quicker travel would be over, and nothing but the run-time cut-out be left to notice:", quick, "%s", sec(quick))
	} else {
		w.missing("how long the gate takes")
	}
	w.finish(middle)
	if w.conflict() {
		w.remedy(func(g *Given) {
			for _, d := range []*Direction{&g.Opening, &g.Closing} {
				if d.Time > 0 && seconds(d.Time) < noCurrent {
					d.Time = duration(noCurrent)
					d.Slowest = max(d.Slowest, d.Time)
				}
			}
		}, "a gate that takes at least %s", sec(noCurrent))
	}
	return w.p
}
