package rig_test

import (
	"errors"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/drivers/benchtest"
	"pintle/rig"
	"pintle/rig/motion"
	"pintle/rig/signal"
)

// The guard over a bench trips at its threshold and not a microampere below, gives the
// sample first, makes the bench safe by then, and stays so.
func TestGuardedTripsAndStays(t *testing.T) {
	f := benchtest.NewFake()
	f.Draw = func(at signal.Instant) signal.Current {
		switch {
		case at < signal.Instant(10*time.Millisecond):
			return 4_999_999
		case f.Level(signal.Supply) == signal.Made:
			return 5_000_000
		}
		return 0
	}
	g := rig.NewGuarded(f, rig.Guard{MostCurrent: 5 * signal.Ampere}, motion.Thresholds{Runs: 1, Stops: 1})
	require.Nil(t, g.Tripped())
	require.NoError(t, g.Plan(signal.Supply, []signal.Edge{{At: 1, Level: signal.Made}}))
	var last rig.Observation
	for {
		o, err := g.Next(signal.Instant(time.Second))
		require.NoError(t, err)
		if o.Kind == rig.Trouble {
			require.Equal(t, rig.GuardCurrent, o.Trouble.Code)
			break
		}
		require.Equal(t, o.Kind == rig.Sampled && o.Sample.Current == 5*signal.Ampere, f.Safes > 0, "safe at once, and not before")
		last = o
	}
	require.Equal(t, 5*signal.Ampere, last.Sample.Current, "the sample comes before the trouble that it makes")
	require.Equal(t, 1, f.Safes)
	require.Equal(t, rig.GuardCurrent, g.Tripped().Code)
	require.Equal(t, signal.Broken, f.Level(signal.Supply))
	require.Error(t, g.Plan(signal.Supply, nil))
	for range 5 {
		o, err := g.Next(signal.Instant(time.Second))
		require.NoError(t, err)
		require.NotEqual(t, rig.Trouble, o.Kind, "it is told once")
	}
}

func TestGuardedWhoseBenchWillNotBeSafe(t *testing.T) {
	f := benchtest.NewFake()
	f.Failed = errors.New("the lines are gone")
	f.About.Meter.Interval = 0 // a meter that never speaks
	g := rig.NewGuarded(f, rig.Guard{MeterSilence: time.Millisecond}, motion.Thresholds{})
	_, err := g.Next(signal.Instant(2 * time.Millisecond))
	require.ErrorIs(t, err, f.Failed)
	require.Error(t, g.Plan(signal.Remote, nil))
}
