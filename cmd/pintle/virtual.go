package main

import (
	"fmt"

	"pintle/drivers/virtual"
	"pintle/rig"
	"pintle/scenarios"
)

// virtualName tells apart what keeps real time for its meter's sake.
func virtualName(job *scenarios.Job) string {
	if realMeter(job) {
		return "simulated lines in real time, serial meter"
	}
	return "virtual bench"
}

// virtualConfig gives the virtual bench what a job folder says.
func virtualConfig(job *scenarios.Job) virtual.Config {
	m := &job.Bench.Meter
	config := virtual.DefaultConfig()
	config.Name = virtualName(job)
	config.Lines = job.Lines()
	config.Battery = batteryOf(job)
	config.Motor = motorOf(job, config.Battery)
	spread := (m.Latest() - m.Least.Value) / 2
	config.Meter = virtual.MeterConfig{Interval: m.Interval.Value, Window: m.Window.Value,
		Latency: m.Least.Value + spread, Spread: spread - spread/8, Jitter: spread / 8,
		Noise: m.Noise.Value, Resolution: m.Resolution.Value, Range: m.Range.Value}
	config.Controller = controllerModel(job)
	return config
}

// unmade says where the figures stand that no virtual bench can be made of.
func unmade(err error) error {
	return fmt.Errorf("the virtual bench cannot be made from this job: %w\n  look at: motor, battery and currents in gate.yaml, and what stands under virtual in bench.yaml", err)
}

// virtualOpener gives the way to open a bench whose lines are simulated.
func virtualOpener(job *scenarios.Job) (openBench, int, error) {
	config := virtualConfig(job)
	if err := config.Check(); err != nil {
		return nil, 0, usage(unmade(err))
	}
	if realMeter(job) {
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
