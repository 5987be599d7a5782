package main

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/drivers/virtual"
	"pintle/rig"
	"pintle/rig/rule"
	"pintle/scenarios"
)

// BenchmarkFullSet performs every scenario of the demo 59 times (as many as show
// 95 % with 95 % confidence) on one core, without keeping the traces. Neighbours of a busy
// machine disturb sim-s/s; sim-s/cpu-s, by the processor's time on this process, much less.
func BenchmarkFullSet(b *testing.B) {
	job, err := scenarios.Demo(equipment())
	require.NoError(b, err)
	config := virtualConfig(job)
	conducted, err := rigJob(job)
	require.NoError(b, err)
	var simulated time.Duration
	plan := rig.Plan{Job: conducted, Trials: 59, Seed: 1, Workers: 1,
		Open: func() (rig.Bench, rig.Facts, error) {
			v, err := virtual.New(config, 0)
			if err != nil {
				return nil, rig.Facts{}, err
			}
			return v, v.Facts(), nil
		},
		Sink: func(o *rig.Outcome) error {
			simulated += o.Took
			if o.Verdict != rule.Pass {
				b.Errorf("trial %d of scenario %d: %s", o.Trial, o.Scenario, o.Reason)
			}
			return nil
		}}
	for _, s := range job.Applicable() {
		plan.Scenarios = append(plan.Scenarios, s.Scenario)
	}
	began := processorSeconds(b)
	for b.Loop() {
		require.NoError(b, rig.Run(b.Context(), plan))
	}
	b.ReportMetric(simulated.Seconds()/(processorSeconds(b)-began), "sim-s/cpu-s")
	b.ReportMetric(simulated.Seconds()/b.Elapsed().Seconds(), "sim-s/s")
}
