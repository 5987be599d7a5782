package derive_test

import (
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/derive"
	"pintle/scenarios"
	"pintle/scenarios/quantity"
)

// A proposal that nobody can look up by the claim's name would never warn.
func TestProposalsAreOfWellKnownClaims(t *testing.T) {
	for _, g := range []derive.Given{boatyard(), awkward(), {}} {
		for _, p := range derive.Derive(g) {
			if p.Claim == derive.Debounce {
				require.NotEmpty(t, p.Sensor)
				continue
			}
			k, ok := scenarios.KnownClaimNamed(p.Claim)
			require.True(t, ok, p.Claim)
			unit := map[derive.Unit]quantity.Dimension{derive.Nanoseconds: quantity.Time, derive.Microamperes: quantity.Current}[p.Unit]
			require.Equal(t, unit, k.Of, p.Claim)
		}
	}
}

func TestASturdierBridgeNeverStandsLess(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := boatyard()
		g.Motor = derive.Rating{}
		g.Bridge = rating(t, "bridge")
		before := derive.Derive(g)
		if g.Bridge.Stands > 0 {
			g.Bridge.Stands += duration(t, "longer by", 1, 30e9)
		}
		after := derive.Derive(g)
		for _, claim := range []string{"run-time cut-out", "stall time", "short-circuit time"} {
			a, _ := derive.Find(before, claim)
			b, _ := derive.Find(after, claim)
			require.Equal(t, a.Low, b.Low)
			if a.High == nil {
				require.Nil(t, b.High)
				continue
			}
			require.GreaterOrEqual(t, *b.High, *a.High, claim)
		}
	})
}

func TestASlowerGateNeedsNoShorterCutOut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := gates.Draw(t, "gate")
		before, ok := derive.Find(derive.Derive(g), "run-time cut-out")
		if !ok || before.Low == nil {
			return
		}
		for _, d := range []*derive.Direction{&g.Opening, &g.Closing} {
			if d.Slowest > 0 {
				d.Slowest += duration(t, "slower by", 1, 30e9)
			}
		}
		after, _ := derive.Find(derive.Derive(g), "run-time cut-out")
		require.GreaterOrEqual(t, *after.Low, *before.Low)
		require.Equal(t, before.High, after.High)
	})
}
