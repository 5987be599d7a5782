package virtual

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig"
	"pintle/rig/signal"
)

// stalled is the current of a motor that is held fast, driven with a voltage on a day.
func stalled(t *testing.T, d rig.Day) float64 {
	c := DefaultConfig()
	c.Motor.PerCelsius = 0.00393 // of copper
	c.Battery.OhmsPerCelsius = -0.0005
	b, err := New(c, 1)
	require.NoError(t, err)
	b.Vary(d)
	b.motor.lock(0, true)
	b.motor.drive(0, b.supply())
	return b.motor.Current(signal.Instant(1e9)).Amperes()
}

// Ohm's law: the current of a motor that is held is the battery's voltage over all
// resistance. Copper has 0.393 % less of it for each degree colder (a handbook's
// figure, from memory), the battery here half a milliohm more.
func TestWeatherByOhmsLaw(t *testing.T) {
	assert.InDelta(t, 25.6/(0.8+0.06), stalled(t, rig.Day{}), 1e-4)
	assert.InDelta(t, 25.6/(0.8+0.06), stalled(t, rig.Day{Varied: true, Battery: 1, Load: 1}), 1e-4)
	assert.InDelta(t, 0.9*25.6/(0.8+0.06), stalled(t, rig.Day{Varied: true, Battery: 0.9, Load: 1}), 1e-4)
	cold := 0.8*(1-0.00393*20) + 0.06 + 0.01
	assert.InDelta(t, 25.6/cold, stalled(t, rig.Day{Varied: true, Battery: 1, Load: 1, Kelvin: -20}), 1e-4)
}

// A heavier gate takes as much more current as it takes more torque, viscous drag
// aside; and a bench that is reset has its ordinary day back.
func TestLoadAndBackAgain(t *testing.T) {
	steady := func(b *Bench) float64 {
		b.motor.drive(0, b.supply())
		return b.motor.Current(signal.Instant(5e9)).Amperes()
	}
	b, err := New(DefaultConfig(), 1)
	require.NoError(t, err)
	usual := steady(b)
	b.Reset(1)
	b.Vary(rig.Day{Varied: true, Battery: 1, Load: 1.2, Kelvin: -10, Loop: 0.5, Meter: 0.25})
	assert.Equal(t, signal.Instant(0.25*float64(b.c.Meter.Interval)), b.meter.at)
	assert.InEpsilon(t, 1.2*usual, steady(b), 0.01)
	b.Reset(1)
	assert.Equal(t, usual, steady(b), "nothing is left of that day")
	b.Vary(rig.Day{})
	assert.Equal(t, 1.0, b.share)
}
