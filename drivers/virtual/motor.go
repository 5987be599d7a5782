package virtual

import (
	"math"
	"time"

	"pintle/rig/signal"
)

// regime is the set of equations that the motor is under.
type regime uint8

const (
	open    regime = iota // no current: the bridge is off, and the rotor coasts or stands
	turning               // both equations
	held                  // the load or a lock holds the rotor: the electrical equation alone
)

// A motor is the motor on its brake, with the bridge and the battery in circuit.
// Current and speed are kept as deviations from the steady state that they are
// heading for, so that one small matrix takes them over a stretch of time.
type motor struct {
	c          MotorConfig
	resistance float64 // of the whole circuit

	turningSteps, heldSteps *steps
	coastSteps              *steps // speed and load torque in place of current and speed
	fixed                   [2]struct {
		d             time.Duration
		turning, held step
	}
	longest time.Duration // over more than this a swinging speed could cross zero twice unseen

	at      signal.Instant
	regime  regime
	locked  bool
	applied float64 // volts of the bridge, signed; of no meaning while off
	off     bool
	against float64 // while off and current still flows: its sign
	way     float64 // while turning: the sign of the speed
	// The state is the steady state plus the deviation.
	steadyI, steadyW float64
	i, w             float64
	charge           float64 // ampere-seconds since it was last taken
}

// newMotor works out the transitions. The fixed durations are the ones that will
// be asked for most.
func newMotor(c MotorConfig, b BatteryConfig, fixed [2]time.Duration) motor {
	m := motor{c: c, resistance: c.Resistance + b.Resistance}
	r, l, k, j, v := m.resistance, c.Inductance, c.Constant, c.Inertia, c.Viscous
	both := matrix{{-r / l, -k / l, 0}, {k / j, -v / j, 0}, {1, 0, 0}}
	electrical := matrix{{-r / l, 0, 0}, {0, 0, 0}, {1, 0, 0}}
	m.turningSteps, m.heldSteps = tabulate(both), tabulate(electrical)
	m.coastSteps = tabulate(matrix{{-v / j, -1 / j, 0}, {0, 0, 0}, {0, 0, 0}})
	for n, d := range fixed {
		m.fixed[n].d = d
		m.fixed[n].turning, m.fixed[n].held = stepOver(both, d), stepOver(electrical, d)
	}
	m.longest = quarterSwing(both)
	m.reset()
	return m
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

func (m *motor) reset() {
	m.at, m.regime, m.locked, m.off = 0, open, false, true
	m.applied, m.against, m.way = 0, 0, 0
	m.steadyI, m.steadyW, m.i, m.w, m.charge = 0, 0, 0, 0, 0
}

func (m *motor) current() float64 { return m.steadyI + m.i }
func (m *motor) speed() float64   { return m.steadyW + m.w }

// Current is what the controller's own shunt shows.
func (m *motor) Current(at signal.Instant) signal.Current {
	m.advance(at)
	return signal.Current(float64(m.current() * 1e6))
}

// take gives the charge since it was last taken, in ampere-seconds.
func (m *motor) take() float64 {
	q := m.charge
	m.charge = 0
	return q
}

// drive puts volts on the motor, positive to open.
func (m *motor) drive(at signal.Instant, volts float64) {
	m.bring(at)
	m.off, m.applied = false, volts
	m.settle(m.current(), m.speed())
}

// release opens the bridge. Current that still flows goes back through the diodes
// against the supply, and then there is none.
func (m *motor) release(at signal.Instant, supply float64) {
	m.bring(at)
	i, w := m.current(), m.speed()
	m.off, m.against = true, sign(i)
	m.applied = -float64(m.against * supply)
	m.settle(i, w)
}

// lock holds the rotor, or lets it go.
func (m *motor) lock(at signal.Instant, locked bool) {
	m.bring(at)
	w := m.speed()
	if locked {
		w = 0
	}
	m.locked = locked
	m.settle(m.current(), w)
}

// load is the brake's torque against turning the given way.
func (m *motor) load(way float64) float64 {
	if way > 0 {
		return m.c.OpeningLoad
	}
	return m.c.ClosingLoad
}

// breaksAway says whether a current moves a standing rotor.
func (m *motor) breaksAway(i float64) bool {
	return !m.locked && magnitude(float64(m.c.Constant*i)) > m.load(sign(i))
}

// settle picks the equations for a current and speed, and the steady state that
// they lead to.
func (m *motor) settle(i, w float64) {
	v := m.applied
	switch {
	case m.off && i == 0:
		m.regime, m.steadyI, m.steadyW = open, 0, 0
	case w == 0 && !m.breaksAway(i):
		m.regime, m.steadyI, m.steadyW = held, v/m.resistance, 0
	default:
		m.regime, m.way = turning, sign(w)
		if w == 0 {
			m.way = sign(i)
		}
		k, b, load := m.c.Constant, m.c.Viscous, float64(m.way*m.load(m.way))
		under := float64(m.resistance*b) + float64(k*k)
		m.steadyI = (float64(b*v) + float64(k*load)) / under
		m.steadyW = (float64(k*v) - float64(m.resistance*load)) / under
	}
	m.i, m.w = i-m.steadyI, w-m.steadyW
}

// holds says whether the equations in force still apply to a deviation.
func (m *motor) holds(i, w float64) bool {
	if m.off && float64((m.steadyI+i)*m.against) <= 0 {
		return false
	}
	if m.regime == turning {
		return float64((m.steadyW+w)*m.way) >= 0
	}
	return !m.breaksAway(m.steadyI + i)
}

// advance takes the motor to an instant, through whatever changes of regime lie
// on the way. Once no current flows it has nothing to do: bring works out the
// speed when that matters.
func (m *motor) advance(to signal.Instant) {
	for m.at < to && m.regime != open {
		d := min(to.Sub(m.at), m.longest)
		i, w, q := m.over(d)
		if !m.holds(i, w) {
			m.cross(d)
			continue
		}
		m.commit(i, w, q, d)
	}
}

// bring is advance for those who are about to change something: the speed of a
// coasting rotor counts too.
func (m *motor) bring(to signal.Instant) {
	m.advance(to)
	if m.regime == open {
		m.coast(to)
	}
}

// over works out what a stretch of time does to the deviation.
func (m *motor) over(d time.Duration) (i, w, q float64) {
	turns := m.regime == turning
	for n := range m.fixed {
		if f := &m.fixed[n]; f.d == d {
			if turns {
				return f.turning.apply(m.i, m.w)
			}
			return f.held.apply(m.i, m.w)
		}
	}
	return m.table().apply(d, m.i, m.w)
}

func (m *motor) table() *steps {
	if m.regime == turning {
		return m.turningSteps
	}
	return m.heldSteps
}

// commit accepts a stretch of time. What is left of a deviation that no reading
// could show is dropped, before it becomes a subnormal number and slow.
func (m *motor) commit(i, w, q float64, d time.Duration) {
	m.charge += q + float64(m.steadyI*float64(float64(d)*1e-9))
	m.at = m.at.Add(d)
	if magnitude(i) < 1e-15 && magnitude(w) < 1e-15 {
		i, w = 0, 0
	}
	m.i, m.w = i, w
}

// cross goes to the first nanosecond within d at which the equations in force no
// longer apply, by halving, and changes over there.
func (m *motor) cross(d time.Duration) {
	t := m.table()
	for n := digitBits*digits - 1; n >= 0; n-- {
		part := time.Duration(1) << n
		if part >= d {
			continue
		}
		i, w, q := t.bit(n).apply(m.i, m.w)
		if m.holds(i, w) {
			m.commit(i, w, q, part)
			d -= part
		}
	}
	i, w, q := t.bit(0).apply(m.i, m.w)
	m.commit(i, w, q, 1)
	now, speed := m.current(), m.speed()
	if m.off && float64(now*m.against) <= 0 {
		now = 0
	}
	if m.regime == held || float64(speed*m.way) < 0 {
		speed = 0
	}
	m.settle(now, speed)
}

// coast brings the speed of a rotor without current up to date. It only slows
// down, and stands once the load has stopped it.
func (m *motor) coast(to signal.Instant) {
	way := sign(m.w)
	for w := magnitude(m.w); m.at < to && w > 0; {
		d := min(to.Sub(m.at), longest)
		w, _, _ = m.coastSteps.apply(d, w, m.load(way))
		m.w = float64(way * max(w, 0))
		m.at = m.at.Add(d)
	}
	m.at = to
}
