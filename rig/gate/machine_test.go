package gate

import (
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"

	"pintle/rig/motion"
	"pintle/rig/signal"
)

// lift is a lift-up barrier whose counterweight is too light, so that opening is
// the heavier way. All figures are invented.
func lift() *Machine {
	return &Machine{
		Travel: 1.5707963, Gear: 1600, Inertia: 160, Celsius: 25, Cable: 0.02,
		Load:     []LoadPoint{{0, 340}, {0.4, 300}, {0.8, 150}, {1, 60}},
		Friction: Friction{Static: 720, Coulomb: 620, Viscous: 200},
		Motor:    Motor{Resistance: 0.8, Inductance: 0.9e-3, Constant: 0.06, Inertia: 4e-4, Viscous: 2e-5, PerCelsius: 0.00393},
		Battery:  Battery{Volts: 25.6, Ohms: 0.04, VoltsPerCelsius: 0.02, OhmsPerCelsius: -0.0008},
	}
}

func machined(m *Machine) *Spec {
	return &Spec{
		Title:  "lift-up barrier of the tests",
		Closed: Stop{Restitution: 0.4}, Open: Stop{Restitution: 0.3},
		Sensors: []Sensor{
			{Line: signal.OpenLimit, From: 0.95, To: 1, Hysteresis: 0.01},
			{Line: signal.ClosedLimit, From: 0, To: 0.04, Hysteresis: 0.01},
			{Line: signal.HallTravel, From: 0.48, To: 0.52},
		},
		Machine: m,
	}
}

func TestLook(t *testing.T) {
	m, err := New(machined(lift()), StartAt(0))
	require.NoError(t, err)
	show := func() {
		for i, n := range m.mover.nodes {
			fmt.Println(i, m.base, n.at, n.regime, n.seg, n.s)
		}
		for _, l := range m.Lines() {
			fmt.Println(l, m.Level(l, m.base), m.Crossings(l, m.base, nil))
		}
	}
	m.Motor(motion.Opening, 0)
	show()
	m.Motor(motion.Stopped, 4*second)
	show()
	m.Motor(motion.Opening, 6*second)
	m.Motor(motion.Closing, 16*second)
	show()
}

func BenchmarkMachine(b *testing.B) {
	m, err := New(machined(lift()), StartAt(0))
	require.NoError(b, err)
	b.Run("plan", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			m.Reset(StartAt(0))
			m.Motor(motion.Opening, 0)
		}
	})
	b.Run("Compile", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			lift().Compile()
		}
	})
}
