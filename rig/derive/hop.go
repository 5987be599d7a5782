package derive

import (
	"fmt"
	"math"
)

func retards(x float64) string { return part(x) + "/s²" }

// stays writes how long a sensor that no magnet makes stays made: until the gate has
// passed it, or until a hop off the stop breaks it. 0: nothing breaks it, or too little
// is known.
func (w *work) stays(s Sensor, g Given) float64 {
	d, win := g.way(s), round(s.Window)
	switch {
	case d == nil || win == 0 || d.fastest() == 0 || !s.Passed && d.Hop == 0:
		if s.Kind == Lever {
			w.missing("how long the " + s.Name + " stays made if the gate passes it, or hops off its stop")
		} else {
			w.missing("the pulse of the " + s.Name + ", or its magnet's width and the speed of the rim")
		}
		return 0
	case s.Passed:
		return w.eq(fmt.Sprintf("The gate may pass the %s before it meets its stop. At full speed it is made for", s.Name),
			win/d.fastest(), sec, "%s / %s", part(win), rate(d.fastest()))
	}
	return w.hops(s, *d)
}

// fastest is the speed at which the gate meets its stop if nothing slows it down.
func (d Direction) fastest() float64 {
	if d.Speed > 0 {
		return round(d.Speed)
	}
	return d.full()
}

// hops follows the first hop off the stop, which is the highest: every other one leaves
// the stop slower by the rebound. It gives how long the sensor is made until that hop
// breaks it.
func (w *work) hops(s Sensor, d Direction) float64 {
	v, e, a, win := d.fastest(), round(d.Rebound), round(d.Hop), round(s.Window)
	if e == 0 {
		w.say("The stop does not throw the gate back, so nothing breaks the %s again.", s.Name)
		return 0
	}
	w.source(fromHops)
	u := w.eq("A gate that is switched off too late meets its stop, at full speed at the most, and leaves it again at", v*e, rate, "%s × %s", rate(v), part(e))
	h := w.eq(fmt.Sprintf("Slowed by %s it hops up to", retards(a)), u*u/(2*a), part, "%s × %s / (2 × %s)", rate(u), rate(u), retards(a))
	far := win
	if rel := round(s.Release); rel > 0 {
		far = w.eq(fmt.Sprintf("from its stop. The %s breaks at", s.Name), win+rel, part, "%s + %s", part(win), part(rel))
	} else {
		w.say("from its stop. The %s breaks at %s.", s.Name, part(far))
	}
	square := u*u - float64(2*a*far)
	if h <= far || square <= 0 {
		w.say("No hop comes so far, so none breaks the %s.", s.Name)
		return 0
	}
	there := w.eq("It comes past that place still at", math.Sqrt(square), rate, "√(%s × %s − 2 × %s × %s)", rate(u), rate(u), retards(a), part(far))
	up := w.eq("which is, after it left the stop,", (u-there)/a, sec, "(%s − %s) / %s", rate(u), rate(there), retards(a))
	w.broken(s, d, h, there)
	return w.eq(fmt.Sprintf("On the way to the stop, and until that hop breaks it, the %s is made for", s.Name), win/v+up, sec, "%s / %s + %s", part(win), rate(v), sec(up))
}

// broken writes how long the first hop breaks the sensor. A debounce that is longer sits
// that out, which is better where there is room for it.
func (w *work) broken(s Sensor, d Direction, h, there float64) {
	a, f, win := round(d.Hop), round(d.Fall), round(s.Window)
	if f == 0 {
		w.note("A gate that meets its stop at full speed hops off the %s and stays there: friction holds it.", s.Name)
		return
	}
	fall := w.eq(fmt.Sprintf("From the top, %s bring it back to where the %s makes within", retards(f), s.Name), math.Sqrt(2*(h-win)/f), sec, "√(2 × (%s − %s) / %s)", part(h), part(win), retards(f))
	out := w.eq(fmt.Sprintf("So the longest for which a hop breaks the %s is", s.Name), there/a+fall, sec, "%s / %s + %s", rate(there), retards(a), sec(fall))
	w.prefer = math.Max(w.prefer, out*margin)
	w.note("A gate that meets its stop at full speed hops, and breaks the %s for up to %s: a debounce no longer than that lets the controller see it, and it must not take it for a gate that has left.", s.Name, sec(out))
}

// rests bounds the debounce of a sensor that nothing breaks again: the gate is to be at
// rest before its stop.
func (v window) rests(g Given) {
	s := g.Sensors[v.sensor]
	d := g.way(s)
	if d == nil || s.Passed || d.Hop == 0 || d.full() == 0 || s.Window == 0 {
		return
	}
	win, coast, full := round(s.Window), round(d.CoastDistance), d.full()
	if win <= coast {
		v.note("The gate coasts onto its stop however soon the %s is believed: see stop after limit.", s.Name)
		return
	}
	delay, loop, decay, sw := seconds(s.Delay), v.looks(g), seconds(g.CurrentDecay), seconds(g.BridgeSwitching)
	v.speedTowards(s, *d)
	v.source(fromDecay)
	room := v.line("The gate is to rest before its stop. It coasts for "+part(coast)+", so past the "+s.Name+" the motor may run on for",
		roundDown((win-coast)/full), sec, "(%s − %s) / %s", part(win), part(coast), rate(full))
	v.most("the room before the stop", "The debounce has what the delay of the sensor, one look at the input, decay of the current and change-over of the bridge leave of it:",
		room-delay-loop-float64(5*decay)-sw, "%s", terms(" − ", sec(room), sec(delay), sec(loop), "5 × "+sec(decay), sec(sw)))
}
