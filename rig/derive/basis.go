package derive

import (
	"fmt"
	"math"
	"strings"
)

// Basis writes down what is given, so that every figure in the reasoning of the
// proposals is found either here or in a line above. Where a given figure follows
// from others that are given, the formula is shown. What bears on none of the
// proposals is left out.
func Basis(g Given, ps []Proposal) []Step {
	w := begin("", Nanoseconds)
	for _, d := range g.ways() {
		w.course(d.name, d.to, d.Direction)
	}
	w.circuit(g)
	w.parts(g)
	for _, s := range g.Sensors {
		w.sensor(s)
	}
	if g.Loop > 0 {
		w.say("The controller looks at its inputs every %s.", sec(seconds(g.Loop)))
	}
	if g.BeamDelay > 0 {
		w.say("The beam answers within %s.", sec(seconds(g.BeamDelay)))
	}
	kept := used(w.p.Steps, ps)
	if g.Origin != "" && len(kept) > 0 {
		kept = append([]Step{{Text: g.Origin}}, kept...)
	}
	return kept
}

// used keeps the lines of which a figure occurs in the proposals, or in a line kept.
func used(steps []Step, ps []Proposal) []Step {
	seen := map[string]bool{}
	see := func(s Step) {
		for _, f := range append(figures(s.Text), figures(s.Formula)...) {
			seen[f] = true
		}
	}
	for _, p := range ps {
		for _, s := range p.Steps {
			see(s)
		}
	}
	var kept []Step
	for i := len(steps) - 1; i >= 0; i-- {
		s := steps[i]
		said := figures(s.Result)
		if s.Formula == "" {
			said = figures(s.Text)
		}
		for _, f := range said {
			if seen[f] {
				see(s)
				kept = append([]Step{s}, kept...)
				break
			}
		}
	}
	return kept
}

// figures are the figures with their units that a text says.
func figures(text string) []string {
	var all []string
	words := strings.Fields(text)
	for i, word := range words {
		if !figure(word) {
			continue
		}
		word = strings.TrimLeft(strings.TrimRight(word, ".,:;)²"), "(√−")
		if i+1 < len(words) && unit(words[i+1]) {
			word += " " + strings.TrimRight(words[i+1], ".,:;)²")
		}
		all = append(all, word)
	}
	return all
}

func (w *work) course(name, to string, d Direction) {
	usual, slow := seconds(d.Time), seconds(d.Slowest)
	switch {
	case usual > 0 && slow > 0:
		w.say("%s takes %s usually, and %s on the worst honest day.", title(name), sec(usual), sec(slow))
	case usual > 0:
		w.say("%s takes %s.", title(name), sec(usual))
	case slow > 0:
		w.say("%s takes %s on the worst honest day.", title(name), sec(slow))
	}
	w.start(to, d)
	w.coast(name, d)
	w.thrown(name, d)
}

// thrown writes what the stop at the end of a way does with the gate.
func (w *work) thrown(name string, d Direction) {
	if e := round(d.Rebound); e > 0 && d.Hop > 0 {
		w.say("The stop that %s ends at throws the gate back at %s of its speed.", name, part(e))
		if d.Pull != nil {
			w.pulled(*d.Pull, d)
			return
		}
		w.say("Off it the gate's weight and friction, over its inertia, slow a hop by %s.", retards(round(d.Hop)))
		if d.Fall > 0 {
			w.say("From the top of the hop the gate comes back with %s.", retards(round(d.Fall)))
		}
	}
}

func (w *work) start(to string, d Direction) {
	peak, long, run := amperes(d.InrushPeak), seconds(d.InrushLength), amperes(d.Running)
	if peak > 0 {
		w.say("Starting to %s draws up to %s.", to, amp(peak))
	}
	switch {
	case long > 0 && run > 0:
		w.say("From %s after its start the motor draws up to %s to %s.", sec(long), amp(run), to)
	case run > 0:
		w.say("Once the gate moves, the motor draws up to %s to %s.", amp(run), to)
	case long > 0:
		w.say("The start to %s takes %s.", to, sec(long))
	}
}

func (w *work) coast(name string, d Direction) {
	full, way, t := round(d.Speed), round(d.CoastDistance), seconds(d.CoastTime)
	usual, up := seconds(d.Time), seconds(d.InrushLength)
	if full > 0 {
		if even := round(1 / round(usual-up/2)); usual > 0 && up > 0 && agrees(full, even) {
			w.eq(fmt.Sprintf("With an even run-up the full speed of %s is, in parts of the travel,", name), even, rate, "100 %% / (%s − %s / 2)", sec(usual), sec(up))
		} else {
			w.say("At its fastest %s goes at %s of the travel.", name, rate(full))
		}
	}
	switch {
	case way > 0 && t > 0 && full > 0 && agrees(way, full*t/2):
		w.eq(fmt.Sprintf("Once the motor is off, %s coasts for %s, and so by", name, sec(t)), full*t/2, part, "%s × %s / 2", rate(full), sec(t))
	case way > 0 && t > 0:
		w.say("Once the motor is off, %s coasts for %s, by %s of the travel.", name, sec(t), part(way))
	case t > 0:
		w.say("Once the motor is off, %s coasts for %s.", name, sec(t))
	}
}

// circuit writes what battery and motor are, and what a blocked motor draws.
func (w *work) circuit(g Given) {
	c := g.Circuit
	if c == nil {
		w.measured(g)
		return
	}
	w.say("At %s °C the winding has %s and %s.", plain(rated), ohm(round(c.Winding)), henry(round(c.Inductance)))
	for _, d := range c.days() {
		w.say("At %s °C the battery gives %s with nothing drawn; it and the wires have %s.", plain(d.celsius), volt(d.volts), ohm(d.leads))
	}
	w.say("A nearly empty battery gives %s of a full one's voltage.", part(round(c.Lowest)))
	d, most := c.most()
	if agrees(amperes(g.StallCold), most) {
		w.through("A blocked motor draws the most when it is this cold:", d.volts, w.warmed(*c, d, 0), d.leads)
	} else {
		w.say("A blocked motor draws up to %s.", amp(g.blocked()))
	}
	usual := c.days()[0]
	if r := w.usual(*c, usual); agrees(seconds(g.CurrentDecay), round(c.Inductance)/(r+usual.leads)) {
		w.eq("The motor's electrical time constant is", round(c.Inductance)/(r+usual.leads), sec, "%s / (%s + %s)", henry(round(c.Inductance)), ohm(r), ohm(usual.leads))
	} else {
		w.say("The motor's electrical time constant is %s.", sec(seconds(g.CurrentDecay)))
	}
	if usual.leads > 0 && agrees(amperes(g.ShortCircuit), usual.volts/usual.leads) {
		w.eq("Through a short circuit at the motor, battery and wires drive", usual.volts/usual.leads, amp, "%s / %s", volt(usual.volts), ohm(usual.leads))
	} else if g.ShortCircuit > 0 {
		w.say(shorted, amp(amperes(g.ShortCircuit)))
	}
}

const shorted = "Through a short circuit at the motor, battery and wires drive %s."

// usual writes the winding's resistance on the usual day, unless it was written.
func (w *work) usual(c Circuit, d day) float64 {
	if was, _ := c.most(); was == d {
		return c.winding(d, 0)
	}
	return w.warmed(c, d, 0)
}

// measured writes what is known of battery and motor without their circuit.
func (w *work) measured(g Given) {
	if i := g.blocked(); i > 0 {
		w.say("A blocked motor draws up to %s.", amp(i))
	}
	if g.Battery > 0 {
		w.say("The battery gives %s.", volt(round(g.Battery)))
	}
	if g.BatteryLow > 0 {
		w.say("At its lowest the battery gives %s.", volt(round(g.BatteryLow)))
	}
	if g.CurrentDecay > 0 {
		w.say("The motor's electrical time constant is %s.", sec(seconds(g.CurrentDecay)))
	}
	if g.ShortCircuit > 0 {
		w.say(shorted, amp(amperes(g.ShortCircuit)))
	}
}

func (w *work) parts(g Given) {
	for _, h := range g.heated() {
		if r := h.rating; r.whole() {
			w.say("By its rating the %s stands %s for ever, and %s for %s from cold.", h.name, amp(amperes(r.Continuous)), amp(amperes(r.Short)), sec(seconds(r.Stands)))
		}
	}
	if g.BridgeSwitching > 0 {
		w.say("The bridge needs %s between one direction and the other.", sec(seconds(g.BridgeSwitching)))
	}
	if g.RunDown > 0 {
		w.say("The motor takes %s to run down.", sec(seconds(g.RunDown)))
	}
	if g.Duty > 0 {
		w.say("In the busiest hour the motor runs for %s of the time.", part(round(g.Duty)))
	}
}

func (w *work) sensor(s Sensor) {
	if s.Bounce > 0 {
		w.say("The %s bounces for up to %s%s.", s.Name, sec(seconds(s.Bounce)), s.ofItsKind(s.BounceFrom))
	}
	if s.Pulse > 0 {
		w.say("At full speed the %s is made for %s at the least.", s.Name, sec(seconds(s.Pulse)))
	}
	if s.Delay > 0 {
		w.say("The %s answers after %s%s.", s.Name, sec(seconds(s.Delay)), s.ofItsKind(s.DelayFrom))
	}
	if arc, r := round(s.Arc), round(s.WheelRadius); arc > 0 && r > 0 {
		w.say("The magnet's field holds the %s over %s of its path, whose radius is %s.", s.Name, metre(arc), metre(r))
	} else if arc > 0 {
		w.say("The magnet's field holds the %s over %s of its path.", s.Name, metre(arc))
	}
	if n := round(s.PerTravel); n > 0 {
		w.say("A travel turns the wheel of the %s by %s turns.", s.Name, plain(n))
	}
	if v := round(s.RimSpeed); v > 0 {
		w.say("The rim at the %s moves at %s at full speed.", s.Name, speed(v))
	}
	w.window(s)
	if rel := round(s.Release); rel > 0 {
		w.say("The %s breaks only %s of the travel further back than where it makes.", s.Name, part(rel))
	}
}

// ofItsKind says of a figure that has a source of its own that it is not the gate's.
func (s Sensor) ofItsKind(from string) string {
	if from == "" {
		return ""
	}
	return fmt.Sprintf(", as others of its kind (%s) do: its own is not given", s.Kind)
}

// window writes how far the gate may go on once the sensor has made.
func (w *work) window(s Sensor) {
	win := round(s.Window)
	if win == 0 {
		return
	}
	text := fmt.Sprintf("Once the %s has made, the gate may go on, until it breaks again or the stop is met, by", s.Name)
	arc, r, n := round(s.Arc), round(s.WheelRadius), round(s.PerTravel)
	if arc == 0 || r == 0 || n == 0 {
		w.say("%s %s of the travel.", text, part(win))
		return
	}
	wide := w.eq(fmt.Sprintf("Seen from the axle, the field at the %s spans", s.Name), arc/float64(2*math.Pi*r)*360, degrees, "360° × %s / (2 × π × %s)", metre(arc), metre(r))
	turn := n * 360
	at := round(s.Facing)
	if at > 0 {
		w.say("Its magnet faces it when the wheel has turned by %s from closed.", degrees(at))
	}
	switch {
	case agrees(win, wide/turn):
		w.eq(text, wide/turn, part, "%s / (%s × 360°)", degrees(wide), plain(n))
	case s.End == AtOpen && agrees(win, 1-(at-wide/2)/turn):
		w.eq(text, win, part, "100 %% − (%s − %s / 2) / (%s × 360°)", degrees(at), degrees(wide), plain(n))
	case s.End == AtClosed && agrees(win, (at+wide/2)/turn):
		w.eq(text, win, part, "(%s + %s / 2) / (%s × 360°)", degrees(at), degrees(wide), plain(n))
	default:
		w.say("%s %s of the travel.", text, part(win))
	}
}

func title(word string) string { return strings.ToUpper(word[:1]) + word[1:] }
