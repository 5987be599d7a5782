package gate

import (
	"math"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig/linear"
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
			{Line: signal.OpenLimit, Kind: Lever, From: 0.95, To: 1, Hysteresis: 0.01},
			{Line: signal.ClosedLimit, Kind: Lever, From: 0, To: 0.04, Hysteresis: 0.01},
			{Line: signal.HallTravel, Kind: Hall, From: 0.48, To: 0.52},
		},
		Machine: m,
	}
}

// moved is a model of a gate with a machine.
func moved(t testing.TB, spec *Spec, start Start) *Model {
	m, err := New(spec, start)
	require.NoError(t, err)
	return m
}

const endless = 1000 // radians

// bare is a motor that turns something endless without friction or load.
func bare(m Motor, volts float64) *Machine {
	return &Machine{Travel: endless, Gear: 1, Motor: m, Battery: Battery{Volts: volts}, Celsius: 25}
}

// Parameters are those of the University of Michigan and Carnegie Mellon control
// tutorials, "DC Motor Speed"; values at the instants were worked out from them by
// a Runge-Kutta integration with steps of 10 µs.
func TestPublishedMotor(t *testing.T) {
	m := moved(t, machined(bare(Motor{Resistance: 1, Inductance: 0.5, Constant: 0.01, Inertia: 0.01, Viscous: 0.1}, 1)), StartAt(0))
	m.Motor(motion.Opening, 0)
	for _, v := range []struct{ t, w, i float64 }{
		{0.1, 0.006855537, 0.181264482},
		{0.2, 0.019592292, 0.329651998},
		{0.5, 0.054170100, 0.631925747},
		{1, 0.083037111, 0.864130155},
		{2, 0.097623489, 0.980793804},
		{3, 0.099592764, 0.996543078},
	} {
		assert.InDeltaf(t, v.w, m.Speed(from(v.t))*endless, 2e-9, "speed at %g s", v.t)
		assert.InDeltaf(t, v.i, m.mover.state(time.Duration(v.t * 1e9))[0], 2e-9, "current at %g s", v.t)
		assert.InDeltaf(t, v.i*1e6, float64(m.Current(from(v.t))), 0.51, "current at %g s", v.t)
	}
}

// The position variant of the same tutorials, electrical time constant below a
// microsecond: parameters from memory of the published example. It is let go from
// rest and turned round at full speed.
func TestStiffMotor(t *testing.T) {
	m := moved(t, machined(bare(Motor{Resistance: 4, Inductance: 2.75e-6, Constant: 0.0274, Inertia: 3.2284e-6, Viscous: 3.5077e-6}, 1)), StartAt(0))
	m.Motor(motion.Opening, 0)
	tau := 1 / 59.2260
	assert.InDelta(t, 35.8268*(1-math.Exp(-1)), m.Speed(from(tau))*endless, 1e-3)
	assert.InDelta(t, 35.8268, m.Speed(2*second)*endless, 1e-4)
	m.Motor(motion.Closing, 2*second)
	assert.InDelta(t, 35.8268*(2*math.Exp(-1)-1), m.Speed(2*second+from(tau))*endless, 2e-3)
	// It stands for a moment where the exponential is one half.
	turn := 2*second + from(tau*math.Ln2)
	assert.InDelta(t, 0, m.Speed(turn)*endless, 1e-2)
}

// A battery of 25.6 V and 0.04 Ω, leads of 0.02 Ω, a held motor of 0.8 Ω: Ohm's law.
func TestSagAtAStall(t *testing.T) {
	s := machined(lift())
	m := moved(t, s, Start{Position: 0.3, Obstacle: 0.3})
	m.Motor(motion.Opening, 0)
	assert.Equal(t, signal.Made, m.Level(signal.StallLoad, 0), "jammed")
	require.Len(t, m.mover.nodes, 1, "a gate that stands for good is planned at once")
	i := m.Current(second)
	assert.Equal(t, signal.Current(29_767_442), i)
	assert.InDelta(t, 24.409302, 25.6-i.Amperes()*0.04, 1e-6, "at the battery")
	assert.InDelta(t, 23.813953, 25.6-i.Amperes()*0.06, 1e-6, "at the motor")
	assert.Equal(t, i, m.Current(50_000*second), "and for ever")
	// The current of a held motor rises as 1 − e^(−t·R/L).
	for _, at := range []time.Duration{time.Microsecond, 333 * time.Microsecond, 5 * time.Millisecond} {
		want := 25.6 / 0.86 * -math.Expm1(-at.Seconds()*0.86/0.9e-3)
		assert.InDelta(t, want, m.mover.state(at)[0], 1e-11)
	}
}

func TestBatteryAt(t *testing.T) {
	b := Battery{Volts: 25.6, Ohms: 0.04, VoltsPerCelsius: 0.02, OhmsPerCelsius: -0.0008}
	volts, ohms := b.At(25)
	assert.Equal(t, []float64{25.6, 0.04}, []float64{volts, ohms})
	volts, ohms = b.At(-15)
	assert.InDelta(t, 24.8, volts, 1e-12)
	assert.InDelta(t, 0.072, ohms, 1e-12)
	_, ohms = b.At(100)
	assert.Zero(t, ohms, "never below zero")
	assert.InDelta(t, 0.8*(1+0.00393*-40), lift().Motor.At(-15), 1e-12, "copper")
}

// A mass that falls on a stop from a height h under a constant acceleration g comes
// down after sqrt(2h/g) and hops with speeds that shrink by e: closed form of the
// bouncing mass, any textbook of mechanics.
func TestReboundTrain(t *testing.T) {
	for _, c := range []struct{ e, h, load, gear float64 }{{0.5, 0.3, 40, 50}, {0.9, 0.05, 340, 300}, {0.2, 1, 5, 20}} {
		machine := lift()
		machine.Gear, machine.Friction, machine.Motor.Viscous = c.gear, Friction{}, 0
		machine.Load = []LoadPoint{{0.5, c.load}}
		s := machined(machine)
		s.Closed.Restitution = c.e
		m := moved(t, s, StartAt(c.h))
		j := machine.Inertia + machine.Motor.Inertia*c.gear*c.gear
		g := c.load / j / machine.Travel // travels per second squared
		fall := math.Sqrt(2 * c.h / g)
		at, hop, height := fall, fall, c.h
		hops := 0
		for {
			require.InDelta(t, 0, m.Position(from(at)), 1e-8)
			away := m.Speed(from(at) + 2)
			hop, height = hop*c.e, height*c.e*c.e
			if height <= leastHop*1.01 {
				break
			}
			hops++
			require.InDelta(t, g*hop, away, g*(4e-9+hop*1e-9), "hop %d", hops)
			require.InDelta(t, height, m.Position(from(at+hop)), height*1e-9, "top of hop %d", hops)
			at += 2 * hop
			touch := m.mover.find(time.Duration(at*1e9) + 2)
			require.InDelta(t, at*1e9, float64(touch.at), 1.01+at, "hop %d touches down", hops)
		}
		require.Greater(t, hops, 2)
		assert.Zero(t, m.Speed(from(at+0.001)), "too small a hop is left out")
		assert.Zero(t, m.Position(from(at+1)))
	}
}

func TestInrushAndCourses(t *testing.T) {
	f, err := lift().Figures(25, 1)
	require.NoError(t, err)
	for name, c := range map[string]Course{"opening": f.Opening, "closing": f.Closing} {
		assert.Greater(t, c.Inrush, 2*c.Peak, name)
		assert.GreaterOrEqual(t, c.Peak, c.Running, name)
		assert.Less(t, c.Inrush, f.Stall, name)
		assert.Greater(t, c.Time, c.RunUp, name)
		assert.Greater(t, c.Overshoot, 0.0, name)
		assert.False(t, c.Overruns, name)
		assert.InDelta(t, c.Speed*1.5707963, c.Rim, 1e-9, name)
	}
	assert.Greater(t, f.Opening.Running, f.Closing.Running, "opening is heavier")
	assert.Greater(t, f.Opening.Time, f.Closing.Time)
	assert.Equal(t, signal.Current(29_767_442), f.Stall)
	assert.Equal(t, current(25.6/0.06), f.ShortCircuit)

	cold, err := lift().Figures(-15, 0.85)
	require.NoError(t, err)
	assert.Greater(t, cold.Opening.Time, f.Opening.Time*11/10, "a cold sagging battery is slower")
	assert.Greater(t, cold.Closing.Time, f.Closing.Time*11/10)

	_, err = lift().Figures(25, 0.3)
	require.ErrorContains(t, err, "too weak for opening: the gate stands at 0.")
	_, err = lift().Figures(25, 0)
	require.Error(t, err)
}

// The figures are what the model does.
func TestFiguresAgreeWithTheModel(t *testing.T) {
	s := &Spec{Sensors: machined(nil).Sensors}
	machine := lift()
	require.NoError(t, s.Fit(machine))
	f, err := machine.Figures(25, 1)
	require.NoError(t, err)
	assert.Equal(t, f.Opening.Time, s.Opening.Time)
	assert.Equal(t, f.Closing.Running, s.ClosingCurrent)

	m := moved(t, s, StartAt(1))
	m.Motor(motion.Closing, 0)
	assert.Equal(t, signal.Instant(f.Closing.Time), m.Crossings(signal.StallLoad, 0, nil)[0].At)
	rate := func(at time.Duration) float64 {
		return -m.mover.d.table(m.mover.find(at)).Rate(m.mover.state(at), m.mover.find(at).u)[1]
	}
	greatest := 0.0
	for at := time.Duration(0); at < f.Closing.RunUp; at += 10 * time.Microsecond {
		greatest = max(greatest, rate(at))
	}
	assert.InEpsilon(t, greatest/50, rate(f.Closing.RunUp), 0.01)
	most, sum, n := signal.Current(0), 0.0, 0
	for at := signal.Instant(f.Closing.RunUp); at < signal.Instant(f.Closing.Time); at += 100_000 {
		most, sum, n = max(most, -m.Current(at)), sum-m.Current(at).Amperes(), n+1
	}
	assert.InDelta(t, float64(f.Closing.Peak), float64(most), 10)
	assert.InDelta(t, f.Closing.Running.Amperes(), sum/float64(n), 1e-3)
	peak := signal.Current(0)
	for at := signal.Instant(0); at < signal.Instant(f.Closing.RunUp); at += 10_000 {
		peak = max(peak, -m.Current(at))
	}
	assert.InDelta(t, float64(f.Closing.Inrush), float64(peak), 50)

	// Switched off nine tenths of the way on.
	at := from(0)
	for m.Position(at) > 0.1 {
		at += ms
	}
	m.Motor(motion.Stopped, at)
	x := m.Position(at)
	later := at.Add(f.Closing.Coast)
	assert.InDelta(t, f.Closing.Overshoot, x-m.Position(later+2*ms), 1e-4)
	assert.NotZero(t, m.Speed(later-2*ms))
	assert.Zero(t, m.Speed(later+2*ms))
}

// Where the load is more than the friction, the gate does not stay where the motor
// leaves it.
func TestOverrun(t *testing.T) {
	machine := lift()
	machine.Friction = Friction{Static: 40, Coulomb: 30, Viscous: 200}
	f, err := machine.Figures(25, 1)
	require.NoError(t, err)
	assert.True(t, f.Closing.Overruns)
	assert.InDelta(t, 1, f.Closing.Overshoot, 1e-6)
	assert.False(t, f.Opening.Overruns)
	assert.Negative(t, f.Closing.Running, "the load drives the motor")

	m := moved(t, machined(machine), StartAt(0.5))
	closed := m.Crossings(signal.ClosedLimit, 0, nil)
	require.NotEmpty(t, closed, "it falls closed by itself")
	assert.Equal(t, signal.Made, closed[0].Level)
}

// A motor that is too weak stands, and that is a stall from the start.
func TestTooWeak(t *testing.T) {
	m := moved(t, machined(lift()), StartAt(0))
	m.Supply(0.2, 0)
	m.Motor(motion.Opening, second)
	assert.Equal(t, signal.Made, m.Level(signal.StallLoad, second))
	assert.InDelta(t, 0.2*29.767442, m.Current(3*second).Amperes(), 1e-6)
	assert.Zero(t, m.Position(9*second))
	m.Supply(1, 10*second)
	assert.Equal(t, signal.Broken, m.Level(signal.StallLoad, 10*second))
	assert.NotEmpty(t, m.Crossings(signal.OpenLimit, 10*second, nil))

	// A load that grows until the motor comes to a standstill against it, ever slower.
	machine := lift()
	machine.Load = []LoadPoint{{0, 0}, {1, 4000}}
	m = moved(t, machined(machine), StartAt(0))
	m.Motor(motion.Opening, 0)
	stall := m.Crossings(signal.StallLoad, 0, nil)
	require.Len(t, stall, 1)
	// K·V/R = load + friction, all at the motor.
	place := (0.06*25.6/0.86*1600 - 620) / 4000
	assert.InDelta(t, place, m.Position(stall[0].At), 1e-5)
	assert.Zero(t, m.Speed(stall[0].At+ms))
	assert.Less(t, stall[0].At, 60*second, "creeping is standing")

	m.Supply(0.1, 0)
	m.Reset(StartAt(0))
	m.Motor(motion.Opening, 0)
	assert.Equal(t, stall, m.Crossings(signal.StallLoad, 0, nil), "a new start is on a full battery")
}

// The swing of (s + a)(s² + 2ζω·s + ω²) = 0 is ω·sqrt(1 − ζ²).
func TestSwingOfAnEquation(t *testing.T) {
	for _, omega := range []float64{0.3, 20, 3000} {
		for _, zeta := range []float64{0, 0.1, 0.9, 1.5} {
			want := omega * math.Sqrt(max(1-zeta*zeta, 0))
			b, c := 2*zeta*omega, omega*omega
			assert.InDelta(t, want, swing2(b, c), 1e-6*omega)
			for _, a := range []float64{0.1, 50, 1e4} {
				assert.InDelta(t, want, swing3(a+b, float64(a*b)+c, a*c), 1e-3*omega, "a %v, ω %v, ζ %v", a, omega, zeta)
			}
		}
		n := stretchBits(omega)
		stretch := float64(int64(1)<<n) * 1e-9 * omega
		assert.LessOrEqual(t, stretch, math.Pi/2)
		assert.True(t, 2*stretch > math.Pi/2 || n == linear.Bits-1)
	}
	assert.Equal(t, linear.Bits-1, stretchBits(0))
}

func TestFittedSpecIsShared(t *testing.T) {
	s := machined(nil)
	require.NoError(t, s.Fit(lift()))
	want := moved(t, s, StartAt(0))
	want.Motor(motion.Opening, 0)
	var wait sync.WaitGroup
	for range 4 {
		wait.Go(func() {
			m, err := New(s, StartAt(0))
			if assert.NoError(t, err) {
				m.Motor(motion.Opening, 0)
				assert.Equal(t, want.Crossings(signal.OpenLimit, 0, nil), m.Crossings(signal.OpenLimit, 0, nil))
				assert.Same(t, want.mover.d, m.mover.d)
			}
		})
	}
	wait.Wait()
}

func TestMachineMistakes(t *testing.T) {
	for field, spoil := range map[string]func(m *Machine){
		"Travel":                  func(m *Machine) { m.Travel = 0 },
		"Gear":                    func(m *Machine) { m.Gear = math.NaN() },
		"Inertia":                 func(m *Machine) { m.Inertia = -1 },
		"Friction.Static":         func(m *Machine) { m.Friction.Static = m.Friction.Coulomb / 2 },
		"Motor.Inductance":        func(m *Machine) { m.Motor.Inductance = 0 },
		"Motor.Constant":          func(m *Machine) { m.Motor.Constant = math.Inf(1) },
		"Battery.Volts":           func(m *Machine) { m.Battery.Volts = 0 },
		"Battery.VoltsPerCelsius": func(m *Machine) { m.Battery.VoltsPerCelsius, m.Celsius = 1, -10 },
		"Celsius":                 func(m *Machine) { m.Celsius = 300 },
		"Load[2].Position":        func(m *Machine) { m.Load[2].Position = m.Load[1].Position },
		"Load[0].Torque":          func(m *Machine) { m.Load[0].Torque = math.NaN() },
	} {
		m := lift()
		require.NoError(t, m.Check())
		spoil(m)
		require.ErrorContains(t, m.Check(), field+": ", field)
		_, err := New(machined(m), StartAt(0))
		require.ErrorContains(t, err, "Machine."+field+": ")
		var mistake Mistake
		require.ErrorAs(t, err, &mistake)
	}
}

func TestMachineAllocatesNothing(t *testing.T) {
	m := moved(t, machined(lift()), StartAt(0))
	buf := make([]signal.Edge, 0, 64)
	cycle := func() {
		m.Reset(StartAt(0))
		m.Motor(motion.Opening, second)
		m.Supply(0.7, 2*second)
		m.Obstruct(0.9, 3*second)
		m.Clear(8 * second)
		m.Motor(motion.Closing, 10*second)
		m.Motor(motion.Stopped, 18*second)
		for _, l := range m.Lines() {
			buf = m.Crossings(l, 18*second, buf[:0])
		}
		m.Current(20 * second)
	}
	cycle()
	assert.Zero(t, testing.AllocsPerRun(50, cycle))
}

// The yardstick is one step of the equations.
func BenchmarkMachine(b *testing.B) {
	m := moved(b, machined(lift()), StartAt(0))
	b.Run("Motor", func(b *testing.B) { // with all that comes of it worked out
		b.ReportAllocs()
		for b.Loop() {
			m.Reset(StartAt(0))
			m.Motor(motion.Opening, 0)
		}
		b.ReportMetric(float64(len(m.mover.nodes)), "stretches")
	})
	b.Run("Current", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			m.Current(5 * second)
		}
	})
	b.Run("yardstick", func(b *testing.B) {
		t := m.mover.d.segments[0].turning
		s := linear.State{}
		for b.Loop() {
			s = t.Bit(20).Apply(s, linear.Input{28000, -100})
		}
	})
	b.Run("Compile", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			lift().Compile()
		}
	})
	b.Run("Figures", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			m.mover.d.Figures(1)
		}
	})
}
