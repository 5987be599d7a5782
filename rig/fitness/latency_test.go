package fitness_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/rig/fitness"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// The latency that the virtual meter really has is found, whatever its window and its
// interval are, to within the doubt that is told.
func TestLatencyIsTheTrueOne(t *testing.T) {
	for _, c := range []struct{ interval, window, latency, doubt time.Duration }{
		{ms, ms, 3 * ms, 60 * time.Microsecond},
		{ms, ms, 0, 60 * time.Microsecond},
		{ms, ms / 2, 3 * ms, 600 * time.Microsecond},
		{ms, 0, 2 * ms, 1100 * time.Microsecond},
		{10 * ms, 10 * ms, 16 * ms, 500 * time.Microsecond},
		{20 * ms, 5 * ms, 16 * ms, 16 * ms},
		{500 * time.Microsecond, 500 * time.Microsecond, 4 * ms, 60 * time.Microsecond},
	} {
		t.Run(fmt.Sprint(c.interval, c.window, c.latency), func(t *testing.T) {
			v := config()
			v.Meter.Interval, v.Meter.Window, v.Meter.Latency, v.Meter.Spread, v.Meter.Jitter = c.interval, c.window, c.latency, 0, 0
			b, s := open(t, v)
			s.Facts.Meter.Least, s.Facts.Meter.Most = max(0, c.latency-2*c.doubt), c.latency+2*c.doubt
			r := run(t, &tampered{Bench: b, change: restamp(loop, s.Facts.Meter)}, s)
			part, ok := r.Result("meter: latency")
			require.True(t, ok)
			least, most := figure(t, part, "least"), figure(t, part, "most")
			require.LessOrEqual(t, least, c.latency, "the least")
			require.GreaterOrEqual(t, most, c.latency, "the most")
			require.LessOrEqual(t, most-least, c.doubt, "and no wider than need be")
			require.Equal(t, rule.Pass, part.Verdict, part.Reason)
		})
	}
}

func figure(t *testing.T, r fitness.Result, name string) time.Duration {
	t.Helper()
	for _, f := range r.Figures {
		if f.Name == name {
			return time.Duration(f.Value)
		}
	}
	require.Failf(t, "no such figure", "%s in %s", name, r.Name)
	return 0
}

// A step that the current follows only after some time that is known just roughly
// leaves the latency open; one that is known well is taken off.
func TestStepThatTakesItsTime(t *testing.T) {
	v := config()
	v.Lines &^= signal.SetOf(signal.LeadCut) // the supply makes the step
	for _, c := range []struct {
		follows fitness.Range
		want    rule.Verdict
	}{
		{fitness.Range{}, rule.Pass},
		{fitness.Range{Least: 0, Most: ms / 4}, rule.Pass},
		{fitness.Range{Least: 0, Most: 20 * ms}, rule.Inconclusive},
		{fitness.Range{Least: 10 * ms, Most: 10 * ms}, rule.Fail},
	} {
		b, s := open(t, v)
		s.Step.Follows = c.follows
		r := run(t, b, s)
		part, _ := r.Result("meter: latency")
		require.Equal(t, c.want, part.Verdict, "%v: %s", c.follows, part.Reason)
		require.Equal(t, c.want != rule.Inconclusive, r.Measured.Latency != nil)
	}
}

// The motor is stalled instead: its current rises as winding and inductance let it.
func TestStepByStall(t *testing.T) {
	v := config()
	v.Meter.Spread, v.Meter.Jitter = 0, 0
	b, s := open(t, v)
	s.Facts.Meter.Least, s.Facts.Meter.Most = 2*ms, 4*ms
	tau := 1200 * time.Microsecond / 860 * 1000 // 1.2 mH over 0.86 ohm
	s.Step = fitness.Step{Line: signal.StallLoad, Level: signal.Made, Follows: fitness.Range{Least: tau / 2, Most: tau * 3 / 2}}
	r := run(t, &tampered{Bench: b, change: restamp(loop, s.Facts.Meter)}, s)
	part, _ := r.Result("meter: latency")
	require.NotEqual(t, rule.Fail, part.Verdict, part.Reason)
	require.LessOrEqual(t, figure(t, part, "least"), 3*ms)
	require.GreaterOrEqual(t, figure(t, part, "most"), 3*ms)
}
