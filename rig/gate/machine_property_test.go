package gate

import (
	"cmp"
	"math"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/linear"
	"pintle/rig/motion"
	"pintle/rig/signal"
)

// drawMachine draws machines from light to heavy, some of which cannot move their
// gate, some of which are moved by it.
func drawMachine(t *rapid.T) *Machine {
	f := func(label string, from, to float64) float64 {
		return from + (to-from)*float64(even(t, label, 1000))/1000
	}
	m := &Machine{
		Travel: f("travel", 0.5, 3), Gear: f("gear", 200, 2000), Inertia: f("inertia", 0, 300), Celsius: f("celsius", -20, 50), Cable: f("cable", 0, 0.1),
		Friction: Friction{Coulomb: f("coulomb", 20, 800), Viscous: f("viscous", 0, 400)},
		Motor: Motor{Resistance: f("ohms", 0.3, 2), Inductance: f("henries", 1e-4, 2e-2), Constant: f("constant", 0.03, 0.2),
			Inertia: f("rotor", 5e-5, 1e-3), Viscous: f("drag", 0, 1e-4), PerCelsius: 0.00393},
		Battery: Battery{Volts: f("volts", 12, 28), Ohms: f("inside", 0, 0.1), OhmsPerCelsius: -0.0005},
	}
	m.Friction.Static = m.Friction.Coulomb * f("static", 1, 1.5)
	for i := range even(t, "points", 5) {
		m.Load = append(m.Load, LoadPoint{(float64(i) + f("place", 0, 0.9)) / 5, f("load", -300, 500)})
	}
	return m
}

// performMoved draws a gate with a machine, and looks at it after each telling.
func performMoved(t *rapid.T, look func(m *Model, s *Spec)) {
	spec := drawSpec(t)
	spec.Machine = drawMachine(t)
	m, err := New(&spec, drawStart(t))
	require.NoError(t, err)
	at := signal.Instant(0)
	for range rapid.IntRange(3, 8).Draw(t, "tellings") {
		at += signal.Instant(even(t, "later", 5_000_000)-50_000) * 1000
		if even(t, "supply", 6) == 0 {
			m.Supply(float64(even(t, "fraction", 12))/10, at)
		} else {
			tell(t, m, at)
		}
		look(m, &spec)
	}
}

// looksAt are instants from the base until the gate has come to rest, a grid and
// either side of every event.
func looksAt(m *Model, n int) []time.Duration {
	last := m.mover.nodes[len(m.mover.nodes)-1].at + 10*time.Millisecond
	var list []time.Duration
	for i := range n {
		list = append(list, last*time.Duration(i)/time.Duration(n))
	}
	return list
}

func TestMachineCrossingsAgreeWithDenseSampling(t *testing.T) {
	edges := 0
	rapid.Check(t, func(t *rapid.T) {
		performMoved(t, func(m *Model, s *Spec) {
			var sensors []sampled
			for i := range m.rows {
				for _, c := range m.rows[i].contacts {
					sensors = append(sensors, sampled{c.Sensor, c.first, m.Position(m.base)})
				}
			}
			for _, after := range looksAt(m, 300) {
				at := m.base.Add(after)
				x, made := m.Position(at), map[signal.Line]signal.Level{}
				require.True(t, x >= 0 && x <= 1)
				near := false
				for k := range sensors {
					c := &sensors[k]
					c.see(x)
					made[c.Line] |= c.level
					for _, place := range []float64{c.From, c.To, c.From - c.Hysteresis, c.To + c.Hysteresis} {
						near = near || math.Abs(x-place) < 1e-8
					}
				}
				for line, want := range made {
					if got := m.Level(line, at); got != want && !near {
						// It turned round between two looks.
						require.NotEqual(t, m.Level(line, at-signal.Instant(looksAt(m, 300)[1])), got, "%v at %v, position %v: model says %v", line, at, x, got)
						return
					}
				}
			}
			for _, l := range m.Lines() {
				list := m.Crossings(l, m.base, nil)
				edges += len(list)
				require.NoError(t, signal.Timeline{Initial: m.Level(l, m.base), Edges: list}.Check())
			}
		})
	})
	assert.Greater(t, edges, 20, "the draws must make the sensors change")
}

// Working everything out anew from any instant on changes nothing.
func TestSplittingAMachinesMotionChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		performMoved(t, func(m *Model, s *Spec) {
			list := looksAt(m, 20)
			split := m.base.Add(rapid.SampledFrom(list).Draw(t, "split"))
			var states []linear.State
			for _, d := range list {
				states = append(states, m.mover.state(d))
			}
			base := m.base
			m.come(split)
			m.plan()
			for i, d := range list {
				if at := base.Add(d); at >= split {
					got := m.mover.state(at.Sub(split))
					require.InDelta(t, states[i][2], got[2], 2e-6, "position at %v", at)
				}
			}
		})
	})
}

// The speed never changes at once, except where the gate meets something.
func TestMachineMovesSmoothly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		performMoved(t, func(m *Model, s *Spec) {
			p := m.mover
			for i := range p.nodes[:len(p.nodes)-1] {
				n, next := &p.nodes[i], &p.nodes[i+1]
				end := p.d.table(n).Over(next.at-n.at, n.s, n.u)
				require.InDelta(t, end[2], next.s[2], 1e-8)
				if meets := math.Abs(next.s[2]-p.lo.place) < 1e-7 || math.Abs(next.s[2]-p.hi.place) < 1e-7; !meets && i < len(p.nodes)-2 {
					require.InDelta(t, end[1], next.s[1], 1e-3*(1+math.Abs(n.s[1])), "node %d", i)
					require.InDelta(t, end[0], next.s[0], 1e-2, "node %d", i)
				}
				mid := p.state(n.at + (next.at-n.at)/2)
				require.GreaterOrEqual(t, float64(mid[1]*linear.Sign(next.s[2]-n.s[2])), -1e-6*(1+math.Abs(n.s[1])), "it does not turn round between nodes %d and %d", i, i+1)
			}
		})
	})
}

// potential is the energy that the load has taken up between closed and x, at the
// motor's shaft: its integral, worked out from the table of points alone.
func potential(m *Machine, x float64) float64 {
	torque := func(x float64) float64 {
		l := m.Load
		switch {
		case len(l) == 0:
			return 0
		case x <= l[0].Position:
			return l[0].Torque
		}
		for i := 1; i < len(l); i++ {
			if x <= l[i].Position {
				part := (x - l[i-1].Position) / (l[i].Position - l[i-1].Position)
				return l[i-1].Torque + part*(l[i].Torque-l[i-1].Torque)
			}
		}
		return l[len(l)-1].Torque
	}
	at := []float64{0}
	for _, p := range m.Load {
		if p.Position < x {
			at = append(at, p.Position)
		}
	}
	at = append(at, x)
	sum := 0.0
	for i := 1; i < len(at); i++ {
		sum += (torque(at[i-1]) + torque(at[i])) / 2 * (at[i] - at[i-1]) * m.Travel
	}
	return sum
}

// work integrates, until a stop takes energy or the gate rests, what the battery gives, what
// heats the circuit and what friction takes, in joules, by Simpson's rule. It ends in a state.
func (p *mover) work() (supplied, heat, friction float64, end linear.State) {
	end = p.nodes[0].s
	for i := range p.nodes[:len(p.nodes)-1] {
		n, next := &p.nodes[i], &p.nodes[i+1]
		if math.Abs(next.s[2]-0) < 1e-9 || math.Abs(next.s[2]-1) < 1e-9 {
			if next.s[2] != n.s[2] {
				break // a stop takes energy
			}
		}
		table, v := p.d.table(n), n.u[0]*p.d.machine.Motor.Inductance
		if n.regime == unpowered {
			v = 0
		}
		sum := func(weight float64, s linear.State) {
			supplied += weight * v * s[0]
			heat += weight * p.d.ohms * s[0] * s[0]
			friction += weight * (p.d.viscous*math.Abs(s[1]) + p.d.coulomb) * math.Abs(s[1])
		}
		const parts = 64
		step := (next.at - n.at) / (2 * parts)
		h := step.Seconds() / 3
		s := n.s
		for range parts {
			a, b := table.Over(step, s, n.u), table.Over(2*step, s, n.u)
			sum(h, s)
			sum(4*h, a)
			sum(h, b)
			s = b
		}
		rest := next.at - n.at - 2*parts*step // what whole nanoseconds have left over
		end = table.Over(rest, s, n.u)
		sum(rest.Seconds()/2, s)
		sum(rest.Seconds()/2, end)
	}
	return supplied, heat, friction, end
}

// Conservation of energy: what the battery gives is what heats the circuit, what
// friction takes, what the inductance and the moving masses hold, and what the load
// has been lifted by.
func TestEnergyBalance(t *testing.T) {
	moves, freed := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		machine := drawMachine(t)
		spec := &Spec{Machine: machine}
		m, err := New(spec, StartAt(float64(even(t, "start", 11))/10))
		require.NoError(t, err)
		state := motion.Opening
		if even(t, "way", 2) == 1 {
			state = motion.Closing
		}
		m.Motor(state, 0)
		at := signal.Instant(even(t, "when", 2000)) * ms
		if then := even(t, "then", 4); m.Position(at) > 0 && m.Position(at) < 1 {
			switch then {
			case 1:
				m.Motor(motion.Opening+motion.Closing-state, at)
			case 2:
				m.Motor(motion.Stopped, at) // the diodes give back to the battery what the winding holds
				freed++
			case 3:
				m.Supply(0.7, at)
			}
		}
		begin := m.mover.nodes[0].s
		supplied, heat, friction, end := m.mover.work()
		d := m.mover.d
		held := func(s linear.State) float64 {
			return machine.Motor.Inductance*s[0]*s[0]/2 + d.inertia*s[1]*s[1]/2 + potential(machine, s[2])
		}
		if end[2] != begin[2] {
			moves++
		}
		total := heat + friction + math.Abs(held(end)) + math.Abs(held(begin)) + 1e-3
		require.InDelta(t, 0, supplied-heat-friction-(held(end)-held(begin)), 2e-5*total, "of %v J", total)
	})
	assert.Greater(t, moves, 5)
	assert.Positive(t, freed)
}

// A telling is what happens to a gate at an instant.
type telling struct {
	at     signal.Instant
	supply float64
	state  motion.State
}

func drawStory(t *rapid.T) (story []telling) {
	for i := range 4 {
		story = append(story, telling{signal.Instant(i)*signal.Instant(even(t, "apart", 3000))*ms + 1,
			float64(5+even(t, "supply", 6)) / 10, []motion.State{motion.Stopped, motion.Opening, motion.Closing}[even(t, "state", 3)]})
	}
	slices.SortStableFunc(story, func(a, b telling) int { return cmp.Compare(a.at, b.at) })
	return story
}

// Whatever the machine, and whatever happens to it, every crossing is where it is however
// long the stretches are in which it is looked for: half as long, twice, a quarter.
func TestNoStretchMovesACrossing(t *testing.T) {
	first, most := firstBit, mostBit
	defer func() { firstBit, mostBit = first, most }()
	edges := 0
	rapid.Check(t, func(t *rapid.T) {
		spec, start := drawSpec(t), drawStart(t)
		spec.Machine = drawMachine(t)
		story := drawStory(t)
		told := func() (all []signal.Edge, speeds []float64) {
			m, err := New(&spec, start)
			require.NoError(t, err)
			for _, s := range story {
				m.Supply(s.supply, s.at)
				m.Motor(s.state, s.at)
				for _, l := range m.Lines() {
					all = m.Crossings(l, s.at, all)
				}
				// A plan of too many stretches is cut off: hours, of a gate that hardly moves.
				all = slices.DeleteFunc(all, func(e signal.Edge) bool { return e.At > 3600*second })
				for len(speeds) < len(all) {
					at := all[len(speeds)].At
					speeds = append(speeds, m.Speed(at-1))
				}
			}
			return all, speeds
		}
		firstBit, mostBit = first, most
		want, speeds := told()
		edges += len(want)
		for _, bits := range [][2]int{{first - 1, most - 1}, {first + 1, most}, {first - 10, most - 2}} {
			firstBit, mostBit = bits[0], bits[1]
			got, _ := told()
			require.Len(t, got, len(want), "stretches of 2^%d to 2^%d ns", bits[0], bits[1])
			for i := range got {
				require.Equal(t, want[i].Level, got[i].Level)
				within := 1000.0 // nanoseconds
				if math.Abs(speeds[i]) < 1e-9 {
					within = 1e6 // it comes to rest ever more slowly, until the last digit of its speed is gone
				}
				require.InDelta(t, float64(want[i].At), float64(got[i].At), within, "edge %d at %v travels a second with stretches of 2^%d to 2^%d ns", i, speeds[i], bits[0], bits[1])
			}
		}
	})
	assert.Greater(t, edges, 20)
}

// What is called steady is: looked at closely, the speed stays above zero.
func TestSteadyForIsSafe(t *testing.T) {
	steady := 0
	rapid.Check(t, func(t *rapid.T) {
		d, err := drawMachine(t).Compile()
		require.NoError(t, err)
		f := func(label string, most float64) float64 {
			return most * (float64(even(t, label, 2001)) - 1000) / 1000
		}
		p := &mover{d: d, drives: 1, supply: 1, lo: wall{place: -10}, hi: wall{place: 10}}
		p.s = linear.State{f("current", 30), f("speed", 300), 0.5 + f("place", 0.5)}
		if p.s[1] == 0 {
			return
		}
		p.settle()
		n := p.steadyFor(p.table(), linear.Bits-1, -1)
		if n < 0 {
			return
		}
		steady++
		for k := range time.Duration(400) {
			s := p.table().Over(k<<n/400, p.s, p.u)
			require.Positive(t, s[1]*p.way, "within 2^%d ns", n)
		}
	})
	assert.NotZero(t, steady)
}
