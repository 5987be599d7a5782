package virtual

import (
	"time"

	"pintle/rig/signal"
)

// A Config is everything that a virtual bench is made from.
type Config struct {
	Name       string // for reports
	Lines      signal.LineSet
	Motor      MotorConfig
	Battery    BatteryConfig
	Meter      MeterConfig
	Controller ControllerConfig
}

// A MotorConfig describes the motor and the brake that loads it.
type MotorConfig struct {
	Resistance  float64 // of winding, brushes and leads, in ohms
	Inductance  float64 // in henries
	Constant    float64 // torque constant in N·m/A, which is also the voltage constant in V·s/rad
	Inertia     float64 // of rotor and brake, in kg·m²
	Viscous     float64 // drag that grows with the speed, in N·m·s/rad
	OpeningLoad float64 // torque of the brake while opening, in N·m; at standstill the most that it holds
	ClosingLoad float64 // the same while closing
	Drag        float64 // part by which the loads are heavier while drag-load is made: 0.35 is 35 % more

	// PerCelsius is the share by which Resistance rises for each degree.
	PerCelsius float64

	// ShortResistance is across the motor's leads while motor-short is made, in
	// ohms. What flows through it counts as the motor's current, for the meter and
	// for the controller.
	ShortResistance float64
}

// A BatteryConfig describes the supply. Where supply-dip and supply-sag are both
// made, the lower voltage holds.
type BatteryConfig struct {
	OpenCircuit float64 // in volts
	Dipped      float64 // in volts, in place of OpenCircuit while supply-dip is made
	Sagging     float64 // in volts, in place of OpenCircuit while supply-sag is made
	Resistance  float64 // internal, cable included, in ohms

	// VoltsPerCelsius and OhmsPerCelsius are by how much OpenCircuit and Resistance
	// rise for each degree; the other voltages go with the first.
	VoltsPerCelsius float64
	OhmsPerCelsius  float64
}

// A MeterConfig describes the current meter. The phase of its samples is drawn
// from the seed.
type MeterConfig struct {
	Interval   time.Duration  // between one sample and the next
	Window     time.Duration  // averaged over, at most Interval; zero reads a single instant
	Latency    time.Duration  // from the end of the window to the bench, on average
	Spread     time.Duration  // a trial's latency lies anywhere within Latency ± Spread
	Jitter     time.Duration  // and each sample's within that ± Jitter, without overtaking
	Noise      signal.Current // standard deviation of one reading
	Resolution signal.Current // one step of a reading
	Range      signal.Current // readings stop here, either way
}

// A ControllerConfig describes the built-in model of a one-button controller: its
// true behaviour, which is not what its builder claims but must keep to it.
type ControllerConfig struct {
	Loop           time.Duration  // between one look at the inputs and the next; the phase is drawn at each power-up
	LoopJitter     time.Duration  // a look comes later by anything up to this; less than Loop
	RemoteDebounce time.Duration  // the button must read alike for this long
	LimitDebounce  time.Duration  // a limit must read alike for this long
	StartDelay     time.Duration  // from the decision to drive to the bridge
	GlitchTime     time.Duration  // no input is believed sooner than this, and the beam is believed then
	StopDelay      time.Duration  // from the decision to stop to the bridge
	LimitLag       time.Duration  // so much longer at a limit
	PressLag       time.Duration  // so much longer for a press
	BeamLag        time.Duration  // so much longer for the beam
	BeamReversal   time.Duration  // from that stop to the opening drive; the dead time if that is longer
	DeadTime       time.Duration  // least time between driving one way and the other
	RunTime        time.Duration  // longest drive
	StallCurrent   signal.Current // at or above this the motor counts as stalled ...
	StallTime      time.Duration  // ... once it lasts this long
	InrushMask     time.Duration  // no stall counts in this first part of a drive
	StallReversal  time.Duration  // from the stop of a stalled closing motor to the opening drive, or the dead time; zero: it stays
	ShortCurrent   signal.Current // at or above this the motor counts as shorted ...
	ShortTime      time.Duration  // ... once it lasts this long; zero current: never
	OpenCurrent    signal.Current // below this the motor's lead counts as parted ...
	OpenTime       time.Duration  // ... once it lasts this long; zero: never
	PowerUpQuiet   time.Duration  // presses are ignored for this long after power-up
	BrownOut       float64        // in volts: the logic resets below this ...
	HoldUp         time.Duration  // ... once it lasts this long
	Defects        []string       // names out of Defects()
}

// DefaultConfig is a sound controller on a 24 V motor that takes 7.5 A closing,
// 11 A opening, near 30 A stalled, with a meter that reads a thousand times a
// second.
func DefaultConfig() Config {
	battery := BatteryConfig{Resistance: 0.06}.At(25.6)
	motor := MotorConfig{Resistance: 0.8, Inductance: 1.2e-3, Constant: 0.08, Inertia: 6e-4, Viscous: 1e-4,
		Drag: 0.35, ShortResistance: 0.675}
	return Config{
		Name: "virtual bench",
		Lines: signal.SetOf(signal.Remote, signal.OpenLimit, signal.ClosedLimit, signal.Beam,
			signal.Supply, signal.StallLoad),
		Motor:   motor.Loaded(battery, 11*signal.Ampere, 7_500_000),
		Battery: battery,
		Meter: MeterConfig{
			Interval: time.Millisecond, Window: time.Millisecond,
			Latency: 3 * time.Millisecond, Spread: 500 * time.Microsecond, Jitter: 100 * time.Microsecond,
			Noise: 20_000, Resolution: 10_000, Range: 60 * signal.Ampere,
		},
		Controller: ControllerConfig{
			Loop: 10 * time.Millisecond, LoopJitter: 200 * time.Microsecond,
			RemoteDebounce: 30 * time.Millisecond, LimitDebounce: 20 * time.Millisecond,
			StartDelay: 50 * time.Millisecond, StopDelay: 15 * time.Millisecond,
			DeadTime: 500 * time.Millisecond, RunTime: 14 * time.Second,
			StallCurrent: 18 * signal.Ampere, StallTime: 200 * time.Millisecond,
			InrushMask: 400 * time.Millisecond, PowerUpQuiet: time.Second,
			GlitchTime: time.Millisecond, ShortCurrent: 42 * signal.Ampere, ShortTime: 30 * time.Millisecond,
			OpenCurrent: signal.Ampere / 2, OpenTime: time.Second,
			BrownOut: 9, HoldUp: 20 * time.Millisecond,
		},
	}
}

// At gives the battery that voltage, and 70 % of it sagging and 40 % dipped: the
// test levels of IEC 61000-4-11, as IEC 60601-1-2 uses them.
func (b BatteryConfig) At(volts float64) BatteryConfig {
	b.OpenCircuit, b.Sagging, b.Dipped = volts, float64(volts*0.7), float64(volts*0.4)
	return b
}

// Shorted gives the motor with the resistor across its leads that makes the meter
// read a current while the motor draws another, on that battery. There is none
// where that current would not be the larger one.
func (m MotorConfig) Shorted(b BatteryConfig, reads, draws signal.Current) MotorConfig {
	both := (b.OpenCircuit - float64(b.Resistance*draws.Amperes())) / (reads - draws).Amperes()
	m.ShortResistance = both - b.Resistance
	return m
}

// Loaded gives the motor with the loads under which, on that battery, it takes
// these currents in steady running each way, drag included.
func (m MotorConfig) Loaded(b BatteryConfig, opening, closing signal.Current) MotorConfig {
	m.OpeningLoad = m.loadFor(b, opening)
	m.ClosingLoad = m.loadFor(b, closing)
	return m
}

// loadFor solves both steady equations for T: K w = V - R i and T = K i - b w.
func (m MotorConfig) loadFor(b BatteryConfig, c signal.Current) float64 {
	i := c.Abs().Amperes()
	w := (b.OpenCircuit - float64((m.Resistance+b.Resistance)*i)) / m.Constant
	return float64(m.Constant*i) - float64(m.Viscous*w)
}
