package derive_test

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/rig/derive"
	"pintle/rig/signal"
)

func find(t *testing.T, g derive.Given, claim string) derive.Proposal {
	t.Helper()
	require.NoError(t, g.Check())
	p, ok := derive.Find(derive.Derive(g), claim)
	require.True(t, ok, "nothing proposed for %q", claim)
	return p
}

// near holds a bound to a figure worked out by other means, to the last of the four
// digits that the sheet carries.
func near(t *testing.T, want float64, got *int64, unit float64, what string) {
	t.Helper()
	require.NotNil(t, got, what)
	lastDigit := math.Pow(10, math.Floor(math.Log10(want))-3)
	require.InDelta(t, want, float64(*got)*unit, 1.05*lastDigit, what)
}

// IEC 60255-149, t = τ ln((I² − Ip²)/(I² − Ith²)), for a bridge that stands 30 A for
// ever and 80 A for 1 s (that rating: common practice, no source). The times were
// worked out apart from this program, with τ = 1/ln(6400/5500) s = 6.598487 s.
func TestHeatingByTheStandardsFormula(t *testing.T) {
	for _, c := range []struct {
		stall, before, stands float64
	}{
		{35, 15, 7.41624}, {35, 27, 2.78952},
		{40, 15, 4.45483}, {40, 27, 1.44218},
		{50, 15, 2.32251}, {50, 27, 0.67002},
		{60, 15, 1.47241}, {60, 27, 0.40520},
		{80, 15, 0.76385}, {80, 27, 0.20203},
		{100, 15, 0.47215}, {100, 27, 0.12284},
		{200, 15, 0.11294}, {200, 27, 0.02879},
	} {
		g := derive.Given{
			Opening:   derive.Direction{Running: signal.Current(c.before * 1e6)},
			StallCold: signal.Current(c.stall * 1e6),
			Bridge:    derive.Rating{Continuous: 30 * amp, Short: 80 * amp, Stands: time.Second},
		}
		p := find(t, g, "run-time cut-out")
		require.NotNil(t, p.High)
		// The time constant carried with four digits, 6.598 s for 6.598487 s, is a
		// part in ten thousand.
		require.InEpsilon(t, c.stands, float64(*p.High)*1e-9, 6e-4, "%v A from %v A", c.stall, c.before)
	}
}

func TestWhatIsStoodForEverSetsNoLimit(t *testing.T) {
	g := derive.Given{StallCold: 30 * amp, Opening: derive.Direction{Slowest: 12 * time.Second, Running: 15 * amp},
		Bridge: derive.Rating{Continuous: 30 * amp, Short: 80 * amp, Stands: time.Second}}
	p := find(t, g, "run-time cut-out")
	require.Nil(t, p.High)
	g.StallCold += amp / 100
	require.NotEmpty(t, find(t, g, "run-time cut-out").High, "a hundredth of an ampere more is not stood for ever")
}

// A gate that takes just under 10 s is given a cut-out of about 15 s: common
// practice, no source.
func TestCutOutOfAnOrdinaryGate(t *testing.T) {
	g := derive.Given{Opening: derive.Direction{Time: 9 * time.Second, Slowest: 11800 * ms}}
	p := find(t, g, "run-time cut-out")
	require.Equal(t, int64(14750*ms), *p.Low) // 11.8 s × 5/4
	require.Equal(t, int64(15*time.Second), p.Proposed)
	g.Opening.Slowest = 0
	near(t, 9*1.5*1.25, find(t, g, "run-time cut-out").Low, 1e-9, "9 s × 3/2 × 5/4")
}

// Copper: 0.393 % a kelvin at 20 °C, IEC 60028 (figure as restated in the manual of
// a resistance meter, Hioki RM3545, appendix 4: 3930 ppm/°C for international
// standard annealed copper).
func TestWeakestStall(t *testing.T) {
	p := find(t, boatyard(), "stall current")
	near(t, 11*5/4., p.Low, 1e-6, "the heavier running current and a quarter")
	// By hand: 30 A × 11/12 = 27.5 A; 60 K × 0.393 % = 23.58 %; 27.5/1.2358 = 22.2528 A.
	near(t, 22.2528*4/5, p.High, 1e-6, "the weakest stall less a fifth")
	g := boatyard()
	g.StallWarm = 20 * amp
	near(t, 16, find(t, g, "stall current").High, 1e-6, "20 A measured, less a fifth")
	g = boatyard()
	g.WarmRise = 0
	near(t, 27.5/1.3144*0.8, find(t, g, "stall current").High, 1e-6, "80 K by default")
}

// 16 CFR 1211.7: reversal begins within 2 s of contact with an obstruction.
func TestTwoSecondsAreSharedOut(t *testing.T) {
	ps := derive.Derive(boatyard())
	get := func(claim string) derive.Proposal {
		p, ok := derive.Find(ps, claim)
		require.True(t, ok, claim)
		return p
	}
	stall, dead, loops := get("stall time"), get("dead time"), int64(10*ms)
	require.Equal(t, int64(350*ms), *stall.Low, "280 ms of inrush and a quarter")
	require.Equal(t, int64(2*time.Second)-dead.Proposed-loops, *stall.High)
	require.Equal(t, int64(2*time.Second)-*stall.Low-loops, *dead.High)
	require.Equal(t, stall.Proposed+dead.Proposed+loops, *get("reversal after stall").Low)
	require.Equal(t, int64(2*time.Second), *get("reversal after stall").High)
	require.Equal(t, int64(30*ms)+dead.Proposed+loops, *get("reversal after beam").Low)
}

// The motor at rest is a resistance, V = E + I R; by hand: R = 12 V/30 A = 0.4 Ω,
// E = 12 V − 7.5 A × 0.4 Ω = 9 V, (12 + 9) V/0.4 Ω = 52.5 A.
func TestReversingARunningMotor(t *testing.T) {
	g := boatyard()
	p := find(t, g, "dead time")
	near(t, 0.4*(1-8/9.), p.Low, 1e-9, "run-down until the bridge's 50 A are enough")
	g.Bridge.Short = 52_500_000
	near(t, 5*2e-3+1e-3, find(t, g, "dead time").Low, 1e-9, "a bridge that stands 52.5 A waits for the current only")
	g.Bridge.Short = 51 * amp
	near(t, 0.4*(1-(51*0.4-12)/9), find(t, g, "dead time").Low, 1e-9, "a little less, and the motor must run down a little")
	g.Bridge.Short, g.Bridge.Continuous = 29*amp, 25*amp
	near(t, 0.4, find(t, g, "dead time").Low, 1e-9, "a bridge that does not stand a blocked motor waits for all of the run-down")
}

// Ordinary lever switches bounce for up to 6200 µs: J. Ganssle, A Guide to
// Debouncing (2004, rev. 2008).
func TestDebounceBetweenBounceAndPulse(t *testing.T) {
	g := boatyard()
	near(t, 7.75e-3, find(t, g, "debounce of open lever").Low, 1e-9, "6.2 ms and a quarter")
	require.Nil(t, find(t, g, "debounce of open lever").High)
	near(t, 0.012/0.4*0.8-0.005, find(t, g, "debounce of closed Hall").High, 1e-9, "30 ms less a fifth less a look")
	g.Sensors[1].RimSpeed, g.Sensors[1].PerTravel, g.Sensors[1].Fastest = 0, 12, 0.125
	near(t, 0.012/(2*math.Pi*0.06*1.5)*0.8-0.005, find(t, g, "debounce of closed Hall").High, 1e-9, "speed from turns")
}

// At a constant deceleration the mean speed of the coast is half the full one.
func TestStopAfterLimit(t *testing.T) {
	p := find(t, boatyard(), "stop after limit")
	near(t, 7.75e-3+5e-3+10e-3+1e-3, p.Low, 1e-9, "debounce, look, decay, bridge")
	near(t, (0.03-0.012)/(2*0.012/0.16), p.High, 1e-9, "1.8 % at 15 % a second")
}

func TestCurrents(t *testing.T) {
	g := boatyard()
	near(t, 30*1.25, find(t, g, "most current").Low, 1e-6, "blocked and a quarter")
	near(t, 50, find(t, g, "most current").High, 1e-6, "the bridge")
	near(t, 50, find(t, g, "short-circuit current").High, 1e-6, "the bridge")
	g.ShortCircuit = 60 * amp
	near(t, 48, find(t, g, "short-circuit current").High, 1e-6, "60 A less a fifth")
	// τ = 8/ln(2500/1875) s, ln((14400 − 30.25)/(14400 − 625)) at 120 A from 5.5 A.
	near(t, 8/math.Log(2500/1875.)*math.Log((14400-30.25)/(14400-625)), find(t, boatyard(), "short-circuit time").High, 1e-9, "the bridge's heat")
	near(t, 7, find(t, g, "open-circuit time").High, 1e-9, "the quicker travel")
}

// The calculator that checks every formula is held to figures of its own.
func TestCalculator(t *testing.T) {
	for text, want := range map[string]float64{
		"12 V / 30 A":                    0.4,
		"2 s − 500 ms − 2 × 5 ms":        1.49,
		"(12 V + 9 V) / 400 mΩ":          52.5,
		"1 s / ln(80² / (80² − 30²))":    6.598487, // 1/ln(6400/5500)
		"11 A × √0.25":                   5.5,
		"(3 % − 4 %) / 50 %/s":           -0.02,
		"360° × 12 mm / (2 × π × 60 mm)": 11.459156,
		"2 × π × 60 mm × 1.5 /s":         0.565487,
		"27.5 A / (1 + 0.00393 × 60)":    22.252792,
		"−2.334 ms":                      -0.002334,
		"400 ms × (1 − 8 / 9)":           0.0444444,
		"12 mm / 0.4 m/s":                0.03,
		"100 µs + 5 ms":                  0.0051,
	} {
		got, err := work(text)
		require.NoError(t, err, text)
		require.InDelta(t, want, got, 1e-6*math.Max(1, math.Abs(want)), text)
	}
	for _, text := range []string{"", "12 V /", "ln(3", "3 apples", "(1 + 2"} {
		_, err := work(text)
		require.Error(t, err, text)
	}
}

// thrownBack is a gate whose stop throws it back past its lever, in round figures.
func thrownBack() derive.Given {
	return derive.Given{
		Closing: derive.Direction{Time: 5 * time.Second, Speed: 0.2, CoastTime: 100 * time.Millisecond, CoastDistance: 0.01, Rebound: 0.5, Hop: 0.1, Fall: 0.1},
		Sensors: []derive.Sensor{{Name: "lever", Kind: derive.Lever, End: derive.AtClosed, Window: 0.02, Release: 0.01, Bounce: 4 * time.Millisecond}},
	}
}

func said1(p derive.Proposal, result string) bool {
	for _, s := range p.Steps {
		if s.Result == result {
			return true
		}
	}
	return false
}

// By hand, a mass thrown up: it leaves the stop at u = 0.2 × 0.5 = 0.1 a second, and comes
// up to u²/2g = 0.05. It passes 0.03 at √(u² − 2g × 0.03) = 0.063246 after 0.36754 s, and
// comes back to 0.02 within √(2 × 0.03 / g) = 0.77460 s of the top, which is 0.63246 s on.
func TestAHopThatBreaksALever(t *testing.T) {
	p := find(t, thrownBack(), "debounce of lever")
	near(t, (0.02/0.2+0.367544)/1.25, p.High, 1e-9, "the shortest pulse")
	require.True(t, said1(p, "5 %"), "%v", p.Steps)
	require.True(t, said1(p, "1.407 s"), "%v", p.Steps)
	require.Len(t, p.Notes, 1)
	require.Contains(t, p.Notes[0], "breaks the lever for up to 1.407 s")
	require.Empty(t, p.Conflict)

	soft := thrownBack()
	soft.Closing.Rebound = 0.2 // 0.04 a second, and up to 0.008
	p = find(t, soft, "debounce of lever")
	// Full speed 2 × 0.01 / 0.1 s = 0.2 a second, room of 0.02 − 0.01 for it.
	near(t, 0.05, p.High, 1e-9, "the room before the stop")
	require.Empty(t, p.Notes)

	stuck := thrownBack()
	stuck.Closing.Fall = 0
	p = find(t, stuck, "debounce of lever")
	require.Contains(t, p.Notes[0], "stays there")
	require.NotNil(t, p.High)

	dead := thrownBack()
	dead.Closing.Rebound = 0
	require.Contains(t, find(t, dead, "debounce of lever").Steps[2].Text, "does not throw the gate back")
	near(t, 0.05, find(t, dead, "debounce of lever").High, 1e-9, "no rebound")

	unknown := thrownBack()
	unknown.Closing.Hop, unknown.Closing.Fall = 0, 0
	p = find(t, unknown, "debounce of lever")
	require.Nil(t, p.High)
	require.Contains(t, p.Missing, "how long the lever stays made if the gate passes it, or hops off its stop")

	passed := thrownBack()
	passed.Sensors[0].Passed = true
	near(t, 0.02/0.2/1.25, find(t, passed, "debounce of lever").High, 1e-9, "the gate passes it")

	onto := thrownBack()
	onto.Closing.CoastDistance, onto.Closing.Rebound = 0.03, 0.2
	p = find(t, onto, "debounce of lever")
	require.Nil(t, p.High)
	require.Contains(t, p.Notes[0], "coasts onto its stop")
}

// By hand: at the shaft the motor counts 1150² × 0.0005 = 661.25 kgm², with the boom's 170
// 831.25. A hop is slowed by (190 + 840) Nm / 831.25 kgm² = 1.2391 rad/s², of 85° = 1.48353
// rad. Friction holds the boom up there, until the weight is above what it holds at rest.
func TestWhatSlowsAHop(t *testing.T) {
	p := derive.Pull{Weight: 190, Friction: 840, Static: 900, Inertia: 170, Motor: 0.0005, Gear: 1150, Travel: 85 * math.Pi / 180}
	d := derive.Direction{}.Thrown(p)
	require.InEpsilon(t, 1.2391/1.48353, d.Hop, 1e-3)
	require.Zero(t, d.Fall)
	p.Weight = 901
	d = d.Thrown(p)
	require.InEpsilon(t, (901-840)/831.25/1.48353, d.Fall, 1e-3)
	p.Weight = -841
	d = d.Thrown(p)
	require.Zero(t, d.Hop, "it leaves the stop by itself")
	require.Zero(t, d.Fall)
}
