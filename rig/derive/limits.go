package derive

import "math"

// limitPulse works out the shortest pulse of a limit that may be promised to be
// obeyed, whichever limit it is.
func limitPulse(g Given, windows []window) Proposal {
	w := begin("shortest limit pulse", Nanoseconds)
	loop := w.looks(g)
	for _, v := range windows {
		name := "the " + g.Sensors[v.sensor].Name
		w.source(fromNoise, fromMargin)
		w.least("the debounce of "+name, "The least debounce of "+name+" (see there), and one look at the input:", v.low+loop, "%s", terms(" + ", sec(v.low), sec(loop)))
		w.prefer = math.Max(w.prefer, v.proposed()+loop)
		if v.pulse > 0 {
			w.most("the pulse of "+name, "The shortest pulse of "+name+" with a margin of 25 %:", v.pulse/margin, "%s / %s", sec(v.pulse), plain(margin))
		}
	}
	w.finish(middle)
	if w.conflict() {
		w.cureLimitPulse(g, windows)
	}
	return w.p
}

func (w *work) cureLimitPulse(g Given, windows []window) {
	var wide, slow fixes
	slowable := true
	for _, v := range windows {
		if v.pulse == 0 || roundDown(v.pulse/margin) >= w.low {
			continue
		}
		s := g.Sensors[v.sensor]
		fix, words := s.widen(margin * w.low)
		wide.add(v.sensor, fix, "for the "+s.Name+" "+words)
		if slowable = slowable && s.magnet(); slowable {
			fix, words = s.slow(margin * w.low)
			slow.add(v.sensor, fix, "for the "+s.Name+" "+words)
		}
	}
	w.remedy(wide.all(), "%s", and(wide.words))
	if slowable {
		w.remedy(slow.all(), "%s", and(slow.words))
	}
	w.advise("a debounce of its own for each input, long for the switch that bounces, short for the magnet that is soon past")
}

// fixes are changes to sensors with their words.
type fixes struct {
	words []string
	fix   []func(*Given)
}

func (f *fixes) add(i int, fix func(*Sensor), words string) {
	f.words = append(f.words, words)
	f.fix = append(f.fix, func(g *Given) { fix(&g.Sensors[i]) })
}

func (f *fixes) all() func(*Given) { return all(f.fix) }

// ignoredGlitch works out the change of an input that may be promised not to be
// obeyed.
func ignoredGlitch(g Given, windows []window) Proposal {
	w := begin("ignored glitch", Nanoseconds)
	w.source(fromNoise)
	w.least("interference", "Interference on long wires lasts up to", noise, "%s", sec(noise))
	loop := w.looks(g)
	for _, v := range windows {
		if v.pulse > 0 {
			name := "the " + g.Sensors[v.sensor].Name
			w.source(fromMargin)
			w.most("the pulse of "+name, "The longest debounce that the pulse of "+name+" leaves (see there):", v.pulse/margin-loop, "%s", terms(" − ", sec(v.pulse)+" / "+plain(margin), sec(loop)))
		}
	}
	w.finish(middle)
	if w.conflict() {
		var wide fixes
		for _, v := range windows {
			if v.pulse > 0 && v.pulse/margin-loop < w.low*1.001 {
				s := g.Sensors[v.sensor]
				fix, words := s.widen(margin * (w.low + loop))
				wide.add(v.sensor, fix, "for the "+s.Name+" "+words)
			}
		}
		w.remedy(wide.all(), "%s", and(wide.words))
	}
	return w.p
}

// way is the direction that ends at the sensor.
func (g *Given) way(s Sensor) *Direction {
	switch s.End {
	case AtOpen:
		return &g.Opening
	case AtClosed:
		return &g.Closing
	}
	return nil
}

// full is the full speed in travels a second, as far as is known.
func (d Direction) full() float64 {
	switch {
	case d.CoastDistance > 0 && d.CoastTime > 0:
		return round(2 * round(d.CoastDistance) / seconds(d.CoastTime))
	case d.Time > 0:
		return round(1 / seconds(d.Time))
	}
	return 0
}

// stopAfterLimit works out how soon the motor must stand once a limit has made:
// the gate is to come to rest while the limit is still made, short of the stop.
func stopAfterLimit(g Given, windows []window) Proposal {
	w := begin("stop after limit", Nanoseconds)
	loop, decay, sw := w.looks(g), seconds(g.CurrentDecay), seconds(g.BridgeSwitching)
	for _, v := range windows {
		s := g.Sensors[v.sensor]
		d := g.way(s)
		if d == nil {
			continue
		}
		w.source(fromDecay, fromNoise)
		w.borrowed(s.DelayFrom)
		w.least("what the "+s.Name+" and the controller take",
			"Delay of the "+s.Name+", its least debounce (see there), one look at the input, decay of the current, change-over of the bridge:",
			seconds(s.Delay)+v.low+loop+float64(5*decay)+sw, "%s", terms(" + ", sec(seconds(s.Delay)), sec(v.low), sec(loop), "5 × "+sec(decay), sec(sw)))
		w.prefer = math.Max(w.prefer, seconds(s.Delay)+v.proposed()+loop+float64(5*decay)+sw)
		w.room(s, *d)
	}
	w.finish(middle)
	if w.conflict() {
		w.cureStop(g)
	}
	return w.p
}

// room writes how long the motor may drive on once the sensor has made.
func (w *work) room(s Sensor, d Direction) {
	full, coast, win := d.full(), round(d.CoastDistance), round(s.Window)
	if full == 0 || win == 0 {
		w.missing("how far the gate may go on past the "+s.Name, "how fast it is there, and how far it coasts")
		return
	}
	w.speedTowards(s, d)
	w.most("the room past the "+s.Name, "Past it the gate may go on by "+part(win)+" of its travel, and coasts for "+part(coast)+". That leaves the motor to run on for",
		(win-coast)/full, "(%s − %s) / %s", part(win), part(coast), rate(full))
}

// speedTowards writes where the full speed towards a sensor is from.
func (w *work) speedTowards(s Sensor, d Direction) {
	if coast := round(d.CoastDistance); coast > 0 && d.CoastTime > 0 {
		w.source(fromCoast)
		w.eq("Full speed towards the "+s.Name+", for the gate slows down evenly while it coasts:", d.full(), rate, "2 × %s / %s", part(coast), sec(seconds(d.CoastTime)))
	} else {
		w.eq("Full speed towards the "+s.Name+", from the time of the whole travel:", d.full(), rate, "100 %% / %s", sec(seconds(d.Time)))
	}
}

func rate(x float64) string { return part(x) + "/s" }

// shortestCoast, as a part of the travel, is less than any brake is adjusted to.
const shortestCoast = 5e-4

func (w *work) cureStop(g Given) {
	var wide, brake fixes
	braked, widened := true, true
	for i, s := range g.Sensors {
		d := g.way(s)
		if d == nil || s.Window == 0 || d.full() == 0 {
			continue
		}
		full, coast := d.full(), round(d.CoastDistance)
		if roundDown((round(s.Window)-coast)/full) >= w.low {
			continue
		}
		x := handyUp(coast + float64(full*w.low))
		widened = widened && x <= 1
		wide.add(i, func(s *Sensor) { s.Window = x }, "the "+s.Name+" so wide, or so placed, that it stays made for "+part(x)+" of the travel before it breaks or the stop is met")
		y := handyDown(0.98 * (round(s.Window) - float64(full*w.low)))
		if braked = braked && y >= shortestCoast && coast > 0; braked {
			brake.words = append(brake.words, "a brake that lets the gate coast for no more than "+part(y)+" of its travel towards the "+s.Name)
			brake.fix = append(brake.fix, func(g *Given) { g.way(s).brake(y) })
		}
	}
	if widened {
		w.remedy(wide.all(), "%s", and(wide.words))
	}
	if braked {
		w.remedy(brake.all(), "%s", and(brake.words))
	}
	if len(w.p.Remedies) == 0 {
		w.advise("a slower gate towards its ends, or a quicker controller")
	}
}

// brake shortens the coast and leaves the full speed as it is.
func (d *Direction) brake(to float64) {
	if to >= d.CoastDistance {
		return
	}
	d.CoastTime = duration(math.Round(d.CoastTime.Seconds()*to/d.CoastDistance*1e9) / 1e9)
	d.CoastDistance = to
}
