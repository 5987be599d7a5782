package derive

import (
	"fmt"
	"math"
)

// A Pull is what acts on a gate of which the motor is off, at one of its stops: torques in
// newton metres, inertia in kilogram square metres and angles in radians of a gate that
// turns; forces in newtons, mass in kilograms and ways in metres of one that slides.
type Pull struct {
	Weight   float64 `json:"weight"`   // towards the stop; less than 0 where it pulls off it
	Friction float64 `json:"friction"` // sliding
	Static   float64 `json:"static"`   // friction at rest
	Inertia  float64 `json:"inertia"`  // of the gate
	Motor    float64 `json:"motor"`    // inertia of the motor, kilogram square metres
	Gear     float64 `json:"gear"`     // radians of the motor for one radian, or one metre, of the gate
	Travel   float64 `json:"travel"`   // from stop to stop
	Slides   bool    `json:"slides,omitempty"`
}

// Thrown gives the direction with what slows a hop off the stop at its end down, and what
// brings the gate back. Friction that grows with speed is left out, so that a hop is no
// higher. A weight that pulls the gate off the stop leaves Hop not given.
func (d Direction) Thrown(p Pull) Direction {
	d.Pull, d.Hop, d.Fall = &p, 0, 0
	heavy := p.heavy() * round(p.Travel)
	if up := round((round(p.Weight) + round(p.Friction)) / heavy); up >= 1e-6 {
		d.Hop = up
	}
	if back := round((round(p.Weight) - round(p.Friction)) / heavy); p.Weight > p.Static && back >= 1e-6 {
		d.Fall = back
	}
	return d
}

// heavy is the inertia of gate and motor, at the gate.
func (p Pull) heavy() float64 {
	return round(round(p.Inertia) + float64(round(p.Motor)*round(p.Gear)*round(p.Gear)))
}

// units of force, inertia and way.
func (p Pull) units() (force, inertia, way func(float64) string) {
	in := func(unit string) func(float64) string {
		return func(x float64) string { return plain(x) + " " + unit }
	}
	if p.Slides {
		return in("N"), in("kg"), in("m")
	}
	return in("Nm"), in("kgm²"), in("rad")
}

// pulled writes where Hop and Fall are from.
func (w *work) pulled(p Pull, d Direction) {
	force, inertia, way := p.units()
	j, m, n := round(p.Inertia), round(p.Motor), round(p.Gear)
	w.say("The gate's inertia is %s, that of its motor %s, and the motor turns by %s rad for each %s of the gate.", inertia(j), plain(m)+" kgm²", plain(n), map[bool]string{true: "metre", false: "radian"}[p.Slides])
	all := w.eq("Counted at the gate both are", j+float64(m*n*n), inertia, "%s + %s × %s × %s", inertia(j), plain(m)+" kgm²", plain(n), plain(n))
	weight, friction, travel := round(p.Weight), round(p.Friction), round(p.Travel)
	w.say("At that stop the weight pulls with %s towards it, friction holds with %s, and the whole travel is %s.", force(weight), force(friction), way(travel))
	sign := "+"
	if weight < 0 {
		sign = "−"
	}
	w.eq("Weight and friction slow a hop off it by, in parts of the travel,", (weight+friction)/(all*travel), retards, "(%s %s %s) / (%s × %s)", force(friction), sign, force(math.Abs(weight)), inertia(all), way(travel))
	if d.Fall > 0 {
		w.eq("From its top the weight brings the gate back, against friction, with", (weight-friction)/(all*travel), retards, "(%s − %s) / (%s × %s)", force(weight), force(friction), inertia(all), way(travel))
	}
}

func (p Pull) check(m *mistakes, field string) {
	m.unless(!math.IsNaN(p.Weight) && math.Abs(p.Weight) <= 1e9, field+".Weight", "%v must be a number", p.Weight)
	for _, f := range []struct {
		name string
		x    float64
	}{{"Friction", p.Friction}, {"Static", p.Static}, {"Inertia", p.Inertia}, {"Motor", p.Motor}} {
		m.unless(f.x >= 0 && f.x <= 1e9, fmt.Sprintf("%s.%s", field, f.name), "%v must not be negative", f.x)
	}
	m.unless(p.Gear > 0 && p.Gear <= 1e9, field+".Gear", "%v must be positive", p.Gear)
	m.unless(p.Travel > 0 && p.Travel <= 1e9, field+".Travel", "%v must be positive", p.Travel)
}
