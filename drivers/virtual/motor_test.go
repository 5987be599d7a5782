package virtual

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/linear"
	"pintle/rig/signal"
)

// tutorial is the motor of the "DC Motor Speed" example in the Control Tutorials
// for MATLAB and Simulink of the University of Michigan and Carnegie Mellon
// University: J 0.01 kg·m², b 0.1 N·m·s, K 0.01, R 1 ohm, L 0.5 H, and no load.
var tutorial = MotorConfig{Resistance: 1, Inductance: 0.5, Constant: 0.01, Inertia: 0.01, Viscous: 0.1}

func seconds(s float64) signal.Instant { return signal.Instant(math.Round(s * 1e9)) }

func stepped(c MotorConfig, b BatteryConfig) *motor {
	m := newMotor(c, b, [2]time.Duration{time.Millisecond, 0})
	m.reset()
	return &m
}

// The poles -2.0025 and -9.9975 are published with the example (rounded to -2 and
// -10); the values in time are its closed form, worked out beside it and agreeing
// with a Runge-Kutta solution at 10 µs to 1e-9.
func TestStepResponseOfThePublishedMotor(t *testing.T) {
	want := []struct{ t, w, i float64 }{
		{0.1, 0.006855537, 0.181264482},
		{0.2, 0.019592292, 0.329651998},
		{0.5, 0.054170100, 0.631925747},
		{1, 0.083037111, 0.864130155},
		{2, 0.097623489, 0.980793804},
		{3, 0.099592764, 0.996543078},
	}
	m := stepped(tutorial, BatteryConfig{})
	m.drive(0, 1)
	for _, v := range want {
		m.advance(seconds(v.t))
		assert.InDeltaf(t, v.w, m.speed(), 2e-9, "speed at %g s", v.t)
		assert.InDeltaf(t, v.i, m.current(), 2e-9, "current at %g s", v.t)
	}
	m.advance(60 * second)
	assert.InDelta(t, 0.0999001, m.speed(), 1e-7, "speed in the end: about 0.1 rad/s a volt, as published")
	assert.InDelta(t, 0.9990010, m.current(), 1e-7)
}

func TestPolesOfThePublishedMotor(t *testing.T) {
	m := stepped(tutorial, BatteryConfig{})
	e := stepOver(matrix{{-2, -0.02, 0}, {1, -10, 0}, {1, 0, 0}}, time.Second)
	require.InEpsilon(t, e.AA, over(m.turningSteps, time.Second).AA, 1e-12, "the motor's own matrix")
	// The eigenvalues of e^A are the exponentials of the poles.
	half, determinant := (e.AA+e.BB)/2, e.AA*e.BB-e.AB*e.BA
	root := math.Sqrt(half*half - determinant)
	assert.InDelta(t, -2.002501, math.Log(half+root), 1e-6)
	assert.InDelta(t, -9.997499, math.Log(determinant/(half+root)), 1e-6)
}

// over is a step put together from the table, for tests.
func over(t *steps, d time.Duration) (s step) {
	s.AA, s.BA, s.SA = t.Apply(d, 1, 0)
	s.AB, s.BB, s.SB = t.Apply(d, 0, 1)
	return s
}

// The position variant of the same tutorials is stiff: its electrical time
// constant is below a microsecond. Figures from memory of the published example;
// poles and gain worked out from them.
func TestStiffMotor(t *testing.T) {
	m := stepped(MotorConfig{Resistance: 4, Inductance: 2.75e-6, Constant: 0.0274, Inertia: 3.2284e-6, Viscous: 3.5077e-6}, BatteryConfig{})
	m.drive(0, 1)
	m.advance(seconds(1 / 59.2260))
	assert.InDelta(t, 35.8268*(1-math.Exp(-1)), m.speed(), 1e-3)
	m.advance(5 * second)
	assert.InDelta(t, 35.8268, m.speed(), 1e-4)
}

// twoPoles is the closed form of a step from rest with real poles.
func twoPoles(c MotorConfig, v float64, at float64) (i, w float64) {
	r, l, k, j, b := c.Resistance, c.Inductance, c.Constant, c.Inertia, c.Viscous
	half := (j*r + b*l) / (2 * j * l)
	root := math.Sqrt(half*half - (b*r+k*k)/(j*l))
	s1, s2 := -half+root, -half-root
	form := func(end, slope float64) float64 {
		a := (slope + s2*end) / (s1 - s2)
		return end + a*math.Exp(s1*at) + (-end-a)*math.Exp(s2*at)
	}
	return form(b*v/(r*b+k*k), v/l), form(k*v/(r*b+k*k), 0)
}

func TestClosedForm(t *testing.T) {
	c := DefaultConfig().Motor
	c.OpeningLoad, c.ClosingLoad = 0, 0
	m := stepped(c, BatteryConfig{})
	m.drive(0, 24)
	for at := signal.Instant(12345); at < second; at += at / 3 {
		m.advance(at)
		i, w := twoPoles(c, 24, time.Duration(at).Seconds())
		require.InDeltaf(t, i, m.current(), 1e-5, "current at %v", at) // the rotor is let go a nanosecond late
		require.InDeltaf(t, w, m.speed(), 1e-4, "speed at %v", at)
	}
}

func TestSteadyStateBothWays(t *testing.T) {
	c := DefaultConfig()
	for _, v := range []struct {
		volts, amperes, load float64
	}{
		{25.6, 11, c.Motor.OpeningLoad},
		{-25.6, -7.5, -c.Motor.ClosingLoad},
	} {
		m := stepped(c.Motor, c.Battery)
		m.drive(0, v.volts)
		m.advance(5 * second)
		r, k, b := c.Motor.Resistance+c.Battery.Resistance, c.Motor.Constant, c.Motor.Viscous
		assert.InDelta(t, v.amperes, m.current(), 1e-9, "as asked of Loaded")
		assert.InDelta(t, (k*v.volts-r*v.load)/(r*b+k*k), m.speed(), 1e-9)
		assert.InDelta(t, (b*v.volts+k*v.load)/(r*b+k*k), m.current(), 1e-9)
	}
}

// Two batteries of 12.8 V with 0.04 ohm, 0.02 ohm of cable and a stalled motor of
// 0.8 ohm, by Ohm's law.
func TestStallAndSag(t *testing.T) {
	c := DefaultConfig()
	m := stepped(c.Motor, c.Battery)
	m.lock(0, true)
	m.drive(0, c.Battery.OpenCircuit)
	m.advance(second)
	assert.InDelta(t, 29.767442, m.current(), 1e-6)
	assert.InDelta(t, 24.409302, c.Battery.OpenCircuit-0.04*m.current(), 1e-6, "volts at the battery")
	assert.InDelta(t, 23.813953, c.Battery.OpenCircuit-c.Battery.Resistance*m.current(), 1e-6, "volts at the motor")
	assert.Zero(t, m.speed())
}

func TestLockedRotorIsFirstOrder(t *testing.T) {
	c := DefaultConfig()
	m := stepped(c.Motor, c.Battery)
	m.lock(0, true)
	m.drive(0, -25.6)
	tau := c.Motor.Inductance / 0.86
	for _, n := range []float64{0.5, 1, 2, 5} {
		at := seconds(n * tau)
		m.advance(at)
		assert.InDelta(t, -25.6/0.86*(1-math.Exp(-time.Duration(at).Seconds()/tau)), m.current(), 1e-9)
	}
}

func TestLoadHoldsUntilTheTorqueBreaksItAway(t *testing.T) {
	c := DefaultConfig()
	k := c.Motor.Constant
	least := c.Motor.OpeningLoad / k * 0.86 // volts at which the torque is just the load
	m := stepped(c.Motor, c.Battery)
	m.drive(0, least*0.999)
	m.advance(5 * second)
	assert.Zero(t, m.speed(), "just below")
	assert.InDelta(t, least*0.999/0.86, m.current(), 1e-9)
	m.drive(5*second, least*1.001)
	m.advance(10 * second)
	assert.Positive(t, m.speed(), "just above")

	// The instant of breaking away, from the first-order rise.
	m = stepped(c.Motor, c.Battery)
	m.drive(0, 25.6)
	tau := c.Motor.Inductance / 0.86
	away := seconds(-tau * math.Log(1-c.Motor.OpeningLoad/k/(25.6/0.86)))
	m.advance(away - 2)
	assert.Zero(t, m.speed())
	m.advance(away + 3)
	assert.Positive(t, m.speed())
}

func TestInrushThenRunning(t *testing.T) {
	c := DefaultConfig()
	m := stepped(c.Motor, c.Battery)
	m.drive(0, 25.6)
	peak := 0.0
	for at := signal.Instant(0); at < second; at += ms / 10 {
		m.advance(at)
		peak = max(peak, m.current())
	}
	assert.Greater(t, peak, 24.0)
	assert.Less(t, peak, 29.767442)
	assert.InDelta(t, 11, m.current(), 1e-3)
}

func TestCoastStopsUnderTheLoad(t *testing.T) {
	c := DefaultConfig()
	m := stepped(c.Motor, c.Battery)
	m.drive(0, 25.6)
	m.advance(5 * second)
	w0 := m.speed()
	m.release(5*second, 25.6)
	m.advance(5*second + 5*ms)
	require.Equal(t, open, m.regime, "the diodes have taken the current down")
	require.Zero(t, m.current())
	// w = (w0 + T/b) e^(-bt/J) - T/b, current aside, which flows for less than a millisecond.
	b, j, load := c.Motor.Viscous, c.Motor.Inertia, c.Motor.OpeningLoad
	at := 0.06
	m.bring(5*second + seconds(at))
	assert.InDelta(t, (w0+load/b)*math.Exp(-b*at/j)-load/b, m.speed(), 0.3)
	m.bring(6 * second)
	assert.Zero(t, m.speed(), "and it stands")
	m.bring(60 * second)
	assert.Zero(t, m.speed())
}

func TestPluggingDoublesTheInrush(t *testing.T) {
	c := DefaultConfig()
	m := stepped(c.Motor, c.Battery)
	m.drive(0, 25.6)
	m.advance(5 * second)
	w0 := m.speed()
	m.drive(5*second, -25.6)
	peak := 0.0
	for at := 5 * second; at < 6*second; at += ms / 10 {
		m.advance(at)
		peak = min(peak, m.current())
	}
	assert.Less(t, peak, -1.5*25.6/0.86, "supply and back voltage together")
	assert.Greater(t, peak, -(25.6+c.Motor.Constant*w0)/0.86)
	m.advance(10 * second)
	assert.InDelta(t, -7.5, m.current(), 1e-9, "then it turns the other way")
	assert.Negative(t, m.speed())
}

func TestLockWhileTurningAndLetGo(t *testing.T) {
	c := DefaultConfig()
	m := stepped(c.Motor, c.Battery)
	m.drive(0, 25.6)
	m.advance(2 * second)
	m.lock(2*second, true)
	assert.Zero(t, m.speed())
	m.advance(3 * second)
	assert.InDelta(t, 29.767442, m.current(), 1e-6)
	m.lock(3*second, false)
	m.advance(6 * second)
	assert.InDelta(t, 11, m.current(), 1e-9)
}

// Whatever instants lie on the way, the motor arrives at the same state, up to
// rounding, and the same charge.
func TestNoStepSizeShows(t *testing.T) {
	rapid.Check(t, func(r *rapid.T) {
		c := DefaultConfig()
		c.Motor.Viscous = rapid.SampledFrom([]float64{0, 1e-4, 1e-2}).Draw(r, "viscous")
		c.Motor.Inductance = rapid.SampledFrom([]float64{1e-4, 1.2e-3, 0.2}).Draw(r, "inductance")
		one, many := stepped(c.Motor, c.Battery), stepped(c.Motor, c.Battery)
		now := signal.Instant(0)
		for range rapid.IntRange(1, 6).Draw(r, "events") {
			what := rapid.IntRange(0, 3).Draw(r, "what")
			for _, m := range []*motor{one, many} {
				switch what {
				case 0:
					m.drive(now, 25.6)
				case 1:
					m.drive(now, -25.6)
				case 2:
					m.release(now, 25.6)
				case 3:
					m.lock(now, !m.locked)
				}
			}
			end := now + signal.Instant(rapid.Int64Range(1, int64(second)).Draw(r, "stretch"))
			stride := signal.Instant(rapid.Int64Range(1, int64(50*ms)).Draw(r, "stride")) + 50_000
			for at := now; at < end; at += stride {
				many.advance(at)
			}
			many.bring(end)
			one.bring(end)
			now = end
		}
		require.InDelta(r, one.current(), many.current(), 1e-5)
		require.InDelta(r, one.speed(), many.speed(), 1e-4)
		require.InDelta(r, one.charge, many.charge, 1e-7)
	})
}

// A rotor that coasts slowly and is driven on in the same way stands for a moment, until
// the current is up: also where nobody looks meanwhile.
func TestARotorStandsForAMomentUnseen(t *testing.T) {
	c := DefaultConfig()
	c.Motor.Viscous, c.Motor.Inductance = 1e-2, 1e-4
	play := func(stride signal.Instant) *motor {
		m := stepped(c.Motor, c.Battery)
		m.drive(0, -25.6)
		m.release(145_316, 25.6)
		m.drive(345_454, -25.6)
		for at := signal.Instant(345_454); at < 126*ms; at += stride {
			m.advance(at)
		}
		m.advance(126 * ms)
		return m
	}
	closely, widely := play(1000), play(126*ms)
	require.InDelta(t, closely.charge, widely.charge, 1e-9)
	require.InDelta(t, closely.speed(), widely.speed(), 1e-7)
}

// What the supply gives is what the motor keeps, what the load takes, and heat.
func TestEnergyBalance(t *testing.T) {
	c := DefaultConfig()
	for _, volts := range []float64{25.6, -25.6} {
		m := stepped(c.Motor, c.Battery)
		m.drive(0, volts)
		var supplied, heat, drag float64
		const dt = ms / 20
		h := time.Duration(dt).Seconds()
		rate := func() (float64, float64) {
			return m.resistance * m.current() * m.current(),
				m.c.Viscous*m.speed()*m.speed() + m.load(linear.Sign(m.speed()))*math.Abs(m.speed())
		}
		for at := signal.Instant(dt); at <= second/2; at += dt {
			h0, d0 := rate()
			m.advance(at)
			h1, d1 := rate()
			heat += (h0 + h1) / 2 * h
			drag += (d0 + d1) / 2 * h
			supplied += volts * m.take()
		}
		kept := c.Motor.Inductance*m.current()*m.current()/2 + c.Motor.Inertia*m.speed()*m.speed()/2
		assert.InDeltaf(t, supplied, kept+heat+drag, supplied*1e-5, "at %g V", volts)
	}
}

func TestExponential(t *testing.T) {
	for _, x := range []float64{1e-9, 0.1, 1, 7.5, 40} {
		t.Run(fmt.Sprint(x), func(t *testing.T) {
			e := linear.Exponential(matrix{{-1, 0, 0}, {0, -2, 0}, {1, 0, 0}}, x)
			assert.InEpsilon(t, math.Exp(-x), e[0][0], 1e-13)
			assert.InEpsilon(t, math.Exp(-2*x), e[1][1], 1e-13)
			assert.InEpsilon(t, -math.Expm1(-x), e[2][0], 1e-13, "the integral")
		})
	}
	spin := linear.Exponential(matrix{{0, 1, 0}, {-1, 0, 0}, {0, 0, 0}}, 2)
	assert.InDelta(t, math.Cos(2), spin[0][0], 1e-15)
	assert.InDelta(t, math.Sin(2), spin[0][1], 1e-15)
}
