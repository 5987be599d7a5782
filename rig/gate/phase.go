package gate

import "math"

// kind says what moves the gate in a phase, if anything does.
type kind uint8

const (
	resting kind = iota
	driven
	held // the motor drives, and the gate cannot move
	coasting
	hopsOffClosed
	hopsOffOpen
)

// rounding, in seconds, is what an instant may be off by in the last digits: one
// that comes by less too early is taken to have come.
const rounding = 1e-12

// A phase is a stretch of motion under one constant acceleration in which the
// gate never turns round. It lasts until the next phase begins; the last one is
// resting or held, and lasts for ever.
//
// Products that are added to something are converted to float64 first: the
// language then forbids a fused multiply-add, so every machine gets the same bits.
type phase struct {
	t       float64 // when it begins, in seconds from the model's base
	x, v, a float64 // position, speed, acceleration at its beginning, in travels and seconds
	kind    kind
}

// position is where the gate is at t, a time within the phase.
func (p phase) position(t float64) float64 {
	d := max(t-p.t, 0)
	if p.v == 0 && p.a == 0 {
		return p.x
	}
	mean := p.v + float64(0.5*p.a*d)
	return min(max(p.x+float64(mean*d), 0), 1)
}

// speed is how fast the gate moves at t, a time within the phase.
func (p phase) speed(t float64) float64 { return p.v + float64(p.a*max(t-p.t, 0)) }

// passes is when, in seconds from the base, the gate comes past a place on its
// way to end, where the phase is over.
func (p phase) passes(place float64, next phase) float64 {
	way := 1.0
	if next.x < p.x {
		way = -1
	}
	d := reach(float64((place-p.x)*way), float64(p.v*way), float64(p.a*way))
	return min(p.t+d, next.t)
}

// reach is how long it takes to go a distance from a speed under a constant
// acceleration, all counted the same way; +Inf where it is never reached. This
// form of the quadratic's root does not cancel: its two terms have one sign.
func reach(distance, speed, acceleration float64) float64 {
	if distance <= 0 {
		return 0
	}
	square := float64(speed*speed) + float64(2*acceleration*distance)
	if square < 0 {
		return math.Inf(1)
	}
	sum := speed + math.Sqrt(square)
	if sum <= 0 {
		return math.Inf(1)
	}
	return 2 * distance / sum
}
