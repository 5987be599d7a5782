package main

import (
	"bytes"
	"context"
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig"
	"pintle/rig/wording"
	"pintle/scenarios"
)

// What check expects is what a run then takes, of other seeds and on other days.
func TestTheExpectedTimeIsTrue(t *testing.T) {
	if testing.Short() {
		t.Skip("takes some 5 s; run without -short")
	}
	job, err := scenarios.Demo(equipment())
	require.NoError(t, err)
	expected, longest, err := expectedTime(t.Context(), job, job.Applicable())
	require.NoError(t, err)
	var told bytes.Buffer
	a := &app{out: &told, err: os.Stderr}
	require.NoError(t, a.duration(t.Context(), job, job.Applicable()))
	assert.Contains(t, told.String(), "takes about "+wording.Time(expected.Round(time.Second))+" of bench time")
	assert.Contains(t, told.String(), " "+wording.Time((longest-expected).Round(time.Second))+" less than if each wait")
	assert.Less(t, 1.5*expected.Seconds(), longest.Seconds(), "no time worth speaking of is saved")

	assert.InEpsilon(t, 3*expected.Seconds(), benchTime(t, job, 3, 77).Seconds(), 0.02)
}

// benchTime is that of all trials of a run.
func benchTime(t *testing.T, job *scenarios.Job, trials int, seed uint64) (took time.Duration) {
	conducted, err := rigJob(job)
	require.NoError(t, err)
	open, _, err := virtualOpener(job)
	require.NoError(t, err)
	plan := rig.Plan{Job: conducted, Trials: trials, Seed: seed, Workers: 1, Brief: true, Day: days(job, seed, false), Open: open,
		Sink: func(o *rig.Outcome) error {
			took += o.Took
			return nil
		}}
	for _, s := range job.Applicable() {
		plan.Scenarios = append(plan.Scenarios, s.Scenario)
	}
	require.NoError(t, rig.Run(t.Context(), plan))
	return took
}

// A step that has not come takes as long as it may, and so does the end; by hand, of the
// ordinary cycle: 1.5 s to wake, twice 0.5 s to start, 15 s to arrive and 2 s of standing,
// and 15 s for its longest rule.
func TestTheLongestTrial(t *testing.T) {
	job, err := scenarios.Demo(equipment())
	require.NoError(t, err)
	for _, s := range job.Applicable() {
		if s.Name == "normal-cycle" {
			assert.Equal(t, 1500*time.Millisecond+2*(500*time.Millisecond+17*time.Second)+15*time.Second, longestTrial(job, &s.Scenario))
			return
		}
	}
	t.Fatal("there is no normal-cycle")
}

// On a bench with a real controller the rest before each trial counts as well.
func TestTheExpectedTimeHasTheRest(t *testing.T) {
	job, err := scenarios.Demo(equipment())
	require.NoError(t, err)
	one := job.Applicable()[1:2]
	without, _, err := expectedTime(context.Background(), job, one)
	require.NoError(t, err)
	job.Bench.Kind.Text = "pi"
	with, _, err := expectedTime(context.Background(), job, one)
	require.NoError(t, err)
	assert.InDelta(t, 0.5, (with - without).Seconds(), 0.01)
}
