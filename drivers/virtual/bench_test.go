package virtual

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/drivers/benchtest"
	"pintle/rig"
	"pintle/rig/signal"
)

func TestContract(t *testing.T) {
	coarse := DefaultConfig()
	coarse.Meter.Interval, coarse.Meter.Window = 100*time.Millisecond, 40*time.Millisecond
	coarse.Meter.Latency, coarse.Meter.Spread, coarse.Meter.Jitter = 300*time.Millisecond, 100*time.Millisecond, 200*time.Millisecond
	whole := DefaultConfig()
	whole.Lines = signal.LineSet(1<<signal.LineCount - 2)
	for name, c := range map[string]Config{"default": DefaultConfig(), "coarse meter": coarse, "all lines": whole, "exact": exact()} {
		t.Run(name, func(t *testing.T) {
			benchtest.Contract(t, func(t *testing.T) (rig.Bench, rig.Facts) {
				b := bench(t, c)
				return b, b.Facts()
			})
		})
	}
}

// busy is a stimulus that brings everything out: drives both ways, a stall, a
// bounce, the beam, a dip and a loss of the supply.
var busy = stimulus{
	signal.Supply:      {made(0), broken(16 * second), made(17 * second)},
	signal.ClosedLimit: {made(0), broken(3 * second), made(9 * second), broken(9*second + ms), made(9*second + 2*ms)},
	signal.OpenLimit:   {made(5 * second), broken(7 * second)},
	signal.Remote:      presses(press1, 6*second, 10*second, 20*second),
	signal.Beam:        {made(8 * second), broken(8*second + 300*ms)},
	signal.StallLoad:   {made(11 * second), broken(14 * second)},
	signal.SupplyDip:   {made(2500 * ms), broken(2900 * ms)},
}

func busyConfig() Config {
	c := DefaultConfig()
	c.Lines |= signal.SetOf(signal.DriveOpen, signal.DriveClose, signal.SupplyDip)
	return c
}

const busyTime = 25 * second

func performed(t testing.TB, b *Bench, stride time.Duration) uint64 {
	busy.plan(t, b)
	return digest(t, b, busyTime, stride)
}

func TestSameSeedSameObservations(t *testing.T) {
	one, other := bench(t, busyConfig()), bench(t, busyConfig())
	one.Reset(7)
	first := performed(t, one, time.Hour)
	one.Reset(8)
	require.NotEqual(t, first, performed(t, one, time.Hour), "another seed, another trial")
	one.Reset(7)
	require.Equal(t, first, performed(t, one, time.Hour), "reset is as good as new")
	other.Reset(7)
	require.Equal(t, first, performed(t, other, time.Hour), "another bench")
	fresh, err := New(busyConfig(), 7)
	require.NoError(t, err)
	require.Equal(t, first, performed(t, fresh, time.Hour), "a new bench")
}

// The digest of one trial, so that another machine can be seen to come to the
// same one: run this test there.
func TestSameObservationsOnEveryMachine(t *testing.T) {
	b, err := New(busyConfig(), 7)
	require.NoError(t, err)
	require.Equal(t, "7f00fb99ee03410b", fmt.Sprintf("%016x", performed(t, b, time.Hour)))
}

// How often and where Next is asked to stop must not show.
func TestUntilDoesNotShow(t *testing.T) {
	c := busyConfig()
	for _, defects := range [][]string{nil, {"no debounce of limits", "no debounce of the button"}, {"obeys a glitch on the beam", "obeys a glitch on a limit", "comes back driving after a reset", "resets when the supply sags"}, {"a press calls a stop off", "hangs when two remotes are pressed", "run time stands still while the supply dips", "slower to stop with each drive"}, {"held button repeats", "tries again after a stall", "moves by itself when supply returns"}} {
		c.Controller.Defects = defects
		for _, w := range []time.Duration{0, 300 * time.Microsecond, time.Millisecond} {
			c.Meter.Window = w
			b := bench(t, c)
			want := performed(t, b, time.Hour)
			for _, stride := range []time.Duration{57 * time.Microsecond, 250 * time.Microsecond, time.Millisecond, 7777777, time.Second} {
				b.Reset(0)
				require.Equalf(t, want, performed(t, b, stride), "%v, window %v, stride %v", defects, w, stride)
			}
		}
	}
}

// The same with plans changed on the way, at instants of the observations.
func TestUntilDoesNotShowBetweenPlans(t *testing.T) {
	lines := []signal.Line{signal.Remote, signal.OpenLimit, signal.ClosedLimit, signal.Supply, signal.StallLoad, signal.Beam,
		signal.SecondRemote, signal.SupplyDip, signal.SupplySag, signal.LeadCut, signal.MotorShort, signal.DragLoad}
	b, other := bench(t, exactly()), bench(t, exactly())
	rapid.Check(t, func(r *rapid.T) {
		seed := rapid.Uint64().Draw(r, "seed")
		stride := time.Duration(rapid.Int64Range(20_000, 3_000_000).Draw(r, "stride"))
		b.Reset(seed)
		other.Reset(seed)
		require.NoError(r, b.Plan(signal.Supply, []signal.Edge{made(0)}))
		require.NoError(r, other.Plan(signal.Supply, []signal.Edge{made(0)}))
		for range rapid.IntRange(1, 12).Draw(r, "plans") {
			line := rapid.SampledFrom(lines).Draw(r, "line")
			var future []signal.Edge
			at := b.Now().Add(time.Duration(rapid.Int64Range(-5, 400).Draw(r, "begin")) * time.Millisecond)
			for range rapid.IntRange(0, 5).Draw(r, "edges") {
				future = append(future, signal.Edge{At: at, Level: signal.Level(rapid.IntRange(0, 1).Draw(r, "level"))})
				at = at.Add(time.Duration(rapid.Int64Range(1, 300_000_000).Draw(r, "gap")))
			}
			require.NoError(r, b.Plan(line, future))
			require.NoError(r, other.Plan(line, future))
			until := b.Now().Add(time.Duration(rapid.Int64Range(0, 1500).Draw(r, "stretch")) * time.Millisecond)
			require.Equal(r, digest(t, b, until, time.Hour), digest(t, other, until, stride))
			require.Equal(r, b.Now(), other.Now())
		}
	})
}

func exactly() Config {
	c := exact()
	c.Controller.LoopJitter = 3 * time.Millisecond
	c.Controller.PowerUpQuiet = 100 * time.Millisecond
	c.Controller.BrownOut = 12
	return c
}

func edges(t *testing.T, b *Bench, until signal.Instant) (list []rig.Observation) {
	t.Helper()
	for {
		o, err := b.Next(until)
		require.NoError(t, err)
		switch o.Kind {
		case rig.Reached:
			require.Equal(t, signal.At(until), o.Span)
			return list
		case rig.Emitted:
			list = append(list, o)
		}
	}
}

func emitted(l signal.Line, v signal.Level, at, meant signal.Instant) rig.Observation {
	return rig.Observation{Kind: rig.Emitted, Line: l, Level: v, Span: signal.At(at), Planned: meant}
}

func TestPlanInThePast(t *testing.T) {
	b := bench(t, DefaultConfig())
	require.Empty(t, edges(t, b, second))
	require.NoError(t, b.Plan(signal.Remote, []signal.Edge{made(3), broken(5), made(second), broken(second + 1), made(second + 9)}))
	require.Equal(t, []rig.Observation{
		emitted(signal.Remote, signal.Made, second, 3),
		emitted(signal.Remote, signal.Broken, second+1, 5),
		emitted(signal.Remote, signal.Made, second+2, second),
		emitted(signal.Remote, signal.Broken, second+3, second+1),
		emitted(signal.Remote, signal.Made, second+9, second+9),
	}, edges(t, b, 2*second), "none is lost, and time rises")
}

func TestOfOneInstantTheLowerLineComesFirst(t *testing.T) {
	b := bench(t, DefaultConfig())
	require.NoError(t, b.Plan(signal.Supply, []signal.Edge{made(5)}))
	require.NoError(t, b.Plan(signal.Remote, []signal.Edge{made(5)}))
	require.Equal(t, []rig.Observation{emitted(signal.Remote, signal.Made, 5, 5), emitted(signal.Supply, signal.Made, 5, 5)}, edges(t, b, 5))
	require.Empty(t, edges(t, b, 5))
	require.Empty(t, edges(t, b, 3), "an instant gone by")
	require.Equal(t, signal.Instant(5), b.Now())
}

func TestPlanThatCannotBe(t *testing.T) {
	b := bench(t, DefaultConfig())
	for _, c := range []struct {
		line   signal.Line
		future []signal.Edge
		says   string
	}{
		{signal.HallTravel, nil, "no line hall-travel"},
		{signal.NoLine, nil, "no line line 0"},
		{200, nil, "no line line 200"},
		{signal.Remote, []signal.Edge{made(4), broken(4)}, "edge 1 at 4ns is not after the one before it at 4ns"},
		{signal.Remote, []signal.Edge{{At: 1, Level: 2}}, "level 2"},
	} {
		require.ErrorContains(t, b.Plan(c.line, c.future), c.says)
	}
	whole := bench(t, exact())
	require.ErrorContains(t, whole.Plan(signal.DriveOpen, nil), "only sees it")
	require.NoError(t, b.Close())
	require.ErrorIs(t, b.Plan(signal.Remote, nil), errClosed)
	_, err := b.Next(1)
	require.ErrorIs(t, err, errClosed)
	b.Reset(1)
	require.NoError(t, b.Plan(signal.Remote, nil), "reset opens it again")
}

func TestSafeStopsTheMotor(t *testing.T) {
	b := bench(t, exact())
	cycle.plan(t, b)
	edges(t, b, 5*second)
	require.Equal(t, opening, b.controller.(*porter).drive)
	require.NoError(t, b.Safe())
	require.NoError(t, b.Safe())
	require.Equal(t, []rig.Observation{emitted(signal.Supply, signal.Broken, 5*second, 5*second)}, edges(t, b, 5*second+25*ms)[:1], "the logic outlives its supply a little")
	require.Equal(t, HighZ, b.controller.Output(signal.DriveOpen))
	require.Zero(t, b.motor.Current(b.Now()))
	require.Empty(t, edges(t, b, 60*second), "every plan is forgotten")
}

// A bench whose board is a stub: both outputs high is taken for off, and the
// supply line wins over whatever the outputs say.
func TestBridge(t *testing.T) {
	stub := &stub{}
	b, err := NewWith(exact(), 1, stub)
	require.NoError(t, err)
	require.NoError(t, b.Plan(signal.Supply, []signal.Edge{made(0), broken(4 * second)}))
	for _, v := range []struct {
		at          signal.Instant
		open, close PinState
		amperes     float64
	}{
		{second, High, Low, 11}, {2 * second, High, High, 0}, {3 * second, HighZ, High, -7.5}, {4 * second, HighZ, High, 0},
	} {
		stub.at, stub.open, stub.close = v.at-second+1, v.open, v.close
		edges(t, b, v.at)
		b.motor.advance(b.Now() + 5*ms)
		assert.InDeltaf(t, v.amperes, b.motor.current(), 1e-3, "%v", v)
	}
}

type stub struct {
	at, ran     signal.Instant
	open, close PinState
}

func (s *stub) Reset(uint64, Shunt)                               {}
func (s *stub) Plan(signal.Line, signal.Instant, signal.Timeline) {}
func (s *stub) Run(until signal.Instant) (signal.Instant, bool) {
	s.ran = until
	if s.at > 0 && s.at <= until {
		at := s.at
		s.at = 0
		return at, true
	}
	return until, false
}
func (s *stub) Output(l signal.Line) PinState {
	if l == signal.DriveOpen {
		return s.open
	}
	return s.close
}

// Until the last edge of an instant is out, its plan can still be taken back, so
// the controller must not have been there.
func TestTheControllerSeesNoEdgeBeforeItIsOut(t *testing.T) {
	stub := &stub{}
	b, err := NewWith(exact(), 1, stub)
	require.NoError(t, err)
	require.NoError(t, b.Plan(signal.Remote, []signal.Edge{made(second)}))
	require.NoError(t, b.Plan(signal.Supply, []signal.Edge{made(second)}))
	for range 2 {
		o, err := b.Next(second)
		for err == nil && o.Kind == rig.Sampled {
			o, err = b.Next(second)
		}
		require.NoError(t, err)
		require.Equal(t, rig.Emitted, o.Kind)
		require.Equal(t, second-1, stub.ran)
	}
	require.Empty(t, edges(t, b, second))
	require.Equal(t, second, stub.ran)
}

// A line that is planned again at the very instant of its edge keeps that edge,
// for the controller too.
func TestPlanAgainAtTheInstantOfAnEdge(t *testing.T) {
	for _, defects := range [][]string{nil, {"no debounce of the button"}} {
		b := bench(t, exact(defects...))
		for _, line := range []signal.Line{signal.Supply, signal.Remote} {
			require.NoError(t, b.Plan(line, []signal.Edge{made(b.Now() + second), broken(b.Now() + 2*second)}))
			o, err := b.Next(10 * second)
			for err == nil && o.Kind != rig.Emitted {
				o, err = b.Next(10 * second)
			}
			require.NoError(t, err)
			require.NoError(t, b.Plan(line, nil))
			edges(t, b, b.Now()+3*second)
		}
		require.Equalf(t, opening, b.controller.(*porter).drive, "%v: supplied, pressed, and on its way", defects)
	}
}
