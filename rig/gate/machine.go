package gate

// A Machine is the mechanism behind a gate's motion: motor, battery, gear, load. A
// Spec that has one moves by its equations and not by the times of its Travels.
//
// The output is what the gear turns: the gate's own shaft, whose way is counted in
// radians, or a wheel that moves a sliding gate, whose way is counted in metres.
// All figures are in SI units.
type Machine struct {
	// Travel is the way from stop to stop: radians of the output shaft where
	// Radius is 0, metres otherwise. Above 0.
	Travel float64
	// Radius is that of the pinion, wheel or drum that moves the gate, in metres.
	// Zero: the gate turns with the output shaft.
	Radius float64
	// Gear is how often the motor turns for one turn of the output shaft. Above 0.
	// Losses in the gear count as Friction.
	Gear float64
	// Inertia is what is moved, without the motor's rotor: kg·m² about the output
	// shaft, or kg where there is a Radius. Not negative.
	Inertia float64
	// Load is what pulls the gate towards its closed stop, in the order of Position:
	// between two points it changes evenly, before the first and after the last it is
	// as there. None: the gate is balanced.
	Load     []LoadPoint
	Friction Friction
	Motor    Motor
	Battery  Battery
	Cable    float64 // resistance of the leads between battery and motor, there and back, in ohms
	Celsius  float64 // temperature of motor and battery, in °C
}

// InertiaAtMotor is all that moves, counted at the motor's shaft, in kg·m².
func (m *Machine) InertiaAtMotor() float64 {
	ratio := m.Gear
	if m.Radius > 0 {
		ratio /= m.Radius
	}
	return m.Motor.Inertia + float64(m.Inertia/(ratio*ratio))
}

// A LoadPoint is the imbalance at one place.
type LoadPoint struct {
	Position float64 // 0 closed to 1 open
	Torque   float64 // towards closed, negative towards open: N·m at the output shaft, or N where there is a Radius
}

// Friction acts against motion, counted at the output: N·m, or N where there is a
// Radius. None is negative.
type Friction struct {
	Static  float64 // what a standing gate must be pushed with before it moves; not below Coulomb
	Coulomb float64 // of the moving gate, at any speed
	Viscous float64 // per speed of the output: N·m·s/rad, or N·s/m
}

// A Motor is a brushed motor with a permanent magnet.
type Motor struct {
	Resistance float64 // of winding and brushes at 25 °C, in ohms; above 0
	Inductance float64 // in henries; above 0
	Constant   float64 // N·m per ampere, the same number in V·s/rad; above 0
	Inertia    float64 // of the rotor, in kg·m²; above 0
	Viscous    float64 // drag of the rotor, in N·m·s/rad; not negative
	PerCelsius float64 // share by which the resistance rises per °C; of copper 0.00393
}

// At is the resistance of the winding at a temperature.
func (m Motor) At(celsius float64) (ohms float64) {
	return m.Resistance * (1 + float64(m.PerCelsius*(celsius-ratedCelsius)))
}

// A Battery is a source of a steady voltage behind a resistance. What is drawn from
// it for the length of a travel does not change it.
type Battery struct {
	Volts           float64 // open-circuit, at 25 °C; above 0
	Ohms            float64 // inside it, at 25 °C; not negative
	VoltsPerCelsius float64 // volts by which the voltage rises per °C above 25 °C; negative where it falls
	OhmsPerCelsius  float64 // ohms by which the resistance rises per °C above 25 °C; of a lead-acid battery negative
}

// ratedCelsius is the temperature at which batteries and motors are rated.
const ratedCelsius = 25

// At gives the battery's open-circuit voltage and its resistance at a temperature.
// Neither is taken below zero.
func (b Battery) At(celsius float64) (volts, ohms float64) {
	above := celsius - ratedCelsius
	return max(b.Volts+float64(b.VoltsPerCelsius*above), 0), max(b.Ohms+float64(b.OhmsPerCelsius*above), 0)
}
