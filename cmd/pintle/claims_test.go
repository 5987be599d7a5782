package main

import (
	"context"
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

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
	if claim == "stall current" { // the weakest stall that must count is nearer to its claim than 70 % of the supply makes it
		sags := &job.Bench.Virtual.Battery.Sagging
		sags.Source, sags.Value = own.Loop.Source, 15.8 // volts, as if it stood in the file
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
