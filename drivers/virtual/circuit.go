package virtual

import (
	"math"
	"time"
)

// A circuit is what the motor is wired to, as the source and the resistance that
// it sees. A resistor across its leads and the battery's own resistance make
// another source with another resistance (Thévenin's theorem), so the equations
// stay the same.
type circuit struct {
	resistance float64 // of the whole loop through the motor
	part       float64 // of the source's voltage that the motor sees
	// What the meter reads is a share of the motor's current, and what leaks past
	// it: so many amperes a volt of the source.
	share, leak float64

	turningSteps, heldSteps *steps
	fixed                   [2]struct {
		d             time.Duration
		turning, held step
	}
	longest time.Duration // over more than this a swinging speed could cross zero twice unseen
}

func newCircuit(c MotorConfig, resistance float64, fixed [2]time.Duration) circuit {
	r, l, k, j, v := resistance, c.Inductance, c.Constant, c.Inertia, c.Viscous
	both := matrix{{-r / l, -k / l, 0}, {k / j, -v / j, 0}, {1, 0, 0}}
	electrical := matrix{{-r / l, 0, 0}, {0, 0, 0}, {1, 0, 0}}
	e := circuit{resistance: r, turningSteps: tabulate(both), heldSteps: tabulate(electrical), longest: quarterSwing(both)}
	for n, d := range fixed {
		e.fixed[n].d = d
		e.fixed[n].turning, e.fixed[n].held = stepOver(both, d), stepOver(electrical, d)
	}
	return e
}

// shunt works out the circuits with the resistor across the leads. Driven, the
// resistor and the battery's resistance divide the voltage. Not driven, the motor
// brakes itself through the resistor, where no meter sees it.
func (m *motor) shunt(b BatteryConfig, fixed [2]time.Duration) {
	across, within := m.c.ShortResistance, b.Resistance
	part := across / (across + within)
	driven := newCircuit(m.c, m.c.Resistance+float64(part*within), fixed)
	driven.part, driven.share, driven.leak = part, part, 1/(across+within)
	m.shunted = &[2]circuit{driven, newCircuit(m.c, m.c.Resistance+across, fixed)}
}

// quarterSwing is a quarter period of the motor's own oscillation, or the longest
// step where it has none.
func quarterSwing(a matrix) time.Duration {
	halfTrace := (a[0][0] + a[1][1]) / 2
	determinant := float64(a[0][0]*a[1][1]) - float64(a[0][1]*a[1][0])
	d := determinant - float64(halfTrace*halfTrace)
	if d <= 0 {
		return longest
	}
	quarter := math.Pi / 2 / math.Sqrt(d) * 1e9
	return time.Duration(max(1, min(quarter, longest)))
}
