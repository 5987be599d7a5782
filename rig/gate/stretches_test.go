package gate

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig/motion"
	"pintle/rig/signal"
)

// inStretches does something with the first and the longest stretch, in bits of
// nanoseconds, of several lengths.
func inStretches(t *testing.T, do func(t *testing.T)) {
	t.Helper()
	first, most := firstBit, mostBit
	defer func() { firstBit, mostBit = first, most }()
	for _, bits := range [][2]int{{first, most}, {first - 1, most - 1}, {first + 1, most}, {5, 20}, {20, 24}} {
		firstBit, mostBit = bits[0], bits[1]
		do(t)
	}
}

// A load drives the motor faster than the sagging battery's voltage when the bridge opens.
// The current through the diodes swings, comes to nothing, and that is its end: they do not
// let it turn round, and it does not flow on because it would have come back.
func TestTheDiodesEndACurrentThatWouldComeBack(t *testing.T) {
	machine := &Machine{Travel: 0.535, Gear: 974, Inertia: 153, Celsius: -3.55, Cable: 0.0877,
		Load:     []LoadPoint{{0.1206, -112}, {0.3503, -300}},
		Friction: Friction{Static: 187.1462, Coulomb: 129.2, Viscous: 94},
		Motor:    Motor{Resistance: 0.6995, Inductance: 0.0059705, Constant: 0.13914, Inertia: 5e-05, Viscous: 6.47e-05, PerCelsius: 0.00393},
		Battery:  Battery{Volts: 26.288, Ohms: 0.0887, OhmsPerCelsius: -0.0005}}
	inStretches(t, func(t *testing.T) {
		m := moved(t, machined(machine), StartAt(0.015625))
		m.Motor(motion.Opening, 0)
		at := from(2.09)
		require.Negative(t, m.Current(at), "the load drives the motor")
		m.Supply(0.5, at)
		m.Motor(motion.Stopped, at)
		assert.Negative(t, m.Current(at+30*ms), "stretches from 2^%d ns", firstBit)
		assert.Zero(t, m.Current(at+40*ms), "stretches from 2^%d ns", firstBit)
		assert.Zero(t, m.Current(at+200*ms), "stretches from 2^%d ns", firstBit)
	})
}

// A load that grows brings the gate to a standstill ever more slowly. It stands at one
// instant, whatever the stretches in which that is looked for.
func TestACreepingGateStandsAtOneInstant(t *testing.T) {
	machine := lift()
	machine.Load = []LoadPoint{{0, 0}, {1, 4000}}
	var stands []signal.Instant
	inStretches(t, func(t *testing.T) {
		m := moved(t, machined(machine), StartAt(0))
		m.Motor(motion.Opening, 0)
		stall := m.Crossings(signal.StallLoad, 0, nil)
		require.Len(t, stall, 1)
		stands = append(stands, stall[0].At)
	})
	for _, at := range stands {
		assert.InDelta(t, float64(stands[0]), float64(at), 1000)
	}
}
