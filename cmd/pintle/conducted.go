package main

import (
	"fmt"
	"math"
	"time"

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
	if realMeter(job) {
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
	noise, zero := offOf(job)
	a, err := appraise.New(appraise.Means{
		Interval: m.Interval.Value, Window: m.Window.Value, Least: m.Least.Value, Most: m.Most.Value, Bridge: m.Bridge.Value,
		Swing: b.Motor.Swing.Value,
		Noise: noise, Resolution: m.Resolution.Value, Gain: share.Of(m.Gain.Value), Zero: zero,
		Clock: share.Of(b.Clock.Value), Motion: thresholdsOf(job),
	}, decisionOf(job))
	if err != nil {
		return nil, usage(fmt.Errorf("bench.yaml: %w", err))
	}
	return a, nil
}

func decisionOf(job *scenarios.Job) appraise.Decision {
	d := &job.Bench.Decides
	r := uncertainty.Rule{Kind: d.Kind()}
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
	if anyPace(job) {
		return 0
	}
	return 500 * time.Millisecond
}
