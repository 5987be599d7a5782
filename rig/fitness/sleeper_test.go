package fitness_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/rig"
	"pintle/rig/rule"
)

// A sleeper is a bench that is woken late.
type sleeper struct {
	rig.Bench
	late time.Duration
	told int
}

func (s *sleeper) Unwrap() rig.Bench { return s.Bench }

// Woke gives what would fail the check before the first edge, and what is right from then
// on.
func (s *sleeper) Woke() []time.Duration {
	woke := make([]time.Duration, 200)
	for i := range woke {
		woke[i] = s.late
		if s.told == 0 {
			woke[i] = time.Hour
		}
	}
	s.told++
	return woke
}

// The check times edges beside the machine's own scheduler where a bench can tell, and
// where time is simulated there is none.
func TestTheSchedulerIsAsked(t *testing.T) {
	b, s := open(t, config())
	r := run(t, b, s)
	_, there := r.Result("edges beside the scheduler")
	require.False(t, there)
	b, s = open(t, config())
	r = run(t, &sleeper{Bench: b, late: 60 * time.Microsecond}, s)
	part, there := r.Result("edges beside the scheduler")
	require.True(t, there)
	require.Equal(t, rule.Pass, part.Verdict, part.Reason)
	require.EqualValues(t, 60*time.Microsecond, part.Figures[3].Value, "those of before do not count")
	b, s = open(t, config())
	s.Facts.Virtual = false
	r = run(t, b, s)
	part, there = r.Result("edges beside the scheduler")
	require.True(t, there)
	require.Equal(t, rule.Inconclusive, part.Verdict, "a real bench that does not tell is no pass")
}
