package virtual

import (
	"math"
	"time"

	"pintle/rig/linear"
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
	*circuit // the one that the motor is in now
	c        MotorConfig
	whole    circuit
	shunted  *[2]circuit // driven and not, with the resistor across the leads; nil where there is none
	coasting *steps      // speed and load torque in place of current and speed
	battery  BatteryConfig
	usual    [2]time.Duration
	weathers map[float64]weather // by kelvin

	at      signal.Instant
	regime  regime
	locked  bool
	shorted bool
	burden  float64 // what the brake's torque is multiplied by
	heavier float64 // what it is multiplied by without drag, on this day
	source  float64 // volts of the bridge, signed; while off, of the supply
	applied float64 // what the motor sees of them
	off     bool
	against float64 // while off and current still flows back: its sign
	way     float64 // while turning: the sign of the speed
	// The state is the steady state plus the deviation.
	steadyI, steadyW float64
	i, w             float64
	steadyMeter      float64 // what the meter reads in the steady state
	charge           float64 // ampere-seconds past the meter since they were last taken
}

// newMotor works out the transitions. The fixed durations are the ones that will
// be asked for most.
func newMotor(c MotorConfig, b BatteryConfig, fixed [2]time.Duration) motor {
	m := motor{c: c, whole: newCircuit(c, c.Resistance+b.Resistance, fixed), battery: b, usual: fixed, weathers: map[float64]weather{}}
	m.whole.share, m.whole.part = 1, 1
	j := c.Inertia
	m.coasting = tabulate(matrix{{-c.Viscous / j, -1 / j, 0}, {0, 0, 0}, {0, 0, 0}})
	return m
}

func (m *motor) reset() {
	m.circuit = &m.whole
	m.at, m.regime, m.locked, m.shorted, m.off = 0, open, false, false, true
	m.burden, m.heavier, m.source, m.applied, m.against, m.way = 1, 1, 0, 0, 0, 0
	m.steadyI, m.steadyW, m.i, m.w, m.steadyMeter, m.charge = 0, 0, 0, 0, 0, 0
}

func (m *motor) current() float64 { return m.steadyI + m.i }
func (m *motor) speed() float64   { return m.steadyW + m.w }

// metered is the current on the bridge's side of the resistor across the leads.
func (m *motor) metered() float64 { return m.steadyMeter + float64(m.share*m.i) }

// Current is what the controller's own shunt shows.
func (m *motor) Current(at signal.Instant) signal.Current {
	m.advance(at)
	return signal.Current(float64(m.metered() * 1e6))
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
	m.off, m.source = false, volts
	m.rewire(m.current(), m.speed())
}

// release opens the bridge. Current that still flows goes back through the diodes
// against the supply, and then there is none.
func (m *motor) release(at signal.Instant, supply float64) {
	m.bring(at)
	m.off, m.source = true, supply
	m.rewire(m.current(), m.speed())
}

// sever opens the lead between bridge and motor: what flows through it is gone at
// once.
func (m *motor) sever(at signal.Instant) {
	m.bring(at)
	m.off, m.source = true, 0
	i := m.current()
	if !m.shorted {
		i = 0
	}
	m.rewire(i, m.speed())
}

// short puts the resistor across the motor's leads, or takes it away.
func (m *motor) short(at signal.Instant, shorted bool) {
	m.bring(at)
	m.shorted = shorted && m.shunted != nil
	m.rewire(m.current(), m.speed())
}

// rewire picks the circuit. The voltage across the resistor stays below the
// supply, so that with it no current goes back through the diodes.
func (m *motor) rewire(i, w float64) {
	switch {
	case m.shorted && m.off:
		m.circuit, m.against = &m.shunted[1], 0
	case m.shorted:
		m.circuit, m.against = &m.shunted[0], 0
	default:
		m.circuit, m.against = &m.whole, 0
		if m.off {
			m.against = linear.Sign(i)
		}
	}
	m.applied = float64(m.part * m.source)
	if m.against != 0 {
		m.applied = -float64(m.against * m.source)
	}
	m.settle(i, w)
}

// drag makes the brake heavier by its drag, or as it was.
func (m *motor) drag(at signal.Instant, drags bool) {
	m.bring(at)
	m.burden = m.heavier
	if drags {
		m.burden += float64(m.heavier * m.c.Drag)
	}
	m.settle(m.current(), m.speed())
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
		return float64(m.burden * m.c.OpeningLoad)
	}
	return float64(m.burden * m.c.ClosingLoad)
}

// breaksAway says whether a current moves a standing rotor.
func (m *motor) breaksAway(i float64) bool {
	return !m.locked && math.Abs(float64(m.c.Constant*i)) > m.load(linear.Sign(i))
}

// settle picks the equations for a current and speed, and the steady state that
// they lead to.
func (m *motor) settle(i, w float64) {
	v := m.applied
	switch {
	case m.off && i == 0 && !m.shorted:
		m.regime, m.steadyI, m.steadyW = open, 0, 0
	case w == 0 && !m.breaksAway(i):
		m.regime, m.steadyI, m.steadyW = held, v/m.resistance, 0
	default:
		m.regime, m.way = turning, linear.Sign(w)
		if w == 0 {
			m.way = linear.Sign(i)
		}
		k, b, load := m.c.Constant, m.c.Viscous, float64(m.way*m.load(m.way))
		under := float64(m.resistance*b) + float64(k*k)
		m.steadyI = (float64(b*v) + float64(k*load)) / under
		m.steadyW = (float64(k*v) - float64(m.resistance*load)) / under
	}
	m.i, m.w = i-m.steadyI, w-m.steadyW
	m.steadyMeter = float64(m.share*m.steadyI) + float64(m.leak*m.source)
}

// holds says whether the equations in force still apply to a deviation.
func (m *motor) holds(i, w float64) bool {
	if m.against != 0 && float64((m.steadyI+i)*m.against) <= 0 {
		return false
	}
	if m.regime == turning {
		return float64((m.steadyW+w)*m.way) >= 0
	}
	return !m.breaksAway(m.steadyI + i)
}

// slows says whether a turning rotor slows down with a deviation.
func (m *motor) slows(i, w float64) bool {
	return float64((float64(m.c.Constant*i)-float64(m.c.Viscous*w))*m.way) < 0
}

// slowest is the part of a stretch of time in which a rotor slows down, where it speeds
// up again before the end. It may have come to stand in between: a rotor that coasts
// does, when it is driven on in the same way, until the current is up.
func (m *motor) slowest(d time.Duration) time.Duration {
	t, i, w := m.table(), m.i, m.w
	slows := time.Duration(0)
	for n := linear.Bits - 1; n >= 0; n-- {
		part := time.Duration(1) << n
		if slows+part >= d {
			continue
		}
		if ni, nw, _ := t.Bit(n).Apply(i, w); m.slows(ni, nw) {
			i, w = ni, nw
			slows += part
		}
	}
	return slows + 1
}

// advance takes the motor to an instant, through whatever changes of regime lie
// on the way. Once no current flows it has nothing to do: bring works out the
// speed when that matters.
func (m *motor) advance(to signal.Instant) {
	for m.at < to && m.regime != open {
		d := min(to.Sub(m.at), m.longest)
		i, w, q := m.over(d)
		if m.regime == turning && m.slows(m.i, m.w) && !m.slows(i, w) {
			d = m.slowest(d)
			i, w, q = m.over(d)
		}
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
				return f.turning.Apply(m.i, m.w)
			}
			return f.held.Apply(m.i, m.w)
		}
	}
	return m.table().Apply(d, m.i, m.w)
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
	m.charge += float64(m.share*q) + float64(m.steadyMeter*float64(float64(d)*1e-9))
	m.at = m.at.Add(d)
	if math.Abs(i) < 1e-15 && math.Abs(w) < 1e-15 {
		i, w = 0, 0
	}
	m.i, m.w = i, w
}

// cross goes to the first nanosecond within d at which the equations in force no
// longer apply, by halving, and changes over there.
func (m *motor) cross(d time.Duration) {
	t := m.table()
	for n := linear.Bits - 1; n >= 0; n-- {
		part := time.Duration(1) << n
		if part >= d {
			continue
		}
		i, w, q := t.Bit(n).Apply(m.i, m.w)
		if m.holds(i, w) {
			m.commit(i, w, q, part)
			d -= part
		}
	}
	i, w, q := t.Bit(0).Apply(m.i, m.w)
	m.commit(i, w, q, 1)
	now, speed := m.current(), m.speed()
	if m.against != 0 && float64(now*m.against) <= 0 {
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
	way := linear.Sign(m.w)
	for w := math.Abs(m.w); m.at < to && w > 0; {
		d := min(to.Sub(m.at), longest)
		w, _, _ = m.coasting.Apply(d, w, m.load(way))
		m.w = float64(way * max(w, 0))
		m.at = m.at.Add(d)
	}
	m.at = to
}
