package live_test

import (
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/drivers/live"
	"pintle/drivers/virtual"
	"pintle/rig"
	"pintle/rig/signal"
)

// seen is all that a bench saw in its first seconds of one seed.
func seen(t *testing.T, b rig.Bench, until signal.Instant) (all []rig.Observation) {
	t.Helper()
	b.(rig.Reseeder).Reset(7)
	require.NoError(t, b.Plan(signal.Supply, []signal.Edge{{At: 1, Level: signal.Made}}))
	require.NoError(t, b.Plan(signal.Remote, []signal.Edge{{At: 1_600_000_000, Level: signal.Made}, {At: 1_800_000_000, Level: signal.Broken}}))
	for b.Now() < until {
		o, err := b.Next(min(until, b.Now().Add(20*time.Millisecond)))
		require.NoError(t, err)
		all = append(all, o)
	}
	return all
}

func TestPacedSeesTheSameAndTakesItsTime(t *testing.T) {
	const until = signal.Instant(3 * time.Second)
	inner, err := virtual.New(virtual.DefaultConfig(), 1)
	require.NoError(t, err)
	want := seen(t, inner, until)
	for factor, took := range map[float64]time.Duration{1: 3 * time.Second, 4: 750 * time.Millisecond} {
		synctest.Test(t, func(t *testing.T) {
			clock := live.NewClock()
			b := live.Paced(inner, clock, factor)
			began := clock()
			assert.Equal(t, want, seen(t, b, until))
			assert.InDelta(t, took.Seconds(), clock().Sub(began).Seconds(), 0.003)
			require.NoError(t, b.Close())
		})
	}
}
