package gate

import (
	"math"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/motion"
	"pintle/rig/signal"
)

// even draws a number below n, each as likely as any other: rapid's own draws
// favour small ones, and a gate that is always told at once goes nowhere.
func even(t *rapid.T, label string, n uint32) int {
	return int(rapid.Uint32().Draw(t, label) * 2654435761 >> 4 % n)
}

func drawTravel(t *rapid.T) Travel {
	total := 500 + even(t, "time", 9500)
	part := func(label string) time.Duration {
		if rapid.IntRange(0, 4).Draw(t, label+" at once") == 0 {
			return 0
		}
		return time.Duration(1+even(t, label, uint32(total))) * time.Millisecond
	}
	return Travel{time.Duration(total) * time.Millisecond, part("run-up"), part("coast") / 2}
}

func drawStop(t *rapid.T) Stop {
	return Stop{float64(even(t, "restitution", 10)) / 10, rapid.Float64Range(0.05, 5).Draw(t, "return")}
}

func drawSpec(t *rapid.T) Spec {
	s := Spec{Opening: drawTravel(t), Closing: drawTravel(t), Closed: drawStop(t), Open: drawStop(t)}
	lines := []signal.Line{signal.OpenLimit, signal.ClosedLimit, signal.HallTravel}
	for range rapid.IntRange(1, 5).Draw(t, "sensors") {
		from := float64(even(t, "from", 9800)) / 1e4
		s.Sensors = append(s.Sensors, Sensor{
			Line: rapid.SampledFrom(lines).Draw(t, "line"),
			From: from, To: min(1, from+rapid.Float64Range(0.001, 0.3).Draw(t, "width")),
			Hysteresis: rapid.SampledFrom([]float64{0, 0.003, 0.05}).Draw(t, "hysteresis"),
		})
	}
	return s
}

func drawStart(t *rapid.T) Start {
	s := StartAt(rapid.OneOf(rapid.SampledFrom([]float64{0, 1}), rapid.Float64Range(0, 1)).Draw(t, "position"))
	if rapid.IntRange(0, 3).Draw(t, "something in the way") == 0 {
		s.Obstacle = rapid.Float64Range(0, 1).Draw(t, "obstacle")
	}
	return s
}

// tell draws one thing that happens to the gate, and tells it.
func tell(t *rapid.T, m *Model, at signal.Instant) {
	switch what := even(t, "what", 10); what {
	case 0:
		m.Obstruct(rapid.Float64Range(-0.5, 1).Draw(t, "place"), at)
	case 1:
		m.Clear(at)
	default:
		m.Motor(motion.State(what%4), at)
	}
}

// perform draws a gate and what happens to it, and looks at it after each telling.
func perform(t *rapid.T, look func(m *Model, s *Spec)) {
	spec := drawSpec(t)
	m, err := New(&spec, drawStart(t))
	require.NoError(t, err)
	at := signal.Instant(0)
	for range rapid.IntRange(3, 10).Draw(t, "tellings") {
		at += signal.Instant(even(t, "later", 5_000_000)-50_000) * 1000
		was, told := m.Position(max(at, m.base)), max(at, m.base)
		tell(t, m, at)
		require.InDelta(t, was, m.Position(told), 1e-11, "the gate leapt when something was told")
		look(m, &spec)
	}
}

// instants are the instants to look at: a grid from the base until the gate has
// come to rest, and either side of every change of phase.
func instants(m *Model, n int) []signal.Instant {
	last := m.phases[len(m.phases)-1].t + 0.01
	var list []signal.Instant
	for i := range n {
		list = append(list, m.base+from(last*float64(i)/float64(n)))
	}
	for _, p := range m.phases {
		near := m.base + signal.Instant(p.t*1e9)
		list = append(list, near, near+1, near+2)
	}
	slices.Sort(list)
	return list
}

func TestPositionIsContinuous(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		perform(t, func(m *Model, s *Spec) {
			most := max(m.opening.cruise, m.closing.cruise)
			list := instants(m, 200)
			x, at := m.Position(list[0]), list[0]
			for _, next := range list[1:] {
				y := m.Position(next)
				require.True(t, y >= 0 && y <= 1, "off the travel: %v at %v", y, next)
				room := float64(most*next.Sub(at).Seconds()) + 1e-11
				require.LessOrEqual(t, math.Abs(y-x), room, "from %v to %v", at, next)
				require.LessOrEqual(t, math.Abs(m.Speed(next)), most+1e-9)
				x, at = y, next
			}
		})
	})
}

// Telling the same again, or working everything out anew from any instant on,
// changes nothing.
func TestSplittingAMotionChangesNothing(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		perform(t, func(m *Model, s *Spec) {
			whole, list := snapshot(m), instants(m, 20)
			at := rapid.SampledFrom(list).Draw(t, "split")
			m.Motor(m.motor, at)
			require.Equal(t, whole, snapshot(m))

			var want [][]signal.Edge
			for _, l := range m.Lines() {
				want = append(want, m.Crossings(l, at, nil))
			}
			places := positions(m, list)
			m.come(at)
			m.plan()
			for i, x := range positions(m, list) {
				if list[i] >= at {
					require.InDelta(t, places[i], x, 1e-11)
				}
			}
			for i, l := range m.Lines() {
				got := m.Crossings(l, at, nil)
				require.Len(t, got, len(want[i]), "%v: %v before, %v now", l, want[i], got)
				for k, e := range got {
					require.Equal(t, want[i][k].Level, e.Level)
					require.InDelta(t, 0, float64(e.At-want[i][k].At), 1+slack(m, e.At), "%v edge %d", l, k)
				}
			}
		})
	})
}

// slack is how many nanoseconds an error of 1e-13 travels in place is worth: near
// a turning point the gate is slow.
func slack(m *Model, at signal.Instant) float64 {
	return 1e9 * min(1e-13/max(math.Abs(m.Speed(at)), 1e-12), 1e-3)
}

type state struct {
	base   signal.Instant
	phases []phase
	edges  [][]signal.Edge
}

func snapshot(m *Model) state {
	s := state{m.base, slices.Clone(m.phases), nil}
	for _, l := range m.Lines() {
		s.edges = append(s.edges, m.Crossings(l, m.base, nil))
	}
	return s
}

func positions(m *Model, list []signal.Instant) []float64 {
	var xs []float64
	for _, at := range list {
		xs = append(xs, m.Position(at))
	}
	return xs
}

// sampled is a sensor's level worked out from nothing but where the gate is at
// many instants.
type sampled struct {
	Sensor
	level signal.Level
	x     float64 // at the instant before
}

// see takes the gate's next place. Between two instants it does not turn round,
// so it has been everywhere between the two places.
func (s *sampled) see(x float64) {
	if max(x, s.x) >= s.From && min(x, s.x) <= s.To {
		s.level = signal.Made
	}
	if x < s.From-s.Hysteresis || x > s.To+s.Hysteresis {
		s.level = signal.Broken
	}
	s.x = x
}

// tooClose says that a phase begins so near to a place at which the sensor
// changes that rounding decides.
func tooClose(m *Model, s Sensor) bool {
	return slices.ContainsFunc(m.phases, func(p phase) bool {
		for _, place := range []float64{s.From, s.To, s.From - s.Hysteresis, s.To + s.Hysteresis} {
			if d := math.Abs(p.x - place); d != 0 && d < 1e-8 {
				return true
			}
		}
		return false
	})
}

func TestCrossingsAgreeWithDenseSampling(t *testing.T) {
	edges := 0
	rapid.Check(t, func(t *rapid.T) {
		var sensors []sampled
		perform(t, func(m *Model, s *Spec) {
			sensors = sensors[:0]
			for i := range m.rows {
				for _, c := range m.rows[i].contacts {
					if tooClose(m, c.Sensor) {
						return
					}
					sensors = append(sensors, sampled{c.Sensor, c.first, m.phases[0].x})
				}
			}
			list := instants(m, 1000)
			for i, at := range list {
				x, made := m.Position(at), map[signal.Line]signal.Level{}
				for k := range sensors {
					sensors[k].see(x)
					made[sensors[k].Line] |= sensors[k].level
				}
				for line, want := range made {
					if got := m.Level(line, at); got != want {
						near := list[max(i-1, 0)]
						require.NotEqual(t, m.Level(line, near-1), m.Level(line, at+1), "%v at %v, position %v: model says %v", line, at, x, got)
					}
				}
			}
			for _, l := range m.Lines() {
				edges += len(m.Crossings(l, m.base, nil))
			}
		})
	})
	assert.Greater(t, edges, 20, "the draws must make the sensors change")
}

func TestCrossingsAlternate(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		perform(t, func(m *Model, s *Spec) {
			for _, l := range m.Lines() {
				after := rapid.SampledFrom(instants(m, 5)).Draw(t, "after")
				got := m.Crossings(l, after, nil)
				require.NoError(t, signal.Timeline{Initial: m.Level(l, after), Edges: got}.Check())
				for _, e := range got {
					require.Greater(t, e.At, after)
					require.Equal(t, e.Level, m.Level(l, e.At))
					require.Equal(t, e.Level.Not(), m.Level(l, e.At-1))
				}
			}
		})
	})
}

// The stall load is made exactly while the motor drives a gate that stays put.
func TestStallLoad(t *testing.T) {
	stalls := 0
	rapid.Check(t, func(t *rapid.T) {
		perform(t, func(m *Model, s *Spec) {
			for _, at := range instants(m, 100) {
				stalled := m.Level(signal.StallLoad, at) == signal.Made
				stays := m.Position(at) == m.Position(at+ms) && m.Position(at) == m.Position(at+second) && m.Speed(at) == 0
				if stalled {
					stalls++
					require.True(t, m.motor.Moving() && stays, "stalled at %v", at)
				} else if m.motor.Moving() {
					later := m.Level(signal.StallLoad, at+1) == signal.Made
					require.True(t, !stays || later, "not stalled at %v", at)
				}
			}
		})
	})
	assert.Greater(t, stalls, 100)
}

// walker is the same gate in small steps of time, straight from the description.
type walker struct {
	m    *Model // for its rates and barriers
	x, v float64
	hops *way
}

func (w *walker) step(dt float64) {
	a := 0.0
	switch drive := w.m.motor; {
	case drive.Moving():
		d, o := &w.m.opening, &w.m.closing
		if drive == motion.Closing {
			d, o = o, d
		}
		u := w.v * d.dir
		switch {
		case u < 0:
			a = d.dir * min(max(d.runUp, o.coast), -u/dt)
		case u < d.cruise:
			a = d.dir * min(d.runUp, (d.cruise-u)/dt)
		default:
			a = -d.dir * min(d.coast, (u-d.cruise)/dt)
		}
		w.hops = nil
	case w.hops != nil:
		a = w.hops.dir * w.hops.stop.Return
	default:
		going := &w.m.opening
		if w.v < 0 {
			going = &w.m.closing
		}
		a = -math.Copysign(min(going.coast, math.Abs(w.v)/dt), w.v)
	}
	w.x += w.v*dt + a*dt*dt/2
	w.v += a * dt
	for _, way := range []*way{&w.m.opening, &w.m.closing} {
		if place, stop := w.m.barrier(way); (w.x-place)*way.dir >= 0 && w.v*way.dir >= 0 {
			w.meet(way, place, stop)
		}
	}
}

func (w *walker) meet(to *way, place float64, stop bool) {
	w.x = place
	driven := w.m.motor == motion.Opening && to == &w.m.opening || w.m.motor == motion.Closing && to == &w.m.closing
	v := w.v * to.stop.Restitution
	switch {
	case stop && !driven && v*v/2 > leastHop*to.stop.Return:
		w.v = -v
		if !w.m.motor.Moving() {
			w.hops = to
		}
	case w.hops != nil && to != w.hops:
		w.v = 0
	default:
		w.v, w.hops = 0, nil
	}
}

// grazes is when a hop first comes so near to what is behind it that a small step
// decides whether it touches.
func grazes(m *Model) float64 {
	for i, p := range m.phases {
		if i == 0 || p.v != 0 || p.kind != hopsOffClosed && p.kind != hopsOffOpen {
			continue
		}
		back := &m.opening
		if p.kind == hopsOffOpen {
			back = &m.closing
		}
		if place, _ := m.barrier(back); math.Abs(p.x-place) < 0.01 {
			return p.t
		}
	}
	return math.Inf(1)
}

func TestModelAgreesWithSmallSteps(t *testing.T) {
	const dt = 1e-5
	rapid.Check(t, func(t *rapid.T) {
		spec := drawSpec(t)
		m, err := New(&spec, drawStart(t))
		require.NoError(t, err)
		w := walker{m: m, x: m.x}
		for range rapid.IntRange(1, 5).Draw(t, "tellings") {
			tell(t, m, m.base+signal.Instant(even(t, "later", 3000))*ms)
			// A new start from what the model says, so that errors do not add up.
			p := m.phases[0]
			w.x, w.v, w.hops = p.x, p.v, nil
			if p.kind == hopsOffClosed {
				w.hops = &m.closing
			} else if p.kind == hopsOffOpen {
				w.hops = &m.opening
			}
			for i := range int(min(3, grazes(m)) / dt) {
				at := m.base + signal.Instant(i)*signal.Instant(dt*1e9)
				if i%1000 == 0 {
					require.InDelta(t, m.Position(at), w.x, 2e-3, "at %v after the base", at-m.base)
				}
				w.step(dt)
			}
		}
	})
}

func TestModelAllocatesNothing(t *testing.T) {
	m := model(t, barrier(), StartAt(0))
	buf := make([]signal.Edge, 0, 64)
	cycle := func() {
		m.Reset(StartAt(0))
		m.Motor(motion.Opening, second)
		m.Obstruct(0.5, 2*second)
		m.Clear(8 * second)
		m.Motor(motion.Closing, 10*second)
		m.Motor(motion.Stopped, 18*second)
		for _, l := range m.Lines() {
			buf = m.Crossings(l, 18*second, buf[:0])
		}
	}
	cycle()
	assert.Zero(t, testing.AllocsPerRun(50, cycle))
}

// The yardstick is copying as many edges as the crossings are.
func BenchmarkModel(b *testing.B) {
	m := model(b, barrier(), StartAt(1))
	m.Motor(motion.Closing, 0)
	m.Motor(motion.Stopped, from(5.9))
	buf := make([]signal.Edge, 0, 64)
	b.Run("Crossings", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			buf = m.Crossings(signal.ClosedLimit, 0, buf[:0])
		}
	})
	b.Run("yardstick", func(b *testing.B) {
		b.ReportAllocs()
		edges := m.Crossings(signal.ClosedLimit, 0, nil)
		for b.Loop() {
			buf = append(buf[:0], edges...)
		}
	})
	b.Run("Motor", func(b *testing.B) { // with all that comes of it worked out
		b.ReportAllocs()
		for b.Loop() {
			m.Reset(StartAt(1))
			m.Motor(motion.Closing, 0)
			m.Motor(motion.Stopped, 5900*ms)
		}
	})
	b.Run("Level", func(b *testing.B) {
		b.ReportAllocs()
		for b.Loop() {
			m.Level(signal.ClosedLimit, 6*second)
		}
	})
}
