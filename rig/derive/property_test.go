package derive_test

import (
	"encoding/json"
	"io"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/derive"
	"pintle/rig/signal"
)

// some draws a figure between low and high, or none.
func some(t *rapid.T, label string, low, high int64) int64 {
	if rapid.IntRange(0, 4).Draw(t, label+" given") == 0 {
		return 0
	}
	return rapid.Int64Range(low, high).Draw(t, label)
}

func duration(t *rapid.T, label string, low, high time.Duration) time.Duration {
	return time.Duration(some(t, label, int64(low), int64(high)))
}

func current(t *rapid.T, label string, low, high signal.Current) signal.Current {
	return signal.Current(some(t, label, int64(low), int64(high)))
}

func number(t *rapid.T, label string, low, high float64) float64 {
	return float64(some(t, label, int64(low*1e6), int64(high*1e6))) / 1e6
}

const amp = signal.Ampere

func direction(t *rapid.T, name string) derive.Direction {
	d := derive.Direction{
		Time:          duration(t, name+" time", 50*ms, 60*time.Second),
		Slowest:       duration(t, name+" slowest", 50*ms, 90*time.Second),
		CoastTime:     duration(t, name+" coast time", ms, 3*time.Second),
		CoastDistance: number(t, name+" coast", 1e-4, 0.2),
		Running:       current(t, name+" running", amp/10, 60*amp),
		InrushPeak:    current(t, name+" peak", amp, 120*amp),
		InrushLength:  duration(t, name+" inrush", ms, 2*time.Second),
	}
	if rapid.Bool().Draw(t, name+" stop known") {
		d.Speed = number(t, name+" speed", 1e-3, 5)
		d.Rebound = number(t, name+" rebound", 0.01, 0.95)
		d.Hop = number(t, name+" hop", 1e-3, 100)
		d.Fall = min(number(t, name+" fall", 1e-3, 100), d.Hop)
		if rapid.Bool().Draw(t, name+" pull known") {
			d = d.Thrown(pull(t, name))
		}
	}
	if d.Slowest > 0 {
		d.Slowest = max(d.Slowest, d.Time)
	}
	return d
}

func pull(t *rapid.T, name string) derive.Pull {
	friction := number(t, name+" friction", 0.1, 5000)
	return derive.Pull{Weight: rapid.Float64Range(-1000, 10_000).Draw(t, name+" weight"), Friction: friction, Static: friction * 1.1,
		Inertia: rapid.Float64Range(1, 5000).Draw(t, name+" inertia"), Motor: number(t, name+" rotor", 1e-5, 0.01),
		Gear: rapid.Float64Range(1, 5000).Draw(t, name+" gear"), Travel: rapid.Float64Range(0.3, 12).Draw(t, name+" travel"), Slides: rapid.Bool().Draw(t, name+" slides")}
}

func rating(t *rapid.T, name string) derive.Rating {
	c := current(t, name+" continuous", amp, 100*amp)
	if c == 0 {
		return derive.Rating{}
	}
	return derive.Rating{
		Continuous: c,
		Short:      c + signal.Current(rapid.Int64Range(int64(amp/10), int64(100*amp)).Draw(t, name+" short")),
		Stands:     time.Duration(rapid.Int64Range(int64(10*ms), int64(time.Minute)).Draw(t, name+" stands")),
	}
}

func sensor(t *rapid.T) derive.Sensor {
	return derive.Sensor{
		Name:        rapid.SampledFrom([]string{"upper", "lower", "middle"}).Draw(t, "sensor"),
		Kind:        rapid.SampledFrom([]derive.Kind{derive.Lever, "hall", "reed"}).Draw(t, "kind"),
		Contactless: rapid.Bool().Draw(t, "contactless"),
		End:         rapid.SampledFrom([]derive.End{"", derive.AtOpen, derive.AtClosed}).Draw(t, "end"),
		Bounce:      duration(t, "bounce", time.Microsecond, 200*ms),
		Pulse:       duration(t, "pulse", 10*time.Microsecond, time.Second),
		Delay:       duration(t, "delay", time.Microsecond, 50*ms),
		Window:      number(t, "window", 1e-4, 0.3),
		Release:     number(t, "release", 1e-4, 0.1),
		Passed:      rapid.IntRange(0, 4).Draw(t, "passed") == 0,
		Arc:         number(t, "arc", 1e-3, 0.1),
		WheelRadius: number(t, "radius", 0.01, 0.5),
		RimSpeed:    number(t, "rim speed", 0.01, 20),
		PerTravel:   number(t, "turns", 0.01, 20),
		Fastest:     number(t, "fastest", 0.01, 1),
		Facing:      number(t, "facing", 0.1, 360),
	}
}

func circuit(t *rapid.T) derive.Circuit {
	positive := func(label string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, label) }
	return derive.Circuit{Winding: positive("winding", 0.1, 10), Inductance: positive("inductance", 1e-4, 1e-2),
		Leads: number(t, "leads", 0.12, 1), LeadsCold: number(t, "cold leads", 0.12, 1),
		Celsius: float64(rapid.IntRange(-20, 40).Draw(t, "usual")), Coldest: float64(rapid.IntRange(-40, 40).Draw(t, "coldest")),
		Full: positive("full", 6, 60), FullCold: positive("full when cold", 6, 60), Lowest: positive("lowest", 0.3, 1)}
}

var gates = rapid.Custom(func(t *rapid.T) derive.Given {
	g := derive.Given{
		Opening: direction(t, "opening"), Closing: direction(t, "closing"),
		StallCold: current(t, "stall", amp, 150*amp), StallWarm: current(t, "warm stall", amp, 150*amp),
		WarmRise: number(t, "rise", 1, 150),
		Battery:  number(t, "battery", 5, 60), BatteryLow: number(t, "low battery", 5, 60),
		Motor: rating(t, "motor"), Bridge: rating(t, "bridge"), Duty: number(t, "duty", 0.01, 1),
		BridgeSwitching: duration(t, "switching", time.Microsecond, 3*time.Second),
		CurrentDecay:    duration(t, "decay", time.Microsecond, time.Second),
		RunDown:         duration(t, "run-down", ms, 5*time.Second),
		ShortCircuit:    current(t, "short circuit", amp, 500*amp),
		Loop:            duration(t, "loop", 10*time.Microsecond, 2*time.Second),
		BeamDelay:       duration(t, "beam", ms, 3*time.Second),
		Sensors:         rapid.SliceOfN(rapid.Custom(sensor), 0, 3).Draw(t, "sensors"),
	}
	for i := range g.Sensors {
		g.Sensors[i].Name += string(rune('1' + i))
	}
	if g.StallCold > 0 {
		g.StallWarm = min(g.StallWarm, g.StallCold)
	}
	if g.Battery > 0 {
		g.BatteryLow = min(g.BatteryLow, g.Battery)
	}
	if rapid.Bool().Draw(t, "circuit") {
		return g.Powered(circuit(t))
	}
	return g
})

func TestProposedIsWithinTheBounds(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := gates.Draw(t, "gate")
		require.NoError(t, g.Check())
		for _, p := range derive.Derive(g) {
			require.True(t, p.Low != nil || p.High != nil, p.Name())
			conflict := p.Low != nil && p.High != nil && *p.Low > *p.High || p.High != nil && *p.High <= 0
			require.Equal(t, conflict, p.Conflict != "", p.Name())
			ok, why := p.Judge(p.Proposed)
			if conflict {
				require.False(t, ok, why)
				require.NotEmpty(t, p.Remedies, "%s: a conflict without anything to do about it: %s", p.Name(), p.Conflict)
				continue
			}
			require.True(t, ok, why)
			require.Positive(t, p.Proposed, p.Name())
			require.NotEmpty(t, p.Sources, p.Name())
		}
	})
}

func TestARemedyEndsItsConflict(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := gates.Draw(t, "gate")
		for _, p := range derive.Derive(g) {
			for _, r := range p.Remedies {
				mended, changed := r.Applied(g)
				if !changed {
					continue
				}
				require.NoError(t, mended.Check(), "%s: %s", p.Name(), r.Text)
				after, _ := derive.Find(derive.Derive(mended), p.Name())
				require.Empty(t, after.Conflict, "%s had: %s\nremedy: %s", p.Name(), p.Conflict, r.Text)
			}
		}
	})
}

// every line of arithmetic, worked out again from its text alone, must come to what
// the sheet says, to its last digit.
func TestEveryFormulaComesToItsResult(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := gates.Draw(t, "gate")
		ps := derive.Derive(g)
		for _, p := range append(ps, derive.Proposal{Steps: derive.Basis(g, ps)}) {
			for _, s := range p.Steps {
				if s.Formula == "" {
					continue
				}
				checkStep(t, s)
			}
		}
	})
}

func TestAWiderMagnetNeverNarrowsTheDebounce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		g := boatyard()
		g.Sensors = []derive.Sensor{rapid.Custom(sensor).Draw(t, "sensor")}
		s := &g.Sensors[0]
		s.Pulse, s.RimSpeed = 0, rapid.Float64Range(0.01, 5).Draw(t, "speed")
		s.Arc = rapid.Float64Range(1e-3, 0.1).Draw(t, "arc")
		before := derive.Derive(g)
		s.Arc += rapid.Float64Range(0, 0.1).Draw(t, "wider by")
		after := derive.Derive(g)
		for _, claim := range []string{"debounce of " + s.Name, "shortest limit pulse", "ignored glitch"} {
			a, ok := derive.Find(before, claim)
			require.True(t, ok)
			b, ok := derive.Find(after, claim)
			require.True(t, ok)
			require.Equal(t, *a.Low, *b.Low)
			require.GreaterOrEqual(t, *b.High, *a.High)
		}
	})
}

func TestSheetKeepsItsWidth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		width := rapid.IntRange(40, 120).Draw(t, "width")
		checkWidth(t, width, gates.Draw(t, "gate"))
	})
}

func TestProposalsSurviveJSON(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		ps := derive.Derive(gates.Draw(t, "gate"))
		raw, err := json.Marshal(ps)
		require.NoError(t, err)
		var back []derive.Proposal
		require.NoError(t, json.Unmarshal(raw, &back))
		again, err := json.Marshal(back)
		require.NoError(t, err)
		require.Equal(t, string(raw), string(again))
	})
}

// FuzzDerive holds that nothing that is given, sound or not, brings it down.
func FuzzDerive(f *testing.F) {
	raw, err := json.Marshal(boatyard())
	require.NoError(f, err)
	f.Add(string(raw))
	f.Add("{}")
	f.Fuzz(func(t *testing.T, text string) {
		var g derive.Given
		if json.Unmarshal([]byte(text), &g) != nil {
			return
		}
		sound := g.Check() == nil
		ps := derive.Derive(g)
		require.NoError(t, derive.Sheet(io.Discard, 80, g, ps, nil))
		if _, err := json.Marshal(ps); sound {
			require.NoError(t, err)
		}
	})
}
