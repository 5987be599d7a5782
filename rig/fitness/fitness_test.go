package fitness_test

import (
	"os"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/drivers/virtual"
	"pintle/rig"
	"pintle/rig/fitness"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

const ms = time.Millisecond

// config is the default virtual bench with a relay in the motor's lead and a line that
// reads an output back.
func config() virtual.Config {
	c := virtual.DefaultConfig()
	c.Name = "boatyard bench"
	c.Lines |= signal.SetOf(signal.LeadCut)
	return c
}

func open(t *testing.T, c virtual.Config) (*virtual.Bench, fitness.Setup) {
	t.Helper()
	b, err := virtual.New(c, 7)
	require.NoError(t, err)
	t.Cleanup(func() { require.NoError(t, b.Close()) })
	s := fitness.Setup{Facts: b.Facts(), Identity: "meter 12", Expected: "meter 12", Lateness: 5 * time.Second, Rest: 5 * time.Second, Steps: 12, Drops: 2}
	s.Guard = conductors(b)
	return b, s
}

// conductors is the guard that the conductor sets over a bench.
func conductors(b rig.Bench) func(signal.Current) (rig.Bench, func() error, error) {
	return func(most signal.Current) (rig.Bench, func() error, error) {
		return rig.NewGuarded(b, rig.Guard{MostCurrent: most}, fitness.Setup{}.Motion), nil, nil
	}
}

func run(t *testing.T, b rig.Bench, s fitness.Setup) fitness.Report {
	t.Helper()
	r, err := fitness.Run(t.Context(), b, s)
	require.NoError(t, err)
	if os.Getenv("SHOW") != "" {
		require.NoError(t, r.Text(os.Stdout))
	}
	return r
}

func TestSoundBench(t *testing.T) {
	b, s := open(t, config())
	r := run(t, b, s)
	require.Empty(t, r.Failed())
	require.Equal(t, rule.Inconclusive, r.Verdict, "nothing reads the lines back")
}
