package derive_test

import (
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/rig/derive"
)

func TestJudgeAtTheBounds(t *testing.T) {
	for _, p := range derive.Derive(boatyard()) {
		require.Empty(t, p.Conflict, p.Name())
		for _, c := range []struct {
			bound *int64
			out   int64
			word  string
		}{{p.Low, -1, "below"}, {p.High, +1, "above"}} {
			if c.bound == nil {
				continue
			}
			ok, why := p.Judge(*c.bound)
			require.True(t, ok, why)
			ok, why = p.Judge(*c.bound - c.out)
			require.True(t, ok, why)
			ok, why = p.Judge(*c.bound + c.out)
			require.False(t, ok, "%s one tick outside %s", p.Name(), p.Range())
			require.Contains(t, why, c.word)
			require.Contains(t, why, p.Name())
		}
	}
}

func TestNothingKnownIsNoPass(t *testing.T) {
	require.Empty(t, derive.Proposal{}.Conflict)
	ok, why := derive.Proposal{Claim: "dead time", Unit: derive.Nanoseconds}.Judge(1)
	require.False(t, ok)
	require.Contains(t, why, "nothing was worked out")
}

// magnet is a boatyard whose closed sensor has a magnet of so many metres at 1 m/s,
// read every 2 ms.
func magnet(arc float64) derive.Given {
	g := boatyard()
	g.Loop = 2 * ms
	s := &g.Sensors[1]
	s.Kind, s.Contactless, s.Bounce, s.Arc, s.RimSpeed = "reed", false, 8*ms, arc, 1
	return g
}

// 8 ms of bounce and a quarter is 10 ms; with a look of 2 ms and a quarter more the
// pulse must last 15 ms, which at 1 m/s is 15 mm.
func TestConflictOfAMagnetTooNarrow(t *testing.T) {
	p := find(t, magnet(0.015), "debounce of closed Hall")
	require.Empty(t, p.Conflict)
	require.Equal(t, *p.Low, *p.High)
	require.Equal(t, *p.Low, p.Proposed, "the one sound value")

	p = find(t, magnet(0.01499), "debounce of closed Hall")
	require.Equal(t, "it would have to be at least 10 ms for its bounce, yet at most 9.992 ms for the shortest pulse", p.Conflict)
	ok, why := p.Judge(int64(10 * ms))
	require.False(t, ok)
	require.Contains(t, why, "no value is sound")
	var texts []string
	for _, r := range p.Remedies {
		texts = append(texts, r.Text)
	}
	require.Equal(t, []string{
		"a magnet at least 16 mm wide",
		"a wheel no faster than 0.99 m/s at the rim",
		"a switch that bounces for no longer than 7.9 ms",
		"a controller that looks at its inputs at least every 1.9 ms",
	}, texts)
}

func TestConflictOfABridgeTooSmall(t *testing.T) {
	g := boatyard()
	g.Bridge = derive.Rating{Continuous: 15 * amp, Short: 40 * amp, Stands: 2 * time.Second}
	p := find(t, g, "run-time cut-out")
	require.Contains(t, p.Conflict, "the bridge's heating")
	require.True(t, strings.HasPrefix(p.Remedies[0].Text, "a bridge that stands 30 A for at least 1"), p.Remedies[0].Text)
	for _, r := range p.Remedies {
		if mended, changed := r.Applied(g); changed {
			require.Empty(t, find(t, mended, "run-time cut-out").Conflict, r.Text)
		}
	}
	require.Equal(t, boatyard().Sensors, g.Sensors, "a remedy is tried on a copy")
}

func TestConflictOfAHeavyGate(t *testing.T) {
	g := boatyard()
	g.Opening.Running = 14_300_000
	p := find(t, g, "stall current")
	require.Contains(t, p.Conflict, "at least 17.88 A for the running current, yet at most 17.8 A for the weakest stall")
	g.Opening.Running = 14_240_000 // × 1.25 = 17.8 A
	require.Empty(t, find(t, g, "stall current").Conflict)
}

func TestCheckNamesEveryMistake(t *testing.T) {
	require.NoError(t, derive.Given{}.Check())
	g := boatyard()
	g.Opening.Slowest = time.Second
	g.Duty = 1.5
	g.StallWarm = 31 * amp
	g.Bridge.Short = g.Bridge.Continuous
	g.Sensors[1].Name = g.Sensors[0].Name
	g.Sensors[1].Kind = ""
	g.Sensors[0].Arc = -1
	err := g.Check()
	for _, field := range []string{"Opening.Slowest", "Duty", "StallWarm", "Bridge:", "Sensors[0].Arc", "Sensors[1].Name", "Sensors[1].Kind"} {
		require.ErrorContains(t, err, field)
	}
	require.Len(t, strings.Split(err.Error(), "\n"), 7)
}

func TestDeriveOfNothing(t *testing.T) {
	for _, p := range derive.Derive(derive.Given{}) {
		require.Empty(t, p.Conflict, p.Name())
		if p.Claim != "reversal after stall" && p.Claim != "ignored glitch" {
			require.NotEmpty(t, p.Missing, p.Name())
		}
	}
}
