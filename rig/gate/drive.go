package gate

import (
	"errors"
	"fmt"
	"math"
	"slices"

	"pintle/rig/linear"
)

// A Drive is a Machine worked out: its equations with everything counted at the
// motor's shaft, and the tables that solve them. It never changes, so that any
// number of models and goroutines may use one.
//
// The state is the motor's current in amperes, its speed in radians per second,
// and the gate's position in travels. Where the load changes evenly the equations
// are linear:
//
//	L di/dt = V − R i − K w
//	J dw/dt = K i − b w − (c + k x) ∓ friction
//	dx/dt   = w / span
type Drive struct {
	of       *Machine // what it was worked out from
	machine  Machine
	volts    float64 // of the battery with nothing drawn
	ohms     float64 // of battery, leads, winding
	inertia  float64 // J
	viscous  float64 // b
	coulomb  float64
	static   float64
	span     float64 // radians of the motor for one travel
	segments []segment
	held     *linear.Triples
}

// A segment is a stretch of the travel over which the load changes evenly.
type segment struct {
	from, to float64 // in travels; the outermost reach to infinity
	c, k     float64 // the load is c + k x
	*motions
}

// motions are the tables of one slope of the load.
type motions struct {
	slope               float64
	turning             *linear.Triples
	coasting            *linear.Triples
	mostTurn, mostCoast int // bits of the longest stretch in which the speed cannot swing through zero twice
}

// Compile works the machine out at its temperature, or reports every mistake.
func (m *Machine) Compile() (*Drive, error) {
	if err := m.Check(); err != nil {
		return nil, fmt.Errorf("machine of the gate: %w", err)
	}
	ratio := m.Gear
	if m.Radius > 0 {
		ratio /= m.Radius
	}
	volts, inside := m.Battery.At(m.Celsius)
	squared := float64(ratio * ratio)
	d := &Drive{
		of: m, machine: *m, volts: volts,
		ohms:    inside + m.Cable + m.Motor.At(m.Celsius),
		inertia: m.Motor.Inertia + m.Inertia/squared,
		viscous: m.Motor.Viscous + m.Friction.Viscous/squared,
		coulomb: m.Friction.Coulomb / ratio,
		static:  m.Friction.Static / ratio,
		span:    float64(ratio * m.Travel),
	}
	d.machine.Load = slices.Clone(m.Load)
	d.held = linear.TabulateTriples(linear.Matrix{{-d.ohms / m.Motor.Inductance, 0, 0, 1, 0}})
	d.divide(ratio)
	return d, nil
}

// divide makes the segments. Equal slopes share their tables.
func (d *Drive) divide(ratio float64) {
	from, level := math.Inf(-1), 0.0
	if len(d.machine.Load) > 0 {
		level = d.machine.Load[0].Torque / ratio
	}
	for i, p := range d.machine.Load {
		torque := p.Torque / ratio
		if i == 0 {
			d.add(from, p.Position, level, 0)
		} else {
			slope := (torque - level) / (p.Position - from)
			d.add(from, p.Position, level-float64(slope*from), slope)
		}
		from, level = p.Position, torque
	}
	d.add(from, math.Inf(1), level, 0)
}

func (d *Drive) add(from, to, c, k float64) {
	for _, s := range d.segments {
		if s.slope == k {
			d.segments = append(d.segments, segment{from, to, c, k, s.motions})
			return
		}
	}
	d.segments = append(d.segments, segment{from, to, c, k, d.motionsOf(k)})
}

func (d *Drive) motionsOf(k float64) *motions {
	l, j, kt := d.machine.Motor.Inductance, d.inertia, d.machine.Motor.Constant
	mechanical := [linear.Dim]float64{kt / j, -d.viscous / j, -k / j, 0, 1}
	coasting := mechanical
	coasting[0] = 0
	place := [linear.Dim]float64{0, 1 / d.span}
	n := &motions{slope: k,
		turning:  linear.TabulateTriples(linear.Matrix{{-d.ohms / l, -kt / l, 0, 1, 0}, mechanical, place}),
		coasting: linear.TabulateTriples(linear.Matrix{{}, coasting, place}),
	}
	spring := k / (j * d.span)
	damping, electric := d.viscous/j, d.ohms/l
	coupling := float64(kt*kt) / (l * j)
	n.mostCoast = stretchBits(swing2(damping, spring))
	n.mostTurn = stretchBits(swing3(electric+damping, float64(electric*damping)+coupling+spring, float64(electric*spring)))
	if k == 0 {
		n.mostTurn = stretchBits(swing2(electric+damping, float64(electric*damping)+coupling))
	}
	return n
}

// swing2 is the angular frequency, in radians per second, at which a solution of
// the equation s² + b s + c = 0 swings; 0 if it does not.
func swing2(b, c float64) float64 {
	return math.Sqrt(max(c-float64(b*b)/4, 0))
}

// swing3 is the same for s³ + b s² + c s + d = 0 (Cardano).
func swing3(b, c, d float64) float64 {
	p := c - float64(b*b)/3
	q := float64(2*b*b*b)/27 - float64(b*c)/3 + d
	square := float64(q*q)/4 + float64(p*p*p)/27
	if square <= 0 {
		return 0
	}
	root := math.Sqrt(square)
	return math.Sqrt(3) / 2 * math.Abs(math.Cbrt(-q/2+root)-math.Cbrt(-q/2-root))
}

// stretchBits is the power of two of nanoseconds next below a quarter of a swing.
func stretchBits(omega float64) int {
	n := linear.Bits - 1
	for n > 0 && float64(float64(int64(1)<<n)*1e-9*omega) > math.Pi/2 {
		n--
	}
	return n
}

// segmentAt finds the segment in which a gate at x moves along way.
func (d *Drive) segmentAt(x, way float64) int {
	for i := range d.segments {
		s := &d.segments[i]
		if x < s.to || x == s.to && way < 0 {
			return i
		}
	}
	return len(d.segments) - 1
}

// load is the torque, at the motor's shaft, that pulls towards closed.
func (d *Drive) load(x float64) float64 {
	s := &d.segments[d.segmentAt(x, 1)]
	return s.c + float64(s.k*x)
}

// Check reports every mistake in the machine, each as a Mistake.
func (m *Machine) Check() error {
	var bad mistakes
	bad.positive(m.Travel, "Travel")
	bad.notNegative(m.Radius, "Radius")
	bad.positive(m.Gear, "Gear")
	bad.notNegative(m.Inertia, "Inertia")
	bad.notNegative(m.Friction.Coulomb, "Friction.Coulomb")
	bad.notNegative(m.Friction.Viscous, "Friction.Viscous")
	bad.notNegative(m.Friction.Static, "Friction.Static")
	bad.unless(m.Friction.Static >= m.Friction.Coulomb, "Friction.Static", "%v must not be below Coulomb, %v", m.Friction.Static, m.Friction.Coulomb)
	bad.positive(m.Motor.Resistance, "Motor.Resistance")
	bad.positive(m.Motor.Inductance, "Motor.Inductance")
	bad.positive(m.Motor.Constant, "Motor.Constant")
	bad.positive(m.Motor.Inertia, "Motor.Inertia")
	bad.notNegative(m.Motor.Viscous, "Motor.Viscous")
	bad.notNegative(m.Motor.PerCelsius, "Motor.PerCelsius")
	bad.positive(m.Battery.Volts, "Battery.Volts")
	bad.notNegative(m.Battery.Ohms, "Battery.Ohms")
	bad.unless(math.Abs(m.Battery.VoltsPerCelsius) <= mostFigure, "Battery.VoltsPerCelsius", "%v must be a number", m.Battery.VoltsPerCelsius)
	bad.unless(math.Abs(m.Battery.OhmsPerCelsius) <= mostFigure, "Battery.OhmsPerCelsius", "%v must be a number", m.Battery.OhmsPerCelsius)
	bad.notNegative(m.Cable, "Cable")
	bad.unless(m.Celsius >= -60 && m.Celsius <= 100, "Celsius", "%v must be from -60 to 100 °C", m.Celsius)
	if volts, _ := m.Battery.At(m.Celsius); m.Battery.Volts > 0 && volts <= 0 {
		bad.unless(false, "Battery.VoltsPerCelsius", "no voltage is left at %v °C", m.Celsius)
	}
	if m.Motor.Resistance > 0 && m.Motor.At(m.Celsius) <= 0 {
		bad.unless(false, "Motor.PerCelsius", "no resistance is left at %v °C", m.Celsius)
	}
	last := -1.0
	for i, p := range m.Load {
		field := fmt.Sprintf("Load[%d]", i)
		bad.unless(p.Position >= 0 && p.Position <= 1, field+".Position", "%v must be from 0 (closed) to 1 (open)", p.Position)
		bad.unless(p.Position-last >= leastSegment, field+".Position", "%v must be above the one before, %v, by at least %v", p.Position, last, leastSegment)
		bad.unless(math.Abs(p.Torque) <= mostFigure, field+".Torque", "%v must be a number", p.Torque)
		last = p.Position
	}
	return errors.Join(bad...)
}

const (
	leastFigure  = 1e-12
	mostFigure   = 1e9
	leastSegment = 1e-6 // in travels
)

func (m *mistakes) positive(x float64, field string) {
	m.unless(x >= leastFigure && x <= mostFigure, field, "%v must be above zero, from %v to %v", x, leastFigure, mostFigure)
}

func (m *mistakes) notNegative(x float64, field string) {
	m.unless(x >= 0 && x <= mostFigure, field, "%v must not be negative, and at most %v", x, mostFigure)
}
