package virtual

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig/linear"
	"pintle/rig/signal"
)

func shortable(c Config) *motor {
	m := stepped(c.Motor, c.Battery)
	m.shunt(c.Battery, [2]time.Duration{time.Millisecond, 0})
	m.reset()
	return m
}

// The node equations of battery, resistor and motor, solved beside the motor that
// only knows the equivalent source.
func TestShortedMotorObeysTheNodeEquations(t *testing.T) {
	c := DefaultConfig()
	for _, volts := range []float64{25.6, -25.6} {
		m := shortable(c)
		m.drive(0, volts)
		m.advance(second)
		require.InDelta(t, m.current(), m.metered(), 0)
		m.short(second, true)
		for at := second; at < 2*second; at += 7 * ms {
			m.advance(at)
			terminals := volts - c.Battery.Resistance*m.metered()
			assert.InDelta(t, terminals/c.Motor.ShortResistance, m.metered()-m.current(), 1e-9, "through the resistor")
		}
		i := m.c.Viscous*m.speed() + m.load(linear.Sign(volts))*linear.Sign(volts)
		assert.InDelta(t, i/m.c.Constant, m.current(), 1e-4, "the torque is as before, so the motor's own current is too")
		speed := m.speed()
		m.short(2*second, false)
		m.advance(3 * second)
		assert.Greater(t, math.Abs(m.speed()), math.Abs(speed), "the resistor had pulled the voltage down")
	}
}

// The charge past the meter is the sum of the metered current, whatever the steps.
func TestShortedChargeIsTheMeteredCurrent(t *testing.T) {
	m := shortable(DefaultConfig())
	m.drive(0, 25.6)
	m.advance(second)
	m.short(second, true)
	m.take()
	var sum float64
	const dt = ms / 20
	for at := second + dt; at <= second+200*ms; at += dt {
		before := m.metered()
		m.advance(at)
		sum += (before + m.metered()) / 2 * time.Duration(dt).Seconds()
	}
	assert.InDelta(t, sum, m.take(), 1e-6)
}

// A motor that is let go with its leads shorted brakes itself, out of the meter's
// sight, and stands sooner than one that coasts.
func TestShortedMotorBrakesItself(t *testing.T) {
	c := DefaultConfig()
	c.Motor.OpeningLoad = 0
	stops := func(shorted bool) float64 {
		m := shortable(c)
		m.drive(0, 25.6)
		m.advance(second)
		m.short(second, shorted)
		m.release(second+ms, 25.6)
		m.bring(second + 500*ms)
		assert.Zero(t, m.metered())
		return m.speed()
	}
	assert.Less(t, stops(true), stops(false)/4)
	assert.GreaterOrEqual(t, stops(true), 0.0)
}

func TestShortedReadsWhatWasAskedFor(t *testing.T) {
	c := DefaultConfig()
	c.Motor = c.Motor.Shorted(c.Battery, 45*signal.Ampere, 11*signal.Ampere)
	m := shortable(c)
	m.drive(0, 25.6)
	m.short(0, true)
	m.advance(2 * second)
	assert.InDelta(t, 45, m.metered(), 0.05, "less what the motor draws less as it slows")
}

func TestSeveredLead(t *testing.T) {
	m := shortable(DefaultConfig())
	m.drive(0, 25.6)
	m.advance(second)
	speed := m.speed()
	m.sever(second)
	require.Zero(t, m.current(), "at once")
	require.InDelta(t, speed, m.speed(), 1e-9, "the rotor does not notice at once")
	m.bring(second + 10*ms)
	require.Less(t, m.speed(), speed)
	require.Positive(t, m.speed())
	m.drive(second+10*ms, 25.6)
	m.advance(2 * second)
	require.InDelta(t, 11, m.current(), 1e-4, "joined again")
}

func TestDragRaisesTheCurrent(t *testing.T) {
	for _, volts := range []float64{25.6, -25.6} {
		m := stepped(DefaultConfig().Motor, DefaultConfig().Battery)
		m.drive(0, volts)
		m.advance(second)
		before := m.current()
		m.drag(second, true)
		m.advance(2 * second)
		assert.InDelta(t, 1.35, m.current()/before, 0.02, "some of the current is for drag that stays as it was")
		m.drag(2*second, false)
		m.advance(3 * second)
		assert.InDelta(t, before, m.current(), 1e-3)
	}
}

// Each of the bench's lines reaches the motor.
func TestLinesOfTheMotor(t *testing.T) {
	c := exact()
	c.Controller.ShortCurrent, c.Controller.StallTime = 0, time.Hour
	for name, v := range map[string]struct {
		lines   []signal.Line
		amperes float64
		within  float64
	}{
		"whole":            {nil, 11, 0.01},
		"cut":              {[]signal.Line{signal.LeadCut}, 0, 0},
		"shorted":          {[]signal.Line{signal.MotorShort}, 45, 0.5},
		"shorted and cut":  {[]signal.Line{signal.MotorShort, signal.LeadCut}, 0, 0},
		"dragged":          {[]signal.Line{signal.DragLoad}, 14.85, 0.6},
		"sagging":          {[]signal.Line{signal.SupplySag}, 11, 1},
		"stalled, sagging": {[]signal.Line{signal.SupplySag, signal.StallLoad}, 17.92 / 0.86, 0.01},
		"stalled, dipped":  {[]signal.Line{signal.SupplyDip, signal.StallLoad, signal.SupplySag}, 10.24 / 0.86, 0.01},
	} {
		b := bench(t, c)
		s := stimulus{signal.Supply: {made(0)}, signal.Remote: presses(press1)}
		for _, l := range v.lines {
			s[l] = []signal.Edge{made(3 * second)}
		}
		s.plan(t, b)
		edges(t, b, 3*second+190*ms)
		b.motor.advance(b.Now())
		assert.InDelta(t, v.amperes, b.motor.metered(), v.within, name)
	}
}
