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

func TestDipsSlow(t *testing.T) {
	whole := moved(t, machined(lift()), StartAt(0))
	whole.Motor(motion.Opening, 0)
	dipped := moved(t, machined(lift()), StartAt(0))
	dipped.Motor(motion.Opening, 0)
	dipped.Supply(0.7, 3*second)
	dipped.Supply(1, 4*second)
	a, b := whole.Crossings(signal.OpenLimit, 0, nil)[0].At, dipped.Crossings(signal.OpenLimit, 0, nil)[0].At
	assert.Greater(t, b, a+100*ms)
	assert.Less(t, b, a+second)
}

// Held by an obstacle and let go again.
func TestObstacleBeforeAMachine(t *testing.T) {
	m := moved(t, machined(lift()), StartAt(0))
	m.Motor(motion.Opening, 0)
	m.Obstruct(0.6, second)
	stall := m.Crossings(signal.StallLoad, second, nil)
	require.Len(t, stall, 1)
	assert.InDelta(t, 0.6, m.Position(stall[0].At), 1e-9)
	assert.Empty(t, m.Crossings(signal.OpenLimit, second, nil))
	assert.InDelta(t, 29.767442, m.Current(stall[0].At.Add(time.Second)).Amperes(), 1e-6)
	clear := stall[0].At.Add(2 * time.Second)
	m.Clear(clear)
	assert.Equal(t, signal.Broken, m.Level(signal.StallLoad, clear))
	require.Len(t, m.Crossings(signal.OpenLimit, clear, nil), 1)

	// Moving, it is stopped at once by something in front of it.
	m.Reset(StartAt(0))
	m.Motor(motion.Opening, 0)
	m.Obstruct(-1, 2*second)
	assert.Zero(t, m.Speed(2*second))
	assert.Equal(t, signal.Made, m.Level(signal.StallLoad, 2*second))
	m.Motor(motion.Closing, 3*second)
	assert.Negative(t, m.Speed(4*second), "it can back off")
}

// With the bridge open the current dies away through the diodes against the
// battery: i(t) = (i0 + V/R)·e^(−t·R/L) − V/R while the motor's own voltage stands
// still, zero after that.
func TestFreewheel(t *testing.T) {
	m := moved(t, machined(lift()), Start{Position: 0.3, Obstacle: 0.3})
	m.Motor(motion.Opening, 0)
	m.Motor(motion.Stopped, second)
	end := 0.9e-3 / 0.86 * math.Ln2 // from V/R against −V/R
	half := (2*math.Exp(-end/2*0.86/0.9e-3) - 1) * 25.6 / 0.86
	assert.InDelta(t, half, m.Current(second+from(end/2)).Amperes(), 1e-4)
	assert.NotZero(t, m.Current(second+from(end)-20))
	assert.Zero(t, m.Current(second+from(end)+2))
	assert.Equal(t, signal.Broken, m.Level(signal.StallLoad, second))
	assert.Empty(t, m.Crossings(signal.StallLoad, second, nil), "a gate at rest is not stalled")
}

// The gate breaks away where the current's torque has come to the load and the
// static friction: t = −L/R·ln(1 − i·R/V).
func TestBreakAway(t *testing.T) {
	m := moved(t, machined(lift()), StartAt(0))
	m.Motor(motion.Opening, 0)
	i := (720.0 + 340) / 1600 / 0.06
	away := -0.9e-3 / 0.86 * math.Log(1-i*0.86/25.6)
	assert.Zero(t, m.Speed(from(away)-1))
	assert.Positive(t, m.Speed(from(away)+3))
	assert.Equal(t, signal.Broken, m.Level(signal.StallLoad, 0), "it only stands for a moment")
}

// What is counted at the output is counted at the motor's shaft by the ratio: torque
// by 1/n, inertia and viscous friction by 1/n², for a wheel n = gear/radius.
func TestReflected(t *testing.T) {
	for _, c := range []struct{ radius, n float64 }{{0, 1600}, {0.08, 20000}} {
		machine := lift()
		machine.Radius = c.radius
		d, err := machine.Compile()
		require.NoError(t, err)
		assert.InEpsilon(t, 4e-4+160/c.n/c.n, d.inertia, 1e-12)
		assert.InEpsilon(t, 2e-5+200/c.n/c.n, d.viscous, 1e-12)
		assert.InEpsilon(t, 620/c.n, d.coulomb, 1e-12)
		assert.InEpsilon(t, 720/c.n, d.static, 1e-12)
		assert.InEpsilon(t, 1.5707963*c.n, d.span, 1e-12)
		for x, torque := range map[float64]float64{-1: 340, 0: 340, 0.2: 320, 0.4: 300, 0.6: 225, 0.8: 150, 0.9: 105, 1: 60, 2: 60} {
			assert.InEpsilon(t, torque/c.n, d.load(x), 1e-9, "at %v", x)
		}
	}
}

// A hop is left out if it is no higher than leastHop: w²/2 = height·(load + friction)/J.
func TestLeastHop(t *testing.T) {
	d, err := lift().Compile()
	require.NoError(t, err)
	for _, c := range []struct {
		height float64
		hops   bool
	}{{leastHop * 0.999, false}, {leastHop * 1.001, true}} {
		p := &mover{d: d, supply: 1, lo: wall{0, 0.5}, hi: wall{1, 0}}
		back := (340.0 + 620) / 1600
		p.s[1] = -2 * math.Sqrt(2*c.height*d.span*back/d.inertia)
		p.arrive()
		assert.Equal(t, c.hops, p.s[1] > 0, "%v travels", c.height)
	}
}

// Every crossing is where it is whatever the stretches in between.
func TestStretchesDoNotMatter(t *testing.T) {
	story := func() (all []signal.Edge) {
		s := machined(lift())
		s.Machine.Friction.Static, s.Machine.Friction.Coulomb = 300, 250
		m := moved(t, s, StartAt(0))
		take := func(at signal.Instant) {
			for _, l := range m.Lines() {
				all = m.Crossings(l, at, all)
			}
		}
		m.Motor(motion.Opening, 0)
		take(0)
		m.Motor(motion.Stopped, 5*second)
		take(5 * second)
		m.Motor(motion.Closing, 6*second)
		take(6 * second)
		m.Motor(motion.Opening, 7*second)
		m.Motor(motion.Closing, 8*second)
		m.Motor(motion.Stopped, 12*second)
		take(12 * second)
		m = moved(t, machined(lift()), StartAt(0))
		m.Motor(motion.Opening, 0)
		m.Motor(motion.Stopped, second)
		stands := second
		for m.Speed(stands) > 0 {
			stands += ms
		}
		for m.Speed(stands) == 0 {
			stands -= 10_000
		}
		require.Positive(t, m.Speed(stands))
		m.Motor(motion.Opening, stands-40_000) // it stands for a moment before the current is back
		take(stands)
		return all
	}
	want := story()
	require.Greater(t, len(want), 8)
	first, most := firstBit, mostBit
	defer func() { firstBit, mostBit = first, most }()
	for _, bits := range [][2]int{{12, 28}, {11, 29}, {5, 20}, {20, 24}, {24, 29}, {28, 29}} {
		firstBit, mostBit = bits[0], bits[1]
		got := story()
		require.Len(t, got, len(want))
		for i := range got {
			require.Equal(t, want[i].Level, got[i].Level)
			require.InDelta(t, float64(want[i].At), float64(got[i].At), 1000, "edge %d with stretches of 2^%d to 2^%d ns", i, bits[0], bits[1])
		}
	}
}

// A gate that swings on its load, as a sprung one does, turns round where a mass on
// a spring does: x = c + A·cos(sqrt(k/m)·t).
func TestSwing(t *testing.T) {
	for _, inertia := range []float64{160, 0.3} {
		swing(t, inertia)
	}
}

func swing(t *testing.T, inertia float64) {
	machine := lift()
	machine.Inertia = inertia
	machine.Gear, machine.Friction, machine.Motor.Viscous = 10, Friction{}, 0
	machine.Load = []LoadPoint{{0, -100}, {1, 100}}
	m := moved(t, machined(machine), StartAt(0.2))
	omega := math.Sqrt(200 / machine.Travel / (inertia + 4e-4*100))
	for at := 0.1; at < 100; at += 1.7 {
		require.InDelta(t, 0.5-0.3*math.Cos(omega*at), m.Position(from(at)), 1e-7, "at %v s", at)
		require.InDelta(t, 0.3*omega*math.Sin(omega*at), m.Speed(from(at)), 1e-7, "at %v s", at)
	}
}
