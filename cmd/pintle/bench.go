package main

import (
	"fmt"
	"time"

	"pintle/drivers/virtual"
	"pintle/rig"
	"pintle/rig/motion"
	"pintle/scenarios"
	"pintle/scenarios/quantity"
)

// rigJob gives the conductor what a job folder says.
func rigJob(job *scenarios.Job) *rig.Job {
	b := &job.Bench
	return &rig.Job{
		Gate: job.Gate.Spec,
		Motion: motion.Thresholds{Runs: b.Motor.RunsAbove.Value, Stops: b.Motor.StopsBelow.Value,
			Settle: b.Motor.Settle.Value},
		Guard: rig.Guard{MostCurrent: b.Guard.MostCurrent.Value, LongestDrive: b.Guard.LongestDrive.Value,
			MeterSilence: b.Guard.MeterSilence.Value},
		Settle: b.Settle.Value,
		Rest:   restOf(job),
		Limit:  b.Longest.Value,
	}
}

// restOf is how long a real controller is left without supply before a trial. A
// simulated one forgets at once.
func restOf(job *scenarios.Job) time.Duration {
	if job.Bench.Meter.Kind.Text == "serial" {
		return 500 * time.Millisecond
	}
	return 0
}

// virtualConfig gives the virtual bench what a job folder says.
func virtualConfig(job *scenarios.Job) virtual.Config {
	v, m := &job.Bench.Virtual, &job.Bench.Meter
	config := virtual.DefaultConfig()
	config.Name = "virtual bench"
	config.Lines = job.Lines()
	config.Battery = batteryOf(&v.Battery)
	config.Motor = motorOf(job, config.Battery)
	spread := (m.Most.Value - m.Least.Value) / 2
	config.Meter = virtual.MeterConfig{Interval: m.Interval.Value, Window: m.Window.Value,
		Latency: m.Least.Value + spread, Spread: spread - spread/8, Jitter: spread / 8,
		Noise: m.Noise.Value, Resolution: m.Resolution.Value, Range: m.Range.Value}
	config.Controller = controllerModel(job)
	return config
}

func batteryOf(v *scenarios.VirtualBattery) virtual.BatteryConfig {
	b := virtual.BatteryConfig{Resistance: v.Resistance.Value}.At(v.Voltage.Value)
	if v.Sagging.Given() {
		b.Sagging = v.Sagging.Value
	}
	if v.Dipped.Given() {
		b.Dipped = v.Dipped.Value
	}
	return b
}

// motorOf works out what gate.yaml and bench.yaml leave open: the winding's
// resistance from the stall current, the loads from the running currents.
func motorOf(job *scenarios.Job, b virtual.BatteryConfig) virtual.MotorConfig {
	v, g := &job.Bench.Virtual.Motor, &job.Gate.Spec
	m := virtual.MotorConfig{Resistance: v.Resistance.Value, Inductance: v.Inductance.Value,
		Constant: v.Constant.Value, Inertia: v.Inertia.Value, Viscous: v.Friction.Value,
		Drag: v.Drag.Value, ShortResistance: v.Short.Value}
	// The most that the motor can draw is what it draws when it is held.
	most := g.StallCurrent
	if really, given := reallyIs(job, "most current"); given {
		most = really.Current()
	}
	if !v.Resistance.Given() {
		m.Resistance = max(0.01, b.OpenCircuit/most.Amperes()-b.Resistance)
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

// controllerModel gives the simulated controller its own figures: those of its
// claims, with the room to spare that the bench file gives it.
func controllerModel(job *scenarios.Job) virtual.ControllerConfig {
	c := virtual.DefaultConfig().Controller
	figure := func(name string) time.Duration { return job.Figure(name).Duration() }
	c.Loop = job.Bench.Virtual.Controller.Loop.Value
	c.LoopJitter = min(c.LoopJitter, c.Loop/10)
	// A press is seen after the debounce; only then do the delays begin.
	c.RemoteDebounce = debounce(figure("ignored press"), figure("shortest press"), c.Loop)
	c.LimitDebounce = min(figure("stop after limit")/2, 20*time.Millisecond)
	c.StartDelay = max(0, figure("start delay")-c.RemoteDebounce)
	c.StopDelay = max(0, min(figure("stop after limit")-c.LimitDebounce, figure("stop after press")-c.RemoteDebounce))
	c.DeadTime = figure("dead time")
	c.RunTime = figure("run-time cut-out")
	c.StallCurrent = job.Figure("stall current").Current()
	c.InrushMask = min(figure("stall time")/2, c.InrushMask)
	c.StallTime = max(0, figure("stall time")-c.InrushMask)
	c.PowerUpQuiet = figure("power-up quiet")
	c.Defects = nil
	for _, d := range job.Controller.Defects {
		c.Defects = append(c.Defects, d.Text)
	}
	return c
}

// debounce is halfway between the longest press that is to be ignored and the
// shortest that is to be obeyed.
func debounce(ignored, obeyed, loop time.Duration) time.Duration {
	return max(ignored, (ignored+obeyed)/2-loop)
}

// opener gives the way to open the bench that the job asks for, and how many may
// be open at once.
func opener(job *scenarios.Job) (open func() (rig.Bench, rig.Facts, error), most int, err error) {
	config := virtualConfig(job)
	if err := config.Check(); err != nil {
		return nil, 0, usage(fmt.Errorf("the virtual bench cannot be made from this job: %w", err))
	}
	if job.Bench.Meter.Kind.Text == "serial" {
		return serialOpener(job, config)
	}
	return func() (rig.Bench, rig.Facts, error) {
		b, err := virtual.New(config, 0)
		if err != nil {
			return nil, rig.Facts{}, err
		}
		return b, b.Facts(), nil
	}, 1 << 16, nil
}
