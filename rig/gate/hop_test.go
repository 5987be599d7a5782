package gate

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig/motion"
	"pintle/rig/signal"
)

// Total time of a bouncing mass that leaves with speed v: 2·v/g·e/(1−e) after the
// first impact; common textbook closed form.
func TestReboundAgainstBouncingMass(t *testing.T) {
	for _, e := range []float64{0.1, 0.5, 0.8, 0.95} {
		s := barrier()
		s.Closed = Stop{Restitution: e, Return: 0.7}
		s.Sensors = nil
		m := model(t, s, StartAt(1))
		m.Motor(motion.Closing, 0)
		m.Motor(motion.Stopped, from(5.9)) // at full speed, just before the stop
		var hits []float64                 // seconds after the motor's stop
		for _, p := range m.phases {
			if p.x == 0 {
				hits = append(hits, p.t)
			}
		}
		full, tc, left := 1/5.6, 0.4, m.Position(from(5.9))
		v := math.Sqrt(full*full - 2*full/tc*left)
		first := (full - v) / (full / tc)
		require.InDelta(t, first, hits[0], 1e-9)

		hop := 2 * v * e / 0.7 // the first hop's duration
		for n, at := range hits {
			want := first + hop*(1-math.Pow(e, float64(n)))/(1-e)
			require.InDelta(t, want, at, 1e-9, "restitution %v, hop %d", e, n)
		}
		n := float64(len(hits) - 1)
		whole := hits[len(hits)-1] - first + hop*math.Pow(e, n)/(1-e)
		assert.InDelta(t, 2*v/0.7*e/(1-e), whole, 1e-9, "with the hops that were too small")
		next := v * math.Pow(e, n+1)
		assert.Less(t, next*next/2/0.7, leastHop, "the first hop left out")
		if n > 0 {
			last := v * math.Pow(e, n)
			assert.Greater(t, last*last/2/0.7, leastHop, "the last hop made")
		}
		height := v * v * e * e / 2 / 0.7
		assert.InDelta(t, height, m.Position(from(5.9+first+hop/2)), 1e-9)
	}
}

// A lever switch at the end of travel breaks again as the gate hops off its stop:
// common practice, no source.
func TestLimitBreaksInTheRebound(t *testing.T) {
	s := barrier()
	s.Closed = Stop{Restitution: 0.7, Return: 0.1}
	s.Sensors[1] = Sensor{Line: signal.ClosedLimit, From: 0, To: 0.01, Hysteresis: 0.005}
	m := model(t, s, StartAt(1))
	m.Motor(motion.Closing, 0)
	in := m.Crossings(signal.ClosedLimit, 0, nil)[0].At
	m.Motor(motion.Stopped, in)
	got := m.Crossings(signal.ClosedLimit, in, nil)

	full, tc := 1/5.6, 0.4
	v := math.Sqrt(full*full - 2*full/tc*0.01)
	hit := in.Sub(0).Seconds() + (full-v)/(full/tc)
	u := 0.7 * v
	up := (u - math.Sqrt(u*u-2*0.1*0.015)) / 0.1
	down := (u + math.Sqrt(u*u-2*0.1*0.010)) / 0.1
	u2 := 0.7 * u
	require.Greater(t, u2*u2/2/0.1, 0.015)
	hit2 := hit + 2*u/0.1
	up2 := (u2 - math.Sqrt(u2*u2-2*0.1*0.015)) / 0.1
	down2 := (u2 + math.Sqrt(u2*u2-2*0.1*0.010)) / 0.1
	wantEdges(t, signal.Broken, []float64{hit + up, hit + down, hit2 + up2, hit2 + down2}, got[:4])
	assert.Equal(t, signal.Made, m.Level(signal.ClosedLimit, in.Add(time.Minute)))
	assert.Zero(t, m.Position(in.Add(time.Minute)))
}

// The motor may catch the gate in a hop: towards the stop it is held there, away
// from it the gate goes on.
func TestMotorInAHop(t *testing.T) {
	s := barrier()
	start := func() (*Model, signal.Instant) {
		m := model(t, s, StartAt(1))
		m.Motor(motion.Closing, 0)
		m.Motor(motion.Stopped, from(5.95))
		at := from(6.02)
		require.Greater(t, m.Position(at), 0.0)
		require.Greater(t, m.Speed(at), 0.0)
		return m, at
	}
	m, at := start()
	m.Motor(motion.Closing, at)
	stall := m.Crossings(signal.StallLoad, at, nil)
	require.Len(t, stall, 1)
	assert.Zero(t, m.Position(stall[0].At))
	assert.Less(t, stall[0].At, at+second)

	m, at = start()
	x, v := m.Position(at), m.Speed(at)
	m.Motor(motion.Opening, at)
	a := 1 / 7.5
	assert.InDelta(t, x+v*0.1+a*0.01/2, m.Position(at+100*ms), 1e-9)
	assert.Equal(t, 1.0, m.Position(at+10*second))
}

// Driven away from a stop while still running into it, it hops off once.
func TestReversedIntoTheStop(t *testing.T) {
	s := barrier()
	s.Closed.Restitution = 0.5
	m := model(t, s, StartAt(1))
	m.Motor(motion.Closing, 0)
	at := from(5.95)
	x := m.Position(at)
	m.Motor(motion.Opening, at)
	full, rate := 1/5.6, 1/5.6/0.4 // coasting slows it more than the opening motor
	v := math.Sqrt(full*full - 2*rate*x)
	hit := at + from((full-v)/rate)
	assert.InDelta(t, 0, m.Position(hit), 1e-9)
	assert.InDelta(t, 0.5*v, m.Speed(hit+2), 1e-8)
	assert.Empty(t, m.Crossings(signal.StallLoad, at, nil)[1:], "it stalls at the open end only")
}

// A nearly lossless stop still ends.
func TestReboundEnds(t *testing.T) {
	s := barrier()
	s.Closed = Stop{Restitution: math.Nextafter(1, 0), Return: leastReturn}
	m := model(t, s, StartAt(1))
	m.Motor(motion.Closing, 0)
	m.Motor(motion.Stopped, from(5.9))
	assert.LessOrEqual(t, len(m.phases), 2*mostHops+2)
	assert.False(t, math.IsNaN(m.phases[len(m.phases)-1].t))
	for _, p := range m.phases {
		require.True(t, p.x >= 0 && p.x <= 1, fmt.Sprint(p))
	}
}

// A hop that runs into an obstacle loses its speed there and falls back.
func TestObstacleAboveAHop(t *testing.T) {
	s := barrier()
	s.Closed = Stop{Restitution: 0.9, Return: 0.1}
	m := model(t, s, StartAt(1))
	m.Motor(motion.Closing, 0)
	m.Motor(motion.Stopped, from(5.95))
	at := from(6.01)
	x, v := m.Position(at), m.Speed(at)
	require.Greater(t, v, 0.1)
	m.Obstruct(0.02, at)
	require.Less(t, x, 0.02)
	up := (v - math.Sqrt(v*v-2*0.1*(0.02-x))) / 0.1
	met := at + from(up)
	assert.InDelta(t, 0.02, m.Position(met), 1e-9)
	assert.InDelta(t, 0.02-0.1*0.25*0.25/2, m.Position(met+250*ms), 1e-9)
	assert.InDelta(t, 0, m.Position(met+from(math.Sqrt(2*0.02/0.1))), 1e-9)
	assert.Empty(t, m.Crossings(signal.StallLoad, at, nil))
}
