package gate

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/motion"
	"pintle/rig/signal"
)

func TestKinds(t *testing.T) {
	for i, info := range Kinds {
		assert.Equal(t, SensorKind(i+1), info.Kind)
		assert.Equal(t, info, info.Kind.Info())
		k, ok := KindNamed(info.Name)
		assert.True(t, ok)
		assert.Equal(t, info.Kind, k)
		assert.Equal(t, info.Name, k.String())
		assert.NotEmpty(t, info.Meaning)
		assert.Equal(t, info.Bounces, info.MostBounce > 0)
		assert.LessOrEqual(t, info.MeanBounce, info.MostBounce)
		assert.LessOrEqual(t, info.MostBounce, info.WorstBounce)
	}
	_, ok := KindNamed("sundial")
	assert.False(t, ok)
	assert.Equal(t, "kind 77", SensorKind(77).String())
	assert.Equal(t, "any kind", AnyKind.String())
	// J. Ganssle, A Guide to Debouncing (2004, revised 2008): sixteen switches.
	assert.Equal(t, 1557*time.Microsecond, Lever.Info().MeanBounce)
	assert.Equal(t, 6200*time.Microsecond, Lever.Info().MostBounce)
	assert.False(t, Hall.Info().Bounces)
	assert.False(t, Beam.Info().OfGate)
}

func TestSensorMistakes(t *testing.T) {
	for field, spoil := range map[string]func(s *Sensor){
		"Kind":   func(s *Sensor) { s.Kind = Beam },
		"Delay":  func(s *Sensor) { s.Delay = -1 },
		"Bounce": func(s *Sensor) { s.Kind, s.Bounce = Hall, time.Millisecond },
	} {
		s := barrier()
		spoil(&s.Sensors[1])
		require.ErrorContains(t, s.Check(), "Sensors[1]."+field+": ")
	}
	s := barrier()
	s.Sensors[1].Kind, s.Sensors[1].Bounce, s.Sensors[1].Delay = Lever, 157*time.Millisecond, time.Second
	require.NoError(t, s.Check())
}

func TestLeverWindow(t *testing.T) {
	w, err := LeverWindow(0.95, 0.94)
	require.NoError(t, err)
	assert.Equal(t, 0.95, w.From)
	assert.Equal(t, 1.0, w.To)
	assert.InDelta(t, 0.01, w.Hysteresis, 1e-15)
	w, err = LeverWindow(0.04, 0.05)
	require.NoError(t, err)
	assert.Equal(t, 0.0, w.From)
	assert.Equal(t, 0.04, w.To)
	assert.InDelta(t, 0.01, w.Hysteresis, 1e-15)
	for _, bad := range [][2]float64{{0.5, 0.5}, {0, 0.1}, {1, 0.9}, {0.5, 2}, {math.NaN(), 0.1}} {
		_, err := LeverWindow(bad[0], bad[1])
		require.Error(t, err, "%v", bad)
	}
}

// A wheel of 50 mm that turns three times: a magnet that operates over 10 mm does so
// over 0.2 rad, which is 0.2/(2π·3) of the travel.
func TestHallWindows(t *testing.T) {
	w := Wheel{Radius: 0.05, Turns: 3, Arc: 0.01, Release: 0.02, Magnets: []float64{math.Pi}}
	got, err := HallWindows(w)
	require.NoError(t, err)
	require.Len(t, got, 3)
	for i, middle := range []float64{0.5 / 3, 1.5 / 3, 2.5 / 3} {
		assert.InDelta(t, middle-0.1/(6*math.Pi), got[i].From, 1e-12)
		assert.InDelta(t, middle+0.1/(6*math.Pi), got[i].To, 1e-12)
		assert.InDelta(t, 0.02/(6*math.Pi), got[i].Hysteresis, 1e-12)
	}
	w.Magnets = []float64{0} // faces the switch at closed and at open, and twice between
	got, err = HallWindows(w)
	require.NoError(t, err)
	require.Len(t, got, 4)
	assert.Zero(t, got[0].From)
	assert.InDelta(t, 0.1/(6*math.Pi), got[0].To, 1e-12)
	assert.Equal(t, 1.0, got[3].To)

	w.Turns, w.Magnets = 0.25, []float64{0.1, -math.Pi, 2*math.Pi + 1}
	got, err = HallWindows(w)
	require.NoError(t, err)
	require.Len(t, got, 2, "the one on the far side never comes by")
	assert.InDelta(t, 1/(math.Pi/2), (got[1].From+got[1].To)/2, 1e-12)

	for field, spoil := range map[string]func(w *Wheel){
		"Radius":   func(w *Wheel) { w.Radius = 0 },
		"Turns":    func(w *Wheel) { w.Turns = -1 },
		"Arc":      func(w *Wheel) { w.Arc = 0.4 },
		"Release":  func(w *Wheel) { w.Release = math.NaN() },
		"Arc: 0.2": func(w *Wheel) { w.Arc, w.Release = 0.2, 1.2 },
		"Magnets":  func(w *Wheel) { w.Magnets = nil },
	} {
		bad := Wheel{Radius: 0.05, Turns: 3, Arc: 0.01, Release: 0.02, Magnets: []float64{1}}
		spoil(&bad)
		_, err := HallWindows(bad)
		require.ErrorContains(t, err, field)
	}
}

// The windows are where turning the wheel bit by bit finds a magnet at the switch.
func TestHallWindowsAgreeWithTurning(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := Wheel{Radius: 0.05, Turns: rapid.Float64Range(0.1, 5).Draw(t, "turns"), Arc: rapid.Float64Range(0.002, 0.05).Draw(t, "arc"),
			Magnets: rapid.SliceOfN(rapid.Float64Range(-7, 7), 1, 3).Draw(t, "magnets")}
		windows, err := HallWindows(w)
		require.NoError(t, err)
		for x := 0.0; x <= 1; x += 0.001 {
			want, near := false, false
			for _, a := range w.Magnets {
				off := math.Abs(math.Remainder(x*w.Turns*2*math.Pi-a, 2*math.Pi)) - w.Arc/w.Radius/2
				want, near = want || off <= 0, near || math.Abs(off) < 1e-9
			}
			got := false
			for _, h := range windows {
				got = got || x >= h.From && x <= h.To
			}
			require.True(t, near || got == want, "at %v", x)
		}
	})
}

// A second magnet on the wheel passes the switch in mid-travel, and how long it
// makes the line is its arc over the speed of the rim.
func TestWrongMagnetInMidTravel(t *testing.T) {
	w := Wheel{Radius: 0.05, Turns: 0.9, Arc: 0.008, Release: 0.01, Magnets: []float64{0.05 * 2 * math.Pi * 0.9, math.Pi}}
	windows, err := HallWindows(w)
	require.NoError(t, err)
	require.Len(t, windows, 2)
	s := machined(lift())
	s.Sensors = Sensor{Line: signal.HallClosed, Kind: Hall}.Over(windows...)
	m := moved(t, s, StartAt(1))
	m.Motor(motion.Closing, 0)
	edges := m.Crossings(signal.HallClosed, 0, nil)
	require.Len(t, edges, 4)
	middle := edges[0].At
	assert.InDelta(t, 0.5/0.9, m.Position(middle), 0.02, "the wrong magnet, half a turn from closed")
	speed := -m.Speed(middle)
	pulse := edges[1].At.Sub(edges[0].At).Seconds() * speed // in travels
	assert.InEpsilon(t, windows[1].To-windows[1].From+windows[1].Hysteresis, pulse, 5e-3)
	assert.InEpsilon(t, 0.008/(speed*0.9*2*math.Pi*0.05), w.Pulse(speed).Seconds(), 1e-6)
	assert.InEpsilon(t, (windows[1].To-windows[1].From)/speed, w.Pulse(speed).Seconds(), 1e-6)
}

// Switched off where a magnet makes the Hall switch, the gate coasts past it: the
// line breaks, and coming back makes and breaks again.
func TestCoastingPastAMagnet(t *testing.T) {
	s := machined(lift())
	s.Sensors = []Sensor{{Line: signal.HallClosed, Kind: Hall, From: 0.08, To: 0.1, Hysteresis: 0.002}}
	m := moved(t, s, StartAt(1))
	m.Motor(motion.Closing, 0)
	made := m.Crossings(signal.HallClosed, 0, nil)[0].At
	m.Motor(motion.Stopped, made)
	broke := m.Crossings(signal.HallClosed, made, nil)
	require.Len(t, broke, 1)
	require.Equal(t, signal.Broken, broke[0].Level)
	at := made.Add(3 * time.Second)
	require.Zero(t, m.Speed(at))
	require.Less(t, m.Position(at), 0.078)
	require.Greater(t, m.Position(at), 0.0)
	m.Motor(motion.Opening, at)
	again := m.Crossings(signal.HallClosed, at, nil)
	require.Len(t, again, 2)
	assert.Equal(t, []signal.Level{signal.Made, signal.Broken}, []signal.Level{again[0].Level, again[1].Level})
}

// A line shows late what the gate did, even where the motor changes in between.
func TestDelay(t *testing.T) {
	for name, machine := range map[string]*Machine{"times": nil, "machine": lift()} {
		t.Run(name, func(t *testing.T) {
			prompt, late := barrier(), barrier()
			prompt.Machine, late.Machine = machine, machine
			prompt.Sensors, late.Sensors = prompt.Sensors[2:], []Sensor{prompt.Sensors[2]}
			const delay = 20 * time.Millisecond
			late.Sensors[0].Delay = delay
			a, b := model(t, prompt, StartAt(0)), model(t, late, StartAt(0))
			a.Motor(motion.Opening, 0)
			b.Motor(motion.Opening, 0)
			edges := a.Crossings(signal.HallTravel, 0, nil)
			require.Len(t, edges, 2)
			shifted := b.Crossings(signal.HallTravel, 0, nil)
			require.Len(t, shifted, 2)
			for i := range edges {
				assert.Equal(t, edges[i].At.Add(delay), shifted[i].At)
			}
			// Turned back when the gate has been there and the line has yet to say so.
			turn := edges[0].At.Add(delay / 2)
			a.Motor(motion.Closing, turn)
			b.Motor(motion.Closing, turn)
			edges = append(edges[:1], a.Crossings(signal.HallTravel, turn, nil)...)
			shifted = b.Crossings(signal.HallTravel, turn, nil)
			require.Len(t, edges, 2)
			require.Len(t, shifted, 2)
			for i := range edges {
				assert.Equal(t, edges[i].Level, shifted[i].Level)
				assert.Equal(t, edges[i].At.Add(delay), shifted[i].At)
			}
			assert.Equal(t, signal.Broken, b.Level(signal.HallTravel, turn))
			assert.Equal(t, signal.Made, a.Level(signal.HallTravel, turn))
		})
	}
}
