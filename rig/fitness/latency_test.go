package fitness_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/drivers/virtual"
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

// Whatever the meter is like, a statement that holds is never failed, and one that no
// latency keeps is never passed.
func TestNoFalseWordOnLatency(t *testing.T) {
	outer := t
	rapid.Check(t, func(t *rapid.T) {
		v := config()
		us := func(name string, low, high int) time.Duration {
			return time.Duration(rapid.IntRange(low, high).Draw(t, name)) * time.Microsecond
		}
		m := &v.Meter
		m.Interval = us("interval", 500, 20_000)
		m.Window = time.Duration(rapid.IntRange(0, 4).Draw(t, "quarters")) * m.Interval / 4
		m.Jitter = us("jitter", 0, int(m.Interval/3/time.Microsecond))
		m.Latency, m.Spread = m.Jitter+us("latency", 0, 20_000), 0
		m.Noise = signal.Current(rapid.IntRange(0, 50_000).Draw(t, "noise"))
		b, err := virtual.New(v, rapid.Uint64().Draw(t, "seed"))
		if err != nil {
			t.Fatal(err)
		}
		shift := time.Duration(rapid.IntRange(-1, 1).Draw(t, "shift")) * (2*m.Jitter + us("by", 1, 5000))
		s := fitness.Setup{Facts: b.Facts(), Lateness: 50 * ms, Bursts: 1, Rest: 150 * m.Interval, Steps: 5, Drops: 1}
		s.Facts.Meter.Least, s.Facts.Meter.Most = m.Latency-m.Jitter+shift, m.Latency+m.Jitter+shift
		if s.Facts.Meter.Least < 0 {
			t.Skip("no latency is negative")
		}
		r, err := fitness.Run(outer.Context(), &tampered{Bench: b, change: restamp(loop, s.Facts.Meter)}, s)
		if err != nil {
			t.Fatal(err)
		}
		part, _ := r.Result("meter: latency")
		if shift == 0 && part.Verdict == rule.Fail || shift != 0 && part.Verdict == rule.Pass || part.Verdict == rule.Unsettled {
			t.Fatalf("shifted by %v: %v: %s", shift, part.Verdict, part.Reason)
		}
	})
}

// Of a slow meter few readings come before a step, and their deviation may happen to be far
// less than the noise that is stated: one in seven thousand sound benches was failed for it.
func TestNoiseOfFewReadings(t *testing.T) {
	for _, c := range []struct {
		interval time.Duration
		noise    signal.Current
		lead     bool
		seed     uint64
	}{{8441 * time.Microsecond, 5967, true, 0x202}, {18_513 * time.Microsecond, 7847, false, 0}} {
		v := config()
		m := &v.Meter
		m.Interval, m.Window, m.Jitter, m.Spread, m.Latency = c.interval, 0, 0, 0, 0
		m.Noise, m.Resolution = c.noise, 1
		if !c.lead {
			v.Lines &^= signal.SetOf(signal.LeadCut)
		}
		b, err := virtual.New(v, c.seed)
		if err != nil {
			t.Fatal(err)
		}
		s := fitness.Setup{Facts: b.Facts(), Lateness: 50 * ms, Bursts: 1, Rest: 300 * m.Interval, Steps: 5, Drops: 1, Guard: conductors(b)}
		s.Step.Follows.Most = ms / 2 // against the diodes
		r, err := fitness.Run(t.Context(), b, s)
		if err != nil {
			t.Fatal(err)
		}
		if failed := r.Failed(); failed != nil {
			part, _ := r.Result(failed[0])
			t.Fatalf("%v: %+v", failed, part)
		}
	}
}

// A bench that is as it says is never failed, whatever its meter is like.
func TestNoFalseAlarm(t *testing.T) {
	outer := t
	rapid.Check(t, func(t *rapid.T) {
		v := config()
		us := func(name string, low, high int) time.Duration {
			return time.Duration(rapid.IntRange(low, high).Draw(t, name)) * time.Microsecond
		}
		m := &v.Meter
		m.Interval = us("interval", 500, 20_000)
		m.Window = time.Duration(rapid.IntRange(0, 4).Draw(t, "quarters")) * m.Interval / 4
		m.Jitter = us("jitter", 0, int(m.Interval/3/time.Microsecond))
		m.Spread = us("spread", 0, 5000)
		m.Latency = m.Jitter + m.Spread + us("latency", 0, 20_000)
		m.Noise = signal.Current(rapid.IntRange(0, 50_000).Draw(t, "noise"))
		m.Resolution = signal.Current(rapid.IntRange(1, 100_000).Draw(t, "resolution"))
		if rapid.Bool().Draw(t, "supply") {
			v.Lines &^= signal.SetOf(signal.LeadCut)
		}
		b, err := virtual.New(v, rapid.Uint64().Draw(t, "seed"))
		if err != nil {
			t.Fatal(err)
		}
		s := fitness.Setup{Facts: b.Facts(), Lateness: 50 * ms, Bursts: 1, Rest: 300 * m.Interval, Steps: 5, Drops: 1, Guard: conductors(b)}
		s.Step.Follows.Most = ms / 2 // against the diodes
		r, err := fitness.Run(outer.Context(), b, s)
		if err != nil {
			t.Fatal(err)
		}
		if failed := r.Failed(); failed != nil {
			part, _ := r.Result(failed[0])
			t.Fatalf("%v: %+v", failed, part)
		}
	})
}
