package virtual

import (
	"errors"
	"fmt"
	"time"

	"pintle/rig/signal"
)

// A checker collects mistakes, each with the name of its field.
type checker struct{ mistakes []error }

func (c *checker) need(ok bool, field, format string, args ...any) {
	if !ok {
		c.mistakes = append(c.mistakes, fmt.Errorf("virtual bench: %s: %s", field, fmt.Sprintf(format, args...)))
	}
}

// within asks for low <= v <= high, which no not-a-number meets.
func (c *checker) within(field string, v, low, high float64, unit string) {
	c.need(v >= low && v <= high, field, "%g %s is not between %g and %g %s", v, unit, low, high, unit)
}

// load asks for a torque against the motor, which is worked out of its current.
func (c *checker) load(field string, torque float64) {
	c.need(!(torque < 0), field, "%.3g N·m would push the motor: the current that it is to draw is less than its own friction takes", torque)
	c.within(field, max(torque, 0), 0, 1e5, "N·m")
}

func (c *checker) lasts(field string, d, low, high time.Duration) {
	c.need(d >= low && d <= high, field, "%v is not between %v and %v", d, low, high)
}

func (c *checker) current(field string, v, low, high signal.Current) {
	c.need(v >= low && v <= high, field, "%v is not between %v and %v", v, low, high)
}

// Check reports all mistakes at once, each naming its field.
func (c Config) Check() error {
	var k checker
	k.need(c.Lines.Has(signal.Supply), "Lines", "the line supply is missing: a bench must be able to take the supply off")
	known := signal.LineSet(1<<signal.LineCount - 2)
	k.need(c.Lines&^known == 0, "Lines", "the set %#x has bits that are no line", uint32(c.Lines))
	c.Motor.check(&k, c.Battery)
	if c.Lines.Has(signal.MotorShort) {
		k.within("Motor.ShortResistance", c.Motor.ShortResistance, 1e-3, 1e6, "ohm")
	}
	c.Battery.check(&k, c.Lines)
	c.Meter.check(&k)
	c.Controller.check(&k)
	k.need(c.Controller.BrownOut <= c.Battery.OpenCircuit, "Controller.BrownOut",
		"%g V is above Battery.OpenCircuit, %g V", c.Controller.BrownOut, c.Battery.OpenCircuit)
	return errors.Join(k.mistakes...)
}

func (m MotorConfig) check(k *checker, b BatteryConfig) {
	k.within("Motor.Resistance", m.Resistance, 0, 1e4, "ohm")
	k.need(m.Resistance+b.Resistance > 0, "Motor.Resistance", "motor and battery have no resistance between them")
	k.within("Motor.Inductance", m.Inductance, 1e-7, 1e3, "H")
	k.within("Motor.Constant", m.Constant, 1e-5, 1e3, "N·m/A")
	k.within("Motor.Inertia", m.Inertia, 1e-9, 1e4, "kg·m²")
	k.within("Motor.Viscous", m.Viscous, 0, 1e4, "N·m·s/rad")
	k.load("Motor.OpeningLoad", m.OpeningLoad)
	k.load("Motor.ClosingLoad", m.ClosingLoad)
	k.within("Motor.Drag", m.Drag, 0, 100, "times the load")
}

func (b BatteryConfig) check(k *checker, lines signal.LineSet) {
	k.within("Battery.OpenCircuit", b.OpenCircuit, 0.1, 1000, "V")
	k.within("Battery.Resistance", b.Resistance, 0, 1e3, "ohm")
	if lines.Has(signal.SupplyDip) {
		k.within("Battery.Dipped", b.Dipped, 0, 1000, "V")
	}
	if lines.Has(signal.SupplySag) {
		k.within("Battery.Sagging", b.Sagging, 0, 1000, "V")
	}
}

func (m MeterConfig) check(k *checker) {
	k.lasts("Meter.Interval", m.Interval, 10*time.Microsecond, 10*time.Second)
	k.need(m.Window >= 0 && m.Window <= m.Interval, "Meter.Window",
		"%v is not between 0s and Meter.Interval, %v", m.Window, m.Interval)
	k.lasts("Meter.Latency", m.Latency, 0, 10*time.Second)
	k.lasts("Meter.Spread", m.Spread, 0, 10*time.Second)
	k.lasts("Meter.Jitter", m.Jitter, 0, 10*time.Second)
	k.need(m.Spread+m.Jitter <= m.Latency, "Meter.Latency",
		"%v is less than Spread and Jitter together, %v: a sample would come before it was measured",
		m.Latency, m.Spread+m.Jitter)
	k.need(m.Interval <= 0 || (m.Latency+m.Spread+m.Jitter)/m.Interval <= 1<<16, "Meter.Latency",
		"%v holds too many intervals of %v", m.Latency, m.Interval)
	k.current("Meter.Resolution", m.Resolution, 1, 1000*signal.Ampere)
	k.current("Meter.Noise", m.Noise, 0, 1000*signal.Ampere)
	k.current("Meter.Range", m.Range, m.Resolution, 1_000_000*signal.Ampere)
}

func (c ControllerConfig) check(k *checker) {
	k.lasts("Controller.Loop", c.Loop, 10*time.Microsecond, 10*time.Second)
	k.need(c.LoopJitter >= 0 && c.LoopJitter < c.Loop, "Controller.LoopJitter",
		"%v is not between 0s and less than Controller.Loop, %v", c.LoopJitter, c.Loop)
	for _, d := range []struct {
		field string
		value time.Duration
	}{
		{"RemoteDebounce", c.RemoteDebounce}, {"LimitDebounce", c.LimitDebounce},
		{"StartDelay", c.StartDelay}, {"StopDelay", c.StopDelay}, {"DeadTime", c.DeadTime},
		{"GlitchTime", c.GlitchTime}, {"LimitLag", c.LimitLag}, {"PressLag", c.PressLag}, {"BeamLag", c.BeamLag},
		{"BeamReversal", c.BeamReversal}, {"StallReversal", c.StallReversal},
		{"ShortTime", c.ShortTime}, {"OpenTime", c.OpenTime}, {"HoldUp", c.HoldUp},
		{"StallTime", c.StallTime}, {"InrushMask", c.InrushMask}, {"PowerUpQuiet", c.PowerUpQuiet},
	} {
		k.lasts("Controller."+d.field, d.value, 0, time.Hour)
	}
	k.lasts("Controller.RunTime", c.RunTime, time.Millisecond, 24*time.Hour)
	k.current("Controller.StallCurrent", c.StallCurrent, 1, 1_000_000*signal.Ampere)
	k.current("Controller.ShortCurrent", c.ShortCurrent, 0, 1_000_000*signal.Ampere)
	k.current("Controller.OpenCurrent", c.OpenCurrent, 0, 1_000_000*signal.Ampere)
	k.within("Controller.BrownOut", c.BrownOut, 0, 1000, "V")
	for i, name := range c.Defects {
		_, ok := defectNamed(name)
		k.need(ok, fmt.Sprintf("Controller.Defects[%d]", i), "there is no defect %q; there are: %s", name, defectNames())
	}
}
