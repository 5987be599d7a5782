package main

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig/derive"
	"pintle/rig/rule"
	"pintle/scenarios"
)

// A controller that is ten percent beyond what it claims is failed, and one that
// is ten percent within passes, whatever the claim. What is beyond depends on the
// claim: a promise of at most something is broken by more, one of at least
// something by less.
func TestTenPercentOfEveryClaim(t *testing.T) {
	if testing.Short() {
		t.Skip("takes some 10 s; run without -short")
	}
	for _, k := range scenarios.KnownClaims {
		t.Run(k.Name, func(t *testing.T) {
			t.Parallel()
			within, beyond := 0.9, 1.1
			if k.Sense == rule.AtLeast {
				within, beyond = beyond, within
			}
			failed, other := verdictsAt(t, k.Name, within)
			assert.Empty(t, failed, "ten percent within its claim")
			assert.Empty(t, other, "ten percent within its claim")
			failed, other = verdictsAt(t, k.Name, beyond)
			assert.NotEmpty(t, failed, "ten percent beyond its claim, and no scenario fails it; but %v", other)
		})
	}
}

// verdictsAt performs every scenario that tests a claim with a controller whose
// own figure is a part of the claimed one.
func verdictsAt(t *testing.T, claim string, part float64) (failed, other []string) {
	job, err := scenarios.Demo(equipment())
	require.NoError(t, err)
	require.NotEmpty(t, job.Controller.Value(claim), "the demo does not claim it")
	own := &job.Bench.Virtual.Controller
	own.Loop.Value = 100 * time.Microsecond // so that its own figure is not drowned in its loop
	own.Figures = append(own.Figures, scenarios.Claim{Name: claim, Value: job.Controller.Value(claim).Times(part)})
	if claim == "stall current" {
		stallNear(job)
	}
	var chosen []scenarios.Scenario
	var which []int
	for _, s := range job.Applicable() {
		for _, c := range s.Claims {
			if c == claim && s.Repeat < 20 {
				which = append(which, len(chosen))
				chosen = append(chosen, s)
			}
		}
	}
	require.NotEmpty(t, chosen, "no scenario tests the claim")
	w, err := newProver(job, chosen, 3, 1)
	require.NoError(t, err)
	cells, err := w.perform(context.Background(), nil, which, nil, 1)
	require.NoError(t, err)
	for i, c := range cells {
		what := fmt.Sprintf("%s: %v: %s", chosen[i].Name, c.Verdict, c.Reason)
		switch c.Verdict {
		case rule.Fail:
			failed = append(failed, what)
		case rule.Pass:
		default:
			other = append(other, what)
		}
	}
	return failed, other
}

// stallNear puts the supply that sags where a stall lies between the claimed current and one
// ten percent beyond it, 17.5 A and 19.25 A: 15.8 V drive 18.4 A.
//
// No built-in scenario tells these two apart, and none honestly could. The claim is sound
// up to what a blocked motor draws at the least, with a warm winding and the battery at its
// lowest, over 1.25 (pintle derive: 22.01 A / 1.25 = 17.6 A). A controller that needs ten
// percent more than a sound claim so still counts every stall that this gate can come to,
// a stall with the battery at its lowest among them; stall-at-70 draws 20.8 A. A supply
// nearer to the claim would be a voltage for one claim of one job, which a scenario cannot
// ask of a bench whose third supply gives 70 %. What is held here is that the rule of
// stall-at-70 tells them apart once the bench has such a supply. See TestThatNoStallIsNear.
func stallNear(job *scenarios.Job) {
	own := &job.Bench.Virtual
	own.Battery.Sagging.Source, own.Battery.Sagging.Value = own.Controller.Loop.Source, 15.8 // volts, as if it stood in the file
}

// Where a stall that the gate can come to lies within ten percent of the claim, a built-in
// scenario is to try the claim there, and stallNear is to go.
func TestThatNoStallIsNear(t *testing.T) {
	job, err := scenarios.Demo(equipment())
	require.NoError(t, err)
	known, proposals, err := derived(job)
	require.NoError(t, err)
	claimed := job.Controller.Value("stall current").Current()
	require.Greater(t, known.StallWarm.Amperes(), 1.1*claimed.Amperes(), "battery at its lowest, warm winding")
	p, ok := derive.Find(proposals, "stall current")
	require.True(t, ok)
	require.Greater(t, known.StallWarm.Amperes(), 1.1e-6*float64(*p.High), "of every claim that is sound")
	m := job.Gate.Spec.Machine
	onSeventy, err := m.Figures(m.Celsius, 0.95) // the machine must run; what a stall draws goes with the voltage
	require.NoError(t, err)
	require.Greater(t, onSeventy.Stall.Amperes()*0.7/0.95, 1.1*claimed.Amperes(), "stall-at-70")
}
