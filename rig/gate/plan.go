package gate

import (
	"math"

	"pintle/rig/motion"
)

const (
	// leastHop is the height, in travels, below which a hop off a stop is left
	// out: on a travel of 5 m it is 5 µm, far less than any switch can tell.
	leastHop = 1e-6
	// mostHops bounds the list of phases for a stop that is nearly lossless.
	mostHops = 1000
	// A hop's duration neither vanishes nor outlasts the clock, with these bounds
	// in travels per second squared.
	leastReturn = 1e-6
	mostReturn  = 1e6
)

// A way is how the gate moves in one direction, in travels and seconds. A rate
// of +Inf changes the speed at once.
type way struct {
	dir    float64 // +1 opening, -1 closing
	cruise float64 // full speed
	runUp  float64 // acceleration under the motor
	coast  float64 // deceleration without it
	stop   Stop    // at the end
	hops   kind    // off that stop
}

// newWay works a direction out: full speed follows from the run-up's covering
// half of what full speed would cover in its time.
func newWay(t Travel, dir float64, stop Stop, hops kind) way {
	cruise := 2 / (2*t.Time - t.RunUp).Seconds()
	w := way{dir, cruise, math.Inf(1), math.Inf(1), stop, hops}
	if t.RunUp > 0 {
		w.runUp = cruise / t.RunUp.Seconds()
	}
	if t.Coast > 0 {
		w.coast = cruise / t.Coast.Seconds()
	}
	return w
}

// plan works out all that is to come, from the cursor's place and speed on, if
// the motor goes on as it is and nothing else happens.
func (m *Model) plan() {
	if m.mover != nil {
		m.move()
		m.lay()
		return
	}
	m.phases, m.t = m.phases[:0], 0
	switch {
	case m.motor == motion.Opening:
		m.drive(&m.opening, &m.closing)
	case m.motor == motion.Closing:
		m.drive(&m.closing, &m.opening)
	case m.kind == hopsOffClosed:
		m.hop(&m.closing)
	case m.kind == hopsOffOpen:
		m.hop(&m.opening)
	default:
		m.coast()
	}
	m.lay()
}

// move is plan for a gate that has a machine.
func (m *Model) move() {
	p := m.mover
	p.drives = 0
	switch m.motor {
	case motion.Opening:
		p.drives = 1
	case motion.Closing:
		p.drives = -1
	}
	p.lo, p.hi = m.wall(&m.closing), m.wall(&m.opening)
	p.plan()
}

func (m *Model) wall(w *way) wall {
	place, stop := m.barrier(w)
	if stop {
		return wall{place, w.stop.Restitution}
	}
	return wall{place, 0}
}

// drive runs the gate up to full speed and on until something holds it. A gate
// that is still going the other way is slowed first: by what slows a coasting one,
// or by the motor where that is more.
func (m *Model) drive(w, other *way) {
	m.kind = driven
	if m.v*w.dir < 0 && m.leg(other, -max(w.runUp, other.coast), 0) {
		m.meet(other)
	}
	for {
		u := float64(m.v * w.dir)
		rate := 0.0
		switch {
		case u < w.cruise:
			rate = w.runUp
		case u > w.cruise:
			rate = -w.coast
		}
		if m.leg(w, rate, w.cruise) {
			m.rest(held)
			return
		}
	}
}

// coast lets the gate come to rest, or to a stop.
func (m *Model) coast() {
	m.kind = coasting
	w := m.going()
	if m.leg(w, -w.coast, 0) && m.meet(w) {
		m.hop(w)
		return
	}
	m.rest(resting)
}

// hop lets the gate fall on to the stop at the end of w, and off it again, until
// the hops become too small or something else takes the fall up.
func (m *Model) hop(w *way) {
	back := m.other(w)
	m.kind = w.hops
	for range mostHops {
		if m.v*w.dir < 0 && m.leg(back, -w.stop.Return, 0) {
			m.v = 0 // it met something on the way off, which takes its speed
		}
		m.leg(w, w.stop.Return, math.Inf(1))
		if !m.meet(w) {
			break
		}
	}
	m.rest(resting)
}

// meet is what happens where the gate runs into the end of its way: its speed
// turns round where that is a stop that it hops off, and is gone otherwise.
func (m *Model) meet(w *way) bool {
	_, stop := m.barrier(w)
	v := w.stop.Restitution * m.v
	if !stop || float64(v*v)/2 <= leastHop*w.stop.Return {
		m.v = 0
		return false
	}
	m.v = -v
	return true
}

// leg moves the gate along w, from the speed that it has along w, at a changing
// rate until it has the target speed. It says whether a barrier came first, or
// at the same instant; the gate is then at the barrier with the speed it has left.
func (m *Model) leg(w *way, rate, target float64) bool {
	barrier, _ := m.barrier(w)
	distance := max(float64((barrier-m.x)*w.dir), 0)
	u := float64(m.v * w.dir)
	if math.IsInf(rate, 0) && distance > 0 {
		m.v = float64(w.dir*target) + 0
		return false
	}
	there, full := reach(distance, u, rate), math.Inf(1)
	if rate != 0 {
		full = (target - u) / rate
	}
	m.push(min(there, full), rate*w.dir)
	if there > full {
		m.x = nearer(w.dir, m.x+float64(float64(w.dir*full)*float64(0.5*(u+target))), barrier)
		m.v = float64(w.dir*target) + 0
		return false
	}
	if distance > 0 {
		m.v = w.dir * math.Sqrt(max(float64(u*u)+float64(2*rate*distance), 0))
	}
	m.x = barrier
	return true
}

// nearer is the one of two places that comes first in a direction.
func nearer(dir, a, b float64) float64 {
	if dir > 0 {
		return min(a, b)
	}
	return max(a, b)
}

// push notes the phase that begins at the cursor and lasts for a while.
func (m *Model) push(lasts, a float64) {
	if lasts > 0 {
		m.phases = append(m.phases, phase{m.t, m.x, m.v, a, m.kind})
		m.t += lasts
	}
}

// rest notes the last phase.
func (m *Model) rest(k kind) {
	m.kind, m.v = k, 0
	m.phases = append(m.phases, phase{t: m.t, x: m.x, kind: k})
}
