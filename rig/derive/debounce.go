package derive

import (
	"fmt"
	"math"
)

// A window is what was worked out for the debounce of one sensor.
type window struct {
	sensor int
	*work
	pulse float64 // s; 0: nothing known
}

// rim is the speed of the magnet, in metres per second, as far as is known.
func (s Sensor) rim() float64 {
	if s.RimSpeed > 0 {
		return round(s.RimSpeed)
	}
	return round(2 * math.Pi * round(s.WheelRadius) * round(s.PerTravel) * round(s.Fastest))
}

// magnet says that the pulse is to be worked out from a magnet that passes.
func (s Sensor) magnet() bool { return s.Pulse == 0 && s.Arc > 0 && s.rim() > 0 }

// debounce works out, for each sensor, how long it must stay changed to be
// believed: longer than it bounces, shorter than it is made at full speed.
func debounce(g Given) []window {
	var all []window
	for i, s := range g.Sensors {
		w := begin(Debounce, Nanoseconds)
		w.p.Sensor = s.Name
		v := window{sensor: i, work: w}
		w.bounces(s)
		v.pulse = w.shortestPulse(s, g)
		if v.pulse > 0 {
			loop := w.looks(g)
			w.source(fromMargin)
			w.most("the shortest pulse", "The debounce and one look at the input must fit into that, with a margin of 25 %:",
				float64(v.pulse/margin)-loop, "%s", terms(" − ", sec(v.pulse)+" / "+plain(margin), sec(loop)))
		}
		if w.prefer > w.high {
			w.prefer = 0 // there is no room to sit a hop out
		}
		aim := middle
		if v.pulse == 0 {
			aim = nearLow
			v.rests(g)
		}
		w.finish(aim)
		if w.conflict() {
			v.cure(g)
		}
		all = append(all, v)
	}
	return all
}

func (w *work) bounces(s Sensor) {
	w.source(fromNoise)
	w.least("interference", "Interference on the wires has to be sat out; it lasts up to", noise, "%s", sec(noise))
	b := seconds(s.Bounce)
	switch {
	case b > 0:
		w.source(fromMargin)
		w.borrowed(s.BounceFrom)
		w.least("its bounce", "The longest bounce, from the first edge to the last, with a margin of 25 %:", b*margin, "%s × %s", sec(b), plain(margin))
	case s.Contactless:
		w.say("The %s has no contacts, so nothing bounces.", s.Name)
	default:
		w.missing("the longest bounce of the " + s.Name)
	}
}

// shortestPulse writes how long the sensor is made at full speed.
func (w *work) shortestPulse(s Sensor, g Given) float64 {
	if s.Pulse > 0 {
		p := seconds(s.Pulse)
		w.say("At full speed it is made for %s at the least.", sec(p))
		return p
	}
	if !s.magnet() {
		return w.stays(s, g)
	}
	w.source(fromMagnet)
	arc, r := round(s.Arc), round(s.WheelRadius)
	v := s.rim()
	if s.RimSpeed == 0 {
		w.eq(fmt.Sprintf("A travel turns the wheel by %s turns, and the gate moves at %s at its fastest, so the rim moves at", plain(s.PerTravel), rate(s.Fastest)),
			v, speed, "2 × π × %s × %s × %s", metre(r), plain(s.PerTravel), rate(s.Fastest))
	}
	return w.eq("At full speed the magnet is over the sensor for", arc/v, sec, "%s / %s", metre(arc), speed(v))
}

// widen makes the sensor's pulse at least p seconds: by a wider magnet, by a
// slower wheel, or by a longer cam. Each gives the change and its words.
func (s Sensor) widen(p float64) (fix func(*Sensor), words string) {
	if s.magnet() {
		x := handyUp(p * s.rim())
		return func(s *Sensor) { s.Arc = x }, "a magnet at least " + metre(x) + " wide"
	}
	x := handyUp(p)
	return func(s *Sensor) { s.Pulse = duration(x) }, "a cam or magnet that holds it for at least " + sec(x)
}

func (s Sensor) slow(p float64) (fix func(*Sensor), words string) {
	x := handyDown(round(s.Arc) / p)
	return func(s *Sensor) { s.RimSpeed = x }, "a wheel no faster than " + speed(x) + " at the rim"
}

func (v window) cure(g Given) {
	loop, s := seconds(g.Loop), g.Sensors[v.sensor]
	if v.pulse == 0 {
		v.advise("what lets the gate rest before its stop: see stop after limit")
		return
	}
	need := margin * (v.low + loop)
	at := func(fix func(*Sensor)) func(*Given) {
		return func(g *Given) { fix(&g.Sensors[v.sensor]) }
	}
	fix, words := s.widen(need)
	v.remedy(at(fix), "%s", words)
	if s.magnet() {
		fix, words = s.slow(need)
		v.remedy(at(fix), "%s", words)
	}
	if b := handyDown(v.high / margin); v.why[0] == "its bounce" && v.high > noise && b > 0 {
		v.remedy(at(func(s *Sensor) { s.Bounce = duration(b) }), "a switch that bounces for no longer than %s", sec(b))
	}
	if x := handyDown(v.pulse/margin - v.low); x >= quickest && loop > x {
		v.remedy(func(g *Given) { g.Loop = duration(x) }, "a controller that looks at its inputs at least every %s", sec(x))
	}
}
