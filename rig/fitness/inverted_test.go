package fitness_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/drivers/virtual"
	"pintle/rig"
	"pintle/rig/fitness"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// An inverted bench is one in whose file the supply's polarity is wrong: it is on where
// it should be off. It counts for how long the motor ran.
type inverted struct {
	*virtual.Bench
	ran time.Duration
}

func (b *inverted) Plan(l signal.Line, future []signal.Edge) error {
	if l != signal.Supply {
		return b.Bench.Plan(l, future)
	}
	other := make([]signal.Edge, len(future))
	for i, e := range future {
		other[i] = signal.Edge{At: e.At, Level: e.Level.Not()}
	}
	return b.Bench.Plan(l, other)
}

func (b *inverted) Next(until signal.Instant) (rig.Observation, error) {
	o, err := b.Bench.Next(until)
	if o.Kind == rig.Emitted && o.Line == signal.Supply {
		o.Level = o.Level.Not()
	}
	if o.Kind == rig.Sampled && o.Sample.Current.Abs() > signal.Ampere {
		b.ran += o.Sample.To.Sub(o.Sample.From)
	}
	return o, err
}

// Safe takes the supply off, as the bench believes.
func (b *inverted) Safe() error {
	if err := b.Bench.Safe(); err != nil {
		return err
	}
	return b.Plan(signal.Supply, []signal.Edge{{At: b.Now() + 1, Level: signal.Broken}})
}

// A supply that is on where it should be off is found by the first current that flows,
// and nothing more is driven, whether the controller takes so short a press or does not.
func TestASupplyThatIsOnWhenItShouldBeOff(t *testing.T) {
	for name, debounce := range map[string]time.Duration{"a controller that takes any press": 5 * ms, "one that does not": 30 * ms} {
		t.Run(name, func(t *testing.T) {
			c := config()
			c.Controller.RemoteDebounce, c.Controller.PowerUpQuiet = debounce, 0
			c.Controller.Loop, c.Controller.LoopJitter = 2*ms, 0
			inner, s := open(t, c)
			b := &inverted{Bench: inner}
			require.NoError(t, b.Safe())
			s.Guard = conductors(b)
			r, _ := fitness.Run(t.Context(), b, s)
			require.Equal(t, rule.Fail, r.Verdict)
			require.ErrorIs(t, r.Refuses(), fitness.ErrUnfit)
			require.LessOrEqual(t, b.ran, 500*ms, "for how long the motor ran")
			if b.ran > 0 {
				part, ok := r.Result("supply off")
				require.True(t, ok)
				require.Equal(t, rule.Fail, part.Verdict)
				require.Contains(t, part.Advice, "by hand")
			}
		})
	}
}

// A meter that is wired the wrong way round is found where the bench sees which way the
// controller drives, and where it does not that is said.
func TestTheMetersSign(t *testing.T) {
	for _, c := range []struct {
		name    string
		lines   signal.LineSet
		inverts bool
		want    rule.Verdict
	}{
		{"right", signal.SetOf(signal.DriveOpen, signal.DriveClose), false, rule.Pass},
		{"inverted", signal.SetOf(signal.DriveOpen, signal.DriveClose), true, rule.Fail},
		{"not seen", 0, true, rule.Inconclusive},
	} {
		t.Run(c.name, func(t *testing.T) {
			config := config()
			config.Lines |= c.lines
			b, s := open(t, config)
			bench := &tampered{Bench: b, change: func(_ *tampered, o *rig.Observation) bool {
				if c.inverts && o.Kind == rig.Sampled {
					o.Sample.Current = -o.Sample.Current
				}
				return true
			}}
			s.Guard = conductors(bench)
			r := run(t, bench, s)
			part, ok := r.Result("meter: sign")
			require.True(t, ok)
			require.Equal(t, c.want, part.Verdict, part.Reason)
		})
	}
}
