package main

import (
	"fmt"
	"time"

	"pintle/drivers/virtual"
	"pintle/rig"
	"pintle/rig/motion"
	"pintle/scenarios"
)

// rigJob gives the conductor what a job folder says.
func rigJob(job *scenarios.Job) *rig.Job {
	b, battery := &job.Bench, batteryOf(job)
	return &rig.Job{
		Sag: battery.Sagging / battery.OpenCircuit, Dip: battery.Dipped / battery.OpenCircuit,
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
	m := &job.Bench.Meter
	config := virtual.DefaultConfig()
	config.Name = "virtual bench"
	config.Lines = job.Lines()
	config.Battery = batteryOf(job)
	config.Motor = motorOf(job, config.Battery)
	spread := (m.Most.Value - m.Least.Value) / 2
	config.Meter = virtual.MeterConfig{Interval: m.Interval.Value, Window: m.Window.Value,
		Latency: m.Least.Value + spread, Spread: spread - spread/8, Jitter: spread / 8,
		Noise: m.Noise.Value, Resolution: m.Resolution.Value, Range: m.Range.Value}
	config.Controller = controllerModel(job)
	return config
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
