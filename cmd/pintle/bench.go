package main

import (
	"fmt"
	"math"
	"time"

	"pintle/drivers/virtual"
	"pintle/rig"
	"pintle/rig/appraise"
	"pintle/rig/motion"
	"pintle/rig/share"
	"pintle/rig/uncertainty"
	"pintle/scenarios"
)

// rigJob gives the conductor what a job folder says.
func rigJob(job *scenarios.Job) (*rig.Job, error) {
	appraiser, err := appraiserOf(job)
	if err != nil {
		return nil, err
	}
	b, battery := &job.Bench, batteryOf(job)
	return &rig.Job{
		Sag: battery.Sagging / battery.OpenCircuit, Dip: battery.Dipped / battery.OpenCircuit,
		Gate:      job.Gate.Spec,
		Motion:    thresholdsOf(job),
		Guard:     guardOf(job),
		Settle:    b.Settle.Value,
		Rest:      restOf(job),
		Limit:     b.Longest.Value,
		Appraiser: appraiser,
		Meter:     meterFacts(job),
	}, nil
}

// meterFacts are what the bench of a job says of its meter.
func meterFacts(job *scenarios.Job) rig.MeterFacts {
	if job.Bench.Meter.Kind.Text == "serial" {
		return meterConfig(job).Facts()
	}
	return virtualConfig(job).Meter.Facts()
}

func guardOf(job *scenarios.Job) rig.Guard {
	g := &job.Bench.Guard
	return rig.Guard{MostCurrent: g.MostCurrent.Value, LongestDrive: g.LongestDrive.Value, MeterSilence: g.MeterSilence.Value}
}

// appraiserOf says how far what this bench measures can be trusted, and decides by
// it.
func appraiserOf(job *scenarios.Job) (*appraise.Appraiser, error) {
	b, m := &job.Bench, &job.Bench.Meter
	a, err := appraise.New(appraise.Means{
		Interval: m.Interval.Value, Window: m.Window.Value, Least: m.Least.Value, Most: m.Most.Value, Bridge: m.Bridge.Value,
		Swing: b.Motor.Swing.Value,
		Noise: noiseOf(job), Resolution: m.Resolution.Value, Gain: share.Of(m.Gain.Value), Zero: m.Zero.Value,
		Clock: share.Of(b.Clock.Value), Motion: thresholdsOf(job),
	}, decisionOf(job))
	if err != nil {
		return nil, usage(fmt.Errorf("bench.yaml: %w", err))
	}
	return a, nil
}

// decisionRules are the words of the bench file.
var decisionRules = map[string]uncertainty.RuleKind{
	"simple acceptance": uncertainty.SimpleAcceptance, "guarded acceptance": uncertainty.GuardedAcceptance,
	"guarded rejection": uncertainty.GuardedRejection, "four-way": uncertainty.FourWay,
}

func decisionOf(job *scenarios.Job) appraise.Decision {
	d := &job.Bench.Decides
	r := uncertainty.Rule{Kind: decisionRules[d.Rule.Text]}
	if r.Kind != uncertainty.SimpleAcceptance {
		r.GuardPercent = int(math.Round(d.Guard.Value * 100))
	}
	return appraise.Decision{Rule: r, Coverage: d.Coverage.Value}
}

func thresholdsOf(job *scenarios.Job) motion.Thresholds {
	m := &job.Bench.Motor
	return motion.Thresholds{Runs: m.RunsAbove.Value, Stops: m.StopsBelow.Value, Settle: m.Settle.Value}
}

// restOf is how long a real controller is left without supply before a trial. A
// simulated one forgets at once.
func restOf(job *scenarios.Job) time.Duration {
	if job.Bench.Meter.Kind.Text == "serial" || hasPins(job) {
		return 500 * time.Millisecond
	}
	return 0
}

// hasPins says that the bench has real lines.
func hasPins(job *scenarios.Job) bool { return job.Bench.Kind.Text == "pi" }

// virtualConfig gives the virtual bench what a job folder says.
func virtualConfig(job *scenarios.Job) virtual.Config {
	m := &job.Bench.Meter
	config := virtual.DefaultConfig()
	config.Name = "virtual bench"
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

// opener gives the way to open the bench that the job asks for, and how many may
// be open at once.
func opener(job *scenarios.Job) (open func() (rig.Bench, rig.Facts, error), most int, err error) {
	if hasPins(job) {
		return piOpener(job)
	}
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
