package gate

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig/motion"
	"pintle/rig/signal"
)

const (
	second = signal.Instant(time.Second)
	ms     = signal.Instant(time.Millisecond)
)

// A barrier that opens in 8 s and closes in 6 s, with a lever at each end and a
// magnet that passes the travel switch in the middle.
func barrier() Spec {
	return Spec{
		Title:   "barrier of the tests",
		Opening: Travel{Time: 8 * time.Second, RunUp: time.Second, Coast: 500 * time.Millisecond},
		Closing: Travel{Time: 6 * time.Second, RunUp: 800 * time.Millisecond, Coast: 400 * time.Millisecond},
		Closed:  Stop{Restitution: 0.5, Return: 0.8},
		Open:    Stop{Restitution: 0.4, Return: 1.5},
		Sensors: []Sensor{
			{Line: signal.OpenLimit, From: 0.95, To: 1, Hysteresis: 0.01},
			{Line: signal.ClosedLimit, From: 0, To: 0.04, Hysteresis: 0.01},
			{Line: signal.HallTravel, From: 0.48, To: 0.52},
		},
	}
}

func model(t testing.TB, spec Spec, start Start) *Model {
	m, err := New(&spec, start)
	require.NoError(t, err)
	return m
}

// from gives seconds as an instant.
func from(seconds float64) signal.Instant { return signal.Instant(math.Round(seconds * 1e9)) }

// wantEdges compares edges to the nanosecond and their levels exactly. The first
// whole nanosecond after the crossing may be one later than the nearest.
func wantEdges(t *testing.T, first signal.Level, seconds []float64, got []signal.Edge) {
	t.Helper()
	require.Len(t, got, len(seconds), "%v", got)
	for i, e := range got {
		assert.Equal(t, first, e.Level)
		assert.InDelta(t, seconds[i]*1e9, float64(e.At), 1.001, "edge %d at %v", i, e.At)
		first = first.Not()
	}
}

// ramp is when a trapezoid of speed has covered a distance: common textbook
// closed form, x = a·t²/2 in the run-up and x = V·(t − T/2) after it.
func ramp(x float64, tr Travel) float64 {
	run := tr.RunUp.Seconds()
	full := 1 / (tr.Time.Seconds() - run/2)
	if x <= full*run/2 {
		return math.Sqrt(2 * x * run / full)
	}
	return x/full + run/2
}

func TestOpeningCrossings(t *testing.T) {
	s := barrier()
	m := model(t, s, StartAt(0))
	require.Equal(t, signal.Made, m.Level(signal.ClosedLimit, 0))
	require.Equal(t, signal.Broken, m.Level(signal.OpenLimit, 0))
	require.Empty(t, m.Crossings(signal.OpenLimit, 0, nil))

	at := 2 * second
	m.Motor(motion.Opening, at)
	wantEdges(t, signal.Broken, []float64{2 + ramp(0.05, s.Opening)}, m.Crossings(signal.ClosedLimit, at, nil))
	wantEdges(t, signal.Made, []float64{2 + ramp(0.48, s.Opening), 2 + ramp(0.52, s.Opening)}, m.Crossings(signal.HallTravel, at, nil))
	wantEdges(t, signal.Made, []float64{2 + ramp(0.95, s.Opening)}, m.Crossings(signal.OpenLimit, at, nil))
	// Stop to stop takes the Time, run-up included, and there the motor stalls.
	wantEdges(t, signal.Made, []float64{10}, m.Crossings(signal.StallLoad, at, nil))
	assert.Equal(t, 10*second, m.Crossings(signal.StallLoad, at, nil)[0].At)
	assert.Equal(t, 1.0, m.Position(10*second))
	assert.Zero(t, m.Speed(10*second))

	m.Motor(motion.Stopped, 12*second)
	assert.Equal(t, signal.Broken, m.Level(signal.StallLoad, 12*second))
	assert.Empty(t, m.Crossings(signal.StallLoad, 12*second, nil))
	assert.Equal(t, 1.0, m.Position(20*second), "a held gate does not hop")
	assert.Equal(t, signal.Made, m.Level(signal.OpenLimit, 20*second))
}

func TestCrossingInTheRunUp(t *testing.T) {
	s := barrier()
	s.Sensors = []Sensor{{Line: signal.ClosedLimit, From: 0, To: 0.02}}
	m := model(t, s, StartAt(0))
	m.Motor(motion.Opening, 0)
	// a = V/T = (1/7.5)/1, so t = sqrt(2·0.02·7.5) = sqrt(0.3).
	wantEdges(t, signal.Broken, []float64{math.Sqrt(0.3)}, m.Crossings(signal.ClosedLimit, 0, nil))
}

// Coasting past the open sensor and falling short of the stop: the magnet has
// gone by, and coming back it makes and breaks again.
func TestCoastPastTheSensorAndBack(t *testing.T) {
	s := barrier()
	s.Sensors = []Sensor{
		{Line: signal.HallOpen, From: 0.90, To: 0.92, Hysteresis: 0.002},
		{Line: signal.HallClosed, From: 0.05, To: 0.07, Hysteresis: 0.002},
	}
	m := model(t, s, StartAt(0))
	m.Motor(motion.Opening, 0)
	off := m.Crossings(signal.HallOpen, 0, nil)[0].At
	full := 1 / 7.5
	x0 := full * (off.Sub(0).Seconds() - 0.5) // 0.90, and what it does in less than a nanosecond
	assert.InDelta(t, 0.90, x0, 1e-9)
	m.Motor(motion.Stopped, off)
	// It coasts V·T/2 = 0.0333 travels, so past 0.922 after
	// V·t − (V/T)·t²/2 = 0.022, t = T − sqrt(T² − 2·0.022·T/V), T the coasting time.
	tc := 0.5
	gone := tc - math.Sqrt(tc*tc-2*0.022*tc/full)
	wantEdges(t, signal.Broken, []float64{off.Sub(0).Seconds() + gone}, m.Crossings(signal.HallOpen, off, nil))
	assert.InDelta(t, x0+full*tc/2, m.Position(off.Add(2*time.Second)), 1e-9)
	assert.Zero(t, m.Speed(off.Add(2*time.Second)))

	back := off.Add(3 * time.Second)
	m.Motor(motion.Closing, back)
	place := x0 + full*tc/2
	wantEdges(t, signal.Made, []float64{
		back.Sub(0).Seconds() + ramp(place-0.92, s.Closing),
		back.Sub(0).Seconds() + ramp(place-0.898, s.Closing),
	}, m.Crossings(signal.HallOpen, back, nil))

	// Past the closed sensor, and back off it.
	in := m.Crossings(signal.HallClosed, back, nil)[0]
	require.Equal(t, signal.Made, in.Level)
	m.Motor(motion.Stopped, in.At)
	after := in.At.Add(time.Second)
	coast := place - 1/5.6*(in.At.Sub(back).Seconds()-0.4) // 0.07, all but
	coast = 0.07 - coast + 1/5.6*0.4/2
	assert.InDelta(t, 0.07-coast, m.Position(after), 1e-9)
	require.Equal(t, signal.Broken, m.Level(signal.HallClosed, after))
	m.Motor(motion.Opening, after)
	wantEdges(t, signal.Made, []float64{
		after.Sub(0).Seconds() + ramp(0.05-0.07+coast, s.Opening),
		after.Sub(0).Seconds() + ramp(0.072-0.07+coast, s.Opening),
	}, m.Crossings(signal.HallClosed, after, nil))
}

// Reversed in mid-travel it slows at the greater of the two rates, then runs up.
func TestReversal(t *testing.T) {
	for _, c := range []struct {
		runUp time.Duration
		rate  func(open, close float64) float64
	}{
		{800 * time.Millisecond, func(open, _ float64) float64 { return open / 0.5 }}, // coasting is harder
		{100 * time.Millisecond, func(_, close float64) float64 { return close / 0.1 }},
	} {
		s := barrier()
		s.Closing.RunUp = c.runUp
		open, closing := 1/7.5, 1/(6-c.runUp.Seconds()/2)
		m := model(t, s, StartAt(0))
		m.Motor(motion.Opening, 0)
		at := 4 * second
		place := open * 3.5
		m.Motor(motion.Closing, at)
		slows := open / c.rate(open, closing)
		furthest := place + open*slows/2
		assert.InDelta(t, furthest, m.Position(at+from(slows)), 1e-9)
		assert.InDelta(t, 0, m.Speed(at+from(slows)), 1e-8)
		wantEdges(t, signal.Made, []float64{4 + slows + ramp(furthest-0.04, s.Closing)}, m.Crossings(signal.ClosedLimit, at, nil))
		wantEdges(t, signal.Made, []float64{4 + slows + ramp(furthest, s.Closing)}, m.Crossings(signal.StallLoad, at, nil))
	}
}

func TestObstacle(t *testing.T) {
	s := barrier()
	m := model(t, s, Start{Position: 1, Obstacle: 0.3})
	m.Motor(motion.Closing, 0)
	hit := ramp(0.7, s.Closing)
	wantEdges(t, signal.Made, []float64{hit}, m.Crossings(signal.StallLoad, 0, nil))
	assert.Equal(t, 0.3, m.Position(7*second))
	assert.Empty(t, m.Crossings(signal.ClosedLimit, 0, nil))

	// It can back off, and comes to it again.
	m.Motor(motion.Opening, 7*second)
	assert.Equal(t, signal.Broken, m.Level(signal.StallLoad, 7*second))
	assert.Greater(t, m.Position(9*second), 0.4)
	m.Motor(motion.Closing, 9*second)
	assert.Equal(t, 0.3, m.Position(20*second))
	assert.Equal(t, signal.Made, m.Level(signal.StallLoad, 20*second))

	// Taken away, it lets the gate run up from where it stands.
	m.Clear(20 * second)
	assert.Equal(t, signal.Broken, m.Level(signal.StallLoad, 20*second))
	wantEdges(t, signal.Made, []float64{20 + ramp(0.26, s.Closing)}, m.Crossings(signal.ClosedLimit, 20*second, nil))

	// Coming from the other side, it is held from opening.
	m.Motor(motion.Stopped, 30*second)
	m.Obstruct(0.3, 30*second)
	m.Motor(motion.Opening, 31*second)
	assert.Equal(t, 0.3, m.Position(60*second))
}

// Coasting into an obstacle it just stands there, and nothing is stalled.
func TestCoastIntoObstacle(t *testing.T) {
	m := model(t, barrier(), Start{Position: 0, Obstacle: 0.5})
	m.Motor(motion.Opening, 0)
	at := from(ramp(0.49, barrier().Opening))
	m.Motor(motion.Stopped, at)
	assert.Equal(t, 0.5, m.Position(at+second))
	assert.Empty(t, m.Crossings(signal.StallLoad, at, nil))
	m.Motor(motion.Opening, at+second)
	assert.Equal(t, signal.Made, m.Level(signal.StallLoad, at+second), "driven into it, it stalls at once")
}

func TestObstacleHere(t *testing.T) {
	s := barrier()
	m := model(t, s, StartAt(0))
	m.Motor(motion.Opening, 0)
	x := m.Position(3 * second)
	m.Obstruct(-1, 3*second)
	assert.Equal(t, x, m.Position(10*second), "stopped at once")
	assert.Equal(t, signal.Made, m.Level(signal.StallLoad, 3*second))
	m.Motor(motion.Closing, 4*second)
	assert.Less(t, m.Position(5*second), x, "it can back off")

	// Standing, it is jammed both ways: a stall from the start.
	for _, way := range []motion.State{motion.Opening, motion.Closing} {
		for _, place := range []float64{0, 0.4, 1} {
			m.Reset(StartAt(place))
			m.Obstruct(-1, second)
			m.Motor(way, 2*second)
			assert.Equal(t, signal.Made, m.Level(signal.StallLoad, 2*second))
			assert.Equal(t, place, m.Position(30*second))
			m.Reset(Start{Position: place, Obstacle: place})
			m.Motor(way, 2*second)
			assert.Equal(t, place, m.Position(30*second))
			assert.Equal(t, signal.Made, m.Level(signal.StallLoad, 2*second))
		}
	}
}

func TestStartAtALimit(t *testing.T) {
	m := model(t, barrier(), StartAt(1))
	m.Motor(motion.Opening, second)
	assert.Equal(t, signal.Made, m.Level(signal.StallLoad, second), "driven into the stop it stands at")
	m.Motor(motion.Closing, 2*second)
	assert.Equal(t, signal.Broken, m.Level(signal.StallLoad, 2*second))
	wantEdges(t, signal.Broken, []float64{2 + ramp(0.06, barrier().Closing)}, m.Crossings(signal.OpenLimit, 2*second, nil))
}

// The level at the start is by the place alone: the hysteresis is not yet there.
func TestStartLevels(t *testing.T) {
	for x, want := range map[float64]signal.Level{0.9499: signal.Broken, 0.95: signal.Made, 0.97: signal.Made, 1: signal.Made} {
		assert.Equal(t, want, model(t, barrier(), StartAt(x)).Level(signal.OpenLimit, 0), "at %v", x)
	}
}

// At the edge's nanosecond the line has changed, one before it has not.
func TestLevelAtTheEdge(t *testing.T) {
	m := model(t, barrier(), StartAt(0))
	m.Motor(motion.Opening, 0)
	e := m.Crossings(signal.OpenLimit, 0, nil)[0]
	assert.Equal(t, signal.Broken, m.Level(signal.OpenLimit, e.At-1))
	assert.Equal(t, signal.Made, m.Level(signal.OpenLimit, e.At))
	assert.Less(t, m.Position(e.At-1), 0.95)
	assert.GreaterOrEqual(t, m.Position(e.At), 0.95-1e-12)
	assert.Len(t, m.Crossings(signal.OpenLimit, e.At-1, nil), 1)
	assert.Empty(t, m.Crossings(signal.OpenLimit, e.At, nil), "strictly after")
}

// No run-up and no coasting: speeds change at once.
func TestWithoutRunUpAndCoast(t *testing.T) {
	s := barrier()
	s.Opening = Travel{Time: 8 * time.Second}
	s.Closing = Travel{Time: 4 * time.Second}
	m := model(t, s, StartAt(0))
	m.Motor(motion.Opening, 0)
	assert.Equal(t, 0.25, m.Position(2*second))
	m.Motor(motion.Closing, 4*second)
	assert.Equal(t, 0.25, m.Position(5*second))
	m.Motor(motion.Stopped, 5*second)
	assert.Equal(t, 0.25, m.Position(6*second))
	m.Motor(motion.Opening, 6*second)
	assert.Equal(t, []signal.Edge{{At: 12 * second, Level: signal.Made}}, m.Crossings(signal.StallLoad, 6*second, nil))
}

// Several magnets on one wheel: the line is made while any of them is there.
func TestSeveralSensorsOnOneLine(t *testing.T) {
	s := Spec{Opening: Travel{Time: 10 * time.Second}, Closing: Travel{Time: 10 * time.Second}, Sensors: []Sensor{
		{Line: signal.HallTravel, From: 0.1, To: 0.2}, {Line: signal.HallTravel, From: 0.5, To: 0.6},
		{Line: signal.HallTravel, From: 0.15, To: 0.3}, {Line: signal.HallTravel, From: 0, To: 0.05},
	}}
	m := model(t, s, StartAt(0))
	assert.Equal(t, []signal.Line{signal.HallTravel, signal.StallLoad}, m.Lines())
	m.Motor(motion.Opening, 0)
	wantEdges(t, signal.Broken, []float64{0.5, 1, 3, 5, 6}, m.Crossings(signal.HallTravel, 0, nil))
	m.Motor(motion.Closing, from(1.7))
	require.Equal(t, signal.Made, m.Level(signal.HallTravel, from(1.7)))
	wantEdges(t, signal.Broken, []float64{2.4, 2.9}, m.Crossings(signal.HallTravel, from(1.7), nil))
}

// What is told late is taken as told at the last instant.
func TestToldLate(t *testing.T) {
	a, b := model(t, barrier(), StartAt(0)), model(t, barrier(), StartAt(0))
	a.Motor(motion.Opening, 2*second)
	a.Motor(motion.Stopped, second)
	b.Motor(motion.Opening, 2*second)
	b.Motor(motion.Stopped, 2*second)
	assert.Equal(t, a.phases, b.phases)
	assert.Equal(t, 2*second, a.base)
	a.Motor(motion.Unknown, 3*second)
	assert.Equal(t, 2*second, a.base, "an unknown motor does not drive")
}

func TestCheckNamesEveryMistake(t *testing.T) {
	nan := math.NaN()
	bad := Spec{
		Opening: Travel{Time: 0, RunUp: -1, Coast: -1},
		Closing: Travel{Time: time.Second, RunUp: 2 * time.Second, Coast: 25 * time.Hour},
		Closed:  Stop{Restitution: 1, Return: 1},
		Open:    Stop{Restitution: 0.5, Return: nan},
		Sensors: []Sensor{
			{Line: signal.Remote, From: 0.5, To: 0.5, Hysteresis: -0.1},
			{Line: signal.OpenLimit, From: nan, To: 1.1, Hysteresis: nan},
		},
		OpeningCurrent: 8 * signal.Ampere, StallCurrent: 7 * signal.Ampere,
	}
	err := bad.Check()
	require.Error(t, err)
	var fields []string
	for _, e := range err.(interface{ Unwrap() []error }).Unwrap() {
		fields = append(fields, e.(Mistake).Field)
	}
	assert.Equal(t, []string{"Opening.Time", "Opening.RunUp", "Opening.Coast", "Closing.RunUp", "Closing.Coast",
		"Closed.Restitution", "Open.Return", "Sensors[0].Line", "Sensors[0].To", "Sensors[0].Hysteresis",
		"Sensors[1].From", "Sensors[1].To", "Sensors[1].To", "Sensors[1].Hysteresis", "StallCurrent"}, fields)
	_, err = New(&bad, StartAt(0))
	assert.ErrorContains(t, err, "gate: Opening.Time: 0s must be above zero")

	good := barrier()
	for _, start := range []Start{{Position: -0.1}, {Position: 1.1}, {Position: nan}, {Obstacle: 1.1}, {Obstacle: nan}} {
		_, err := New(&good, start)
		assert.ErrorContains(t, err, "start of the gate: ", "%+v", start)
	}
}

func TestAtTheLimitsOfCheck(t *testing.T) {
	for ok, change := range map[bool][]func(*Spec){
		true: {
			func(s *Spec) { s.Opening.RunUp = s.Opening.Time },
			func(s *Spec) { s.Closed.Restitution = math.Nextafter(1, 0) },
			func(s *Spec) { s.Closed = Stop{} },
			func(s *Spec) { s.StallCurrent, s.OpeningCurrent = 5, 5 },
			func(s *Spec) { s.Sensors[0].From = math.Nextafter(1, 0) },
		},
		false: {
			func(s *Spec) { s.Opening.RunUp = s.Opening.Time + 1 },
			func(s *Spec) { s.Closed.Restitution = 1 },
			func(s *Spec) { s.Closed.Return = 0 },
			func(s *Spec) { s.StallCurrent, s.OpeningCurrent = 5, 6 },
			func(s *Spec) { s.Sensors[0].From = 1 },
		},
	} {
		for i, f := range change {
			s := barrier()
			f(&s)
			assert.Equal(t, ok, s.Check() == nil, "change %d to %v", i, ok)
		}
	}
}

// A gate that stands on a sensor's very end breaks it with its first movement,
// which is after the instant at which the motor started.
func TestStartOnTheEndOfASensor(t *testing.T) {
	s := barrier()
	s.Sensors = []Sensor{{Line: signal.HallTravel, From: 0.5, To: 0.6}}
	m := model(t, s, StartAt(0.6))
	m.Motor(motion.Opening, second)
	assert.Equal(t, signal.Made, m.Level(signal.HallTravel, second))
	assert.Equal(t, []signal.Edge{{At: second + 1, Level: signal.Broken}}, m.Crossings(signal.HallTravel, second, nil))
}

// Without a machine the currents are those of the description, and no supply
// matters.
func TestCurrentWithoutAMachine(t *testing.T) {
	s := barrier()
	s.OpeningCurrent, s.ClosingCurrent, s.StallCurrent = 9*signal.Ampere, 7*signal.Ampere, 30*signal.Ampere
	m := model(t, s, StartAt(0))
	assert.Zero(t, m.Current(0))
	m.Motor(motion.Opening, 0)
	m.Supply(0.1, second)
	assert.Equal(t, 9*signal.Ampere, m.Current(second))
	assert.Equal(t, 30*signal.Ampere, m.Current(9*second))
	assert.Equal(t, 8*second, m.Crossings(signal.StallLoad, 0, nil)[0].At)
	m.Motor(motion.Closing, 10*second)
	assert.Equal(t, -7*signal.Ampere, m.Current(11*second))
	assert.Equal(t, -30*signal.Ampere, m.Current(17*second))
}
