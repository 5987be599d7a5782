package main

import (
	"time"

	"pintle/drivers/virtual"
	"pintle/rig/gate"
	"pintle/rig/signal"
	"pintle/scenarios"
	"pintle/scenarios/quantity"
)

func batteryOf(job *scenarios.Job) virtual.BatteryConfig {
	v, volts, ohms := &job.Bench.Virtual.Battery, 0.0, 0.0
	if m := job.Gate.Spec.Machine; m != nil {
		volts, ohms = m.Battery.At(m.Celsius)
		ohms += m.Cable
	}
	b := virtual.BatteryConfig{Resistance: pick(v.Resistance, ohms)}.At(pick(v.Voltage, volts))
	if m := job.Gate.Spec.Machine; m != nil {
		b.VoltsPerCelsius, b.OhmsPerCelsius = m.Battery.VoltsPerCelsius, m.Battery.OhmsPerCelsius
	}
	if v.Sagging.Given() {
		b.Sagging = v.Sagging.Value
	}
	if v.Dipped.Given() {
		b.Dipped = v.Dipped.Value
	}
	return b
}

// pick gives what bench.yaml says; where it says nothing, what is known of the
// gate's machine; where that is nothing, what bench.yaml has as its default.
func pick(said quantity.Measure, known float64) float64 {
	if said.Given() || known == 0 {
		return said.Value
	}
	return known
}

// motorOf works out what gate.yaml and bench.yaml leave open: the winding's
// resistance from the stall current, the loads from the running currents. The
// motor on the bench is the gate's own, where the gate is given as a machine, with
// all that the gate weighs on its shaft.
func motorOf(job *scenarios.Job, b virtual.BatteryConfig) virtual.MotorConfig {
	v, g := &job.Bench.Virtual.Motor, &job.Gate.Spec
	var own gate.Motor
	if g.Machine != nil {
		own = g.Machine.Motor
		own.Inertia = g.Machine.InertiaAtMotor()
		own.PerCelsius = g.Machine.Motor.PerCelsius
	}
	m := virtual.MotorConfig{Resistance: v.Resistance.Value, Inductance: pick(v.Inductance, own.Inductance),
		Constant: pick(v.Constant, own.Constant), Inertia: pick(v.Inertia, own.Inertia), Viscous: pick(v.Friction, own.Viscous),
		PerCelsius: own.PerCelsius, Drag: v.Drag.Value, ShortResistance: v.Short.Value}
	if !v.Resistance.Given() {
		m.Resistance = max(0.01, b.OpenCircuit/mostDrawn(job).Amperes()-b.Resistance)
	}
	m = m.Loaded(b, g.OpeningCurrent, g.ClosingCurrent)
	if v.OpeningLoad.Given() {
		m.OpeningLoad = v.OpeningLoad.Value
	}
	if v.ClosingLoad.Given() {
		m.ClosingLoad = v.ClosingLoad.Value
	}
	if !v.Short.Given() {
		reads := job.Controller.Value("short-circuit current").Current() / 100 * 107
		m = m.Shorted(b, reads, g.OpeningCurrent)
	}
	return m
}

// mostDrawn is the most that the motor can draw, which is what it draws when it is
// held.
func mostDrawn(job *scenarios.Job) signal.Current {
	if really, given := reallyIs(job, "most current"); given {
		return really.Current()
	}
	return job.Gate.Spec.StallCurrent
}

// reallyIs is what bench.yaml says that a figure of the simulated controller
// really is, where it says so.
func reallyIs(job *scenarios.Job, claim string) (v quantity.Value, given bool) {
	for _, f := range job.Bench.Virtual.Controller.Figures {
		if f.Name == claim {
			return f.Value, true
		}
	}
	return v, false
}

// A modelling works out the simulated controller from its figures. Each claim
// counts from an edge at the bench to the motor, so the figure is divided among
// what lies between: until the input is believed, until the loop gets there, until
// the bridge switches.
type modelling struct {
	job  *scenarios.Job
	v    *scenarios.VirtualController
	c    virtual.ControllerConfig
	look time.Duration // by which a look can come after what it looks for
}

// controllerModel gives the simulated controller its own figures: those of its
// claims, with the room to spare that the bench file gives it.
func controllerModel(job *scenarios.Job) virtual.ControllerConfig {
	m := modelling{job: job, v: &job.Bench.Virtual.Controller, c: virtual.DefaultConfig().Controller}
	m.c.Loop = m.v.Loop.Value
	m.c.LoopJitter = min(m.c.LoopJitter, m.c.Loop/10)
	m.look = m.c.Loop + m.c.LoopJitter
	m.inputs()
	m.stops()
	m.times()
	m.currents()
	m.logic()
	m.c.Defects = nil
	for _, d := range job.Controller.Defects {
		m.c.Defects = append(m.c.Defects, d.Text)
	}
	return m.c
}

func (m *modelling) figure(name string) time.Duration { return m.job.Figure(name).Duration() }

func (m *modelling) really(name string) bool {
	_, given := reallyIs(m.job, name)
	return given
}

// claimed says that a claim is made at all: what it promises may be left out.
func (m *modelling) claimed(name string) bool {
	_, claimed := m.job.Controller.Claim(name)
	return claimed || m.really(name)
}

// obeying is the longest debounce that a change of this length always outlasts.
func (m *modelling) obeying(length time.Duration) time.Duration {
	return max(0, ((length-m.c.LoopJitter)/m.c.Loop-1)*m.c.Loop)
}

// believed is by when a change that is debounced for so long has been believed.
func (m *modelling) believed(debounce time.Duration) time.Duration {
	debounce = max(debounce, m.c.GlitchTime)
	return (debounce+m.c.Loop-1)/m.c.Loop*m.c.Loop + m.look
}

// inputs divides what is to be ignored from what is to be obeyed. Where the bench
// file says what one of two figures really is, the debounce is that figure;
// otherwise it keeps off both.
func (m *modelling) inputs() {
	m.c.GlitchTime = m.figure("ignored glitch")
	if !m.really("ignored glitch") {
		m.c.GlitchTime += m.c.LoopJitter
	}
	ignored, obeyed := m.figure("ignored press")+m.c.LoopJitter, m.obeying(m.figure("shortest press"))
	switch {
	case m.really("shortest press") && !m.really("ignored press"):
		m.c.RemoteDebounce = obeyed
	case m.really("ignored press") && !m.really("shortest press"):
		m.c.RemoteDebounce = ignored
	default:
		m.c.RemoteDebounce = max(ignored, min(obeyed, (ignored+obeyed)/2))
	}
	pulse := m.obeying(m.figure("shortest limit pulse"))
	switch {
	case m.really("shortest limit pulse"):
		m.c.LimitDebounce = pulse
	case m.really("ignored glitch"):
		m.c.LimitDebounce = m.c.GlitchTime
	default:
		m.c.LimitDebounce = min(pulse, m.figure("stop after limit")/2, 20*time.Millisecond)
	}
}

// stops divides the times to a stop between seeing its cause and opening the
// bridge. What is common to all stops is small beside each.
func (m *modelling) stops() {
	limit, press, beam := m.figure("stop after limit"), m.figure("stop after press"), m.figure("stop after beam")
	m.c.StopDelay = min(5*time.Millisecond, limit/8, press/8, beam/8, m.figure("stall time")/8, m.figure("short-circuit time")/8)
	rest := func(total, debounce time.Duration) time.Duration {
		return max(0, total-m.believed(debounce)-m.c.StopDelay)
	}
	m.c.LimitLag = rest(limit, m.c.LimitDebounce)
	m.c.PressLag = rest(press, m.c.RemoteDebounce)
	m.c.BeamLag = rest(beam, 0)
	m.c.BeamReversal = max(0, m.figure("reversal after beam")-beam)
}

func (m *modelling) times() {
	m.c.StartDelay = max(0, m.figure("start delay")-m.believed(m.c.RemoteDebounce))
	m.c.DeadTime = m.figure("dead time")
	m.c.RunTime = max(time.Millisecond, m.decided("run-time cut-out"))
	// A press that is believed as the quiet time ends moves the motor a start delay
	// later.
	m.c.PowerUpQuiet = max(0, m.figure("power-up quiet")-m.c.StartDelay)
}

// decided is what is left of a time for what a look must have seen all the while.
func (m *modelling) decided(name string) time.Duration {
	return max(0, m.figure(name)-m.look-m.c.StopDelay)
}

func (m *modelling) currents() {
	m.c.StallCurrent = m.job.Figure("stall current").Current()
	m.c.StallTime = m.decided("stall time")
	m.c.InrushMask = min(m.c.InrushMask, m.c.StallTime)
	m.c.StallReversal = 0
	if name := "reversal after stall"; m.claimed(name) {
		m.c.StallReversal = max(1, m.figure(name)-m.figure("stall time"))
	}
	m.c.OpenTime = m.decided("open-circuit time")
	m.c.ShortTime = m.decided("short-circuit time")
	m.c.ShortCurrent = m.shortCurrent()
}

// shortCurrent keeps clear of the stalled motor's current, unless the bench file
// says what it really is.
func (m *modelling) shortCurrent() signal.Current {
	const name = "short-circuit current"
	own := m.job.Figure(name).Current()
	if m.really(name) {
		return own
	}
	stalled := mostDrawn(m.job)
	return min(m.job.Controller.Value(name).Current(), max(own, stalled+stalled/20))
}

func (m *modelling) logic() {
	m.c.HoldUp = m.v.HoldUp.Value
	m.c.BrownOut = m.v.BrownOut.Value
	if !m.v.BrownOut.Given() {
		m.c.BrownOut = m.job.Bench.Virtual.Battery.Voltage.Value * 0.35
	}
}
