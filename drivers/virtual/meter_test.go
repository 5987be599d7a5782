package virtual

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig"
	"pintle/rig/signal"
)

// The window that a sample was taken in lies within what the bench says of it,
// and nothing tighter could be said.
func TestSpanOfASampleHoldsItsWindow(t *testing.T) {
	still := stepped(DefaultConfig().Motor, DefaultConfig().Battery)
	rapid.Check(t, func(r *rapid.T) {
		c := DefaultConfig().Meter
		c.Interval = time.Duration(rapid.Int64Range(10_000, 50_000_000).Draw(r, "interval"))
		c.Window = time.Duration(rapid.Int64Range(0, int64(c.Interval)).Draw(r, "window"))
		c.Spread = time.Duration(rapid.Int64Range(0, 40_000_000).Draw(r, "spread"))
		c.Jitter = time.Duration(rapid.Int64Range(0, 40_000_000).Draw(r, "jitter"))
		c.Latency = c.Spread + c.Jitter + time.Duration(rapid.Int64Range(0, 10_000_000).Draw(r, "more"))
		m := newMeter(c)
		m.reset(rapid.Uint64().Draw(r, "seed"))
		var ends []signal.Instant
		var before signal.Sample
		for range 400 {
			for m.next <= m.at {
				s := m.deliver()
				e := ends[0]
				ends = ends[1:]
				require.LessOrEqual(r, s.From, e.Add(-c.Window))
				require.GreaterOrEqual(r, s.To, e)
				require.Equal(r, m.facts.Most-m.facts.Least+c.Window, s.To.Sub(s.From))
				require.GreaterOrEqual(r, s.To, before.To, "samples keep their order")
				before = s
			}
			at, had := m.at, m.count
			m.boundary(still)
			if m.count > had {
				ends = append(ends, at)
			}
		}
		require.LessOrEqual(r, m.count, len(m.waiting), "the ring is long enough")
	})
}

// All latencies that the facts state do occur.
func TestLatenciesFillTheirRange(t *testing.T) {
	c := DefaultConfig()
	m := newMeter(c.Meter)
	least, most := time.Hour, time.Duration(0)
	still := stepped(c.Motor, c.Battery)
	for seed := range uint64(2000) {
		m.reset(seed)
		for range 50 {
			at, had := m.at, m.count
			m.boundary(still)
			if m.count > had {
				d := m.delivered.Sub(at)
				least, most = min(least, d), max(most, d)
			}
			for m.count > 0 {
				m.deliver()
			}
		}
	}
	assert.GreaterOrEqual(t, least, m.facts.Least)
	assert.LessOrEqual(t, most, m.facts.Most)
	assert.Less(t, least, m.facts.Least+20*time.Microsecond)
	assert.Greater(t, most, m.facts.Most-20*time.Microsecond)
}

func TestNoiseIsNormalEnough(t *testing.T) {
	c := DefaultConfig().Meter
	c.Resolution = 1
	m := newMeter(c)
	m.reset(1)
	const n = 200_000
	var sum, squares, beyond float64
	for range n {
		m.read(0)
		x := float64(m.deliver().Current)
		sum += x
		squares += x * x
		if math.Abs(x) > 1.959964*20_000 {
			beyond++
		}
	}
	assert.InDelta(t, 0, sum/n, 4*20_000/math.Sqrt(n), "mean")
	assert.InDelta(t, 20_000, math.Sqrt(squares/n), 4*20_000/math.Sqrt(2*n), "deviation")
	assert.InDelta(t, 0.05, beyond/n, 0.002, "normal distribution: one in twenty lies beyond 1.96 deviations")
}

func TestReadingsAreStepsOfTheResolutionWithinTheRange(t *testing.T) {
	c := DefaultConfig().Meter
	c.Noise, c.Resolution, c.Range = 0, 10_000, 5*signal.Ampere
	for _, v := range []struct {
		amperes float64
		want    signal.Current
	}{
		{0, 0}, {0.0049, 0}, {0.0051, 10_000}, {-0.0049, 0}, {-0.0051, -10_000},
		{4.996, 5_000_000}, {7, 5_000_000}, {-700, -5_000_000}, {1.2345, 1_230_000}, {1.2351, 1_240_000},
	} {
		m := newMeter(c)
		m.reset(1)
		m.read(v.amperes * m.perAmpere)
		assert.Equalf(t, v.want, m.deliver().Current, "%g A", v.amperes)
	}
}

// The mean over a window is exact: against the closed form of the current of a
// locked rotor, integrated over whatever window the meter has.
func TestWindowMean(t *testing.T) {
	for _, window := range []time.Duration{time.Microsecond, 300 * time.Microsecond, 3 * time.Millisecond, 10 * time.Millisecond} {
		c := exact()
		c.Meter.Window = window
		b, err := NewWith(c, 5, &stub{at: 1, open: High, close: Low})
		require.NoError(t, err)
		require.NoError(t, b.Plan(signal.StallLoad, []signal.Edge{made(0)}))
		require.NoError(t, b.Plan(signal.Supply, []signal.Edge{made(0)}))
		tau, end := c.Motor.Inductance/0.86, 25.6/0.86
		upTo := func(t signal.Instant) float64 { // charge since the origin
			s := max(0, t.Sub(1).Seconds())
			return end * (s - tau*(1-math.Exp(-s/tau)))
		}
		for range 5 {
			o, err := b.Next(second)
			for err == nil && o.Kind != rig.Sampled {
				o, err = b.Next(second)
			}
			require.NoError(t, err)
			s := o.Sample
			want := (upTo(s.To) - upTo(s.From)) / s.To.Sub(s.From).Seconds()
			require.InDelta(t, want, s.Current.Amperes(), 2e-6, "window %v: %v", window, s)
		}
	}
}

func TestInstantMeter(t *testing.T) {
	c := exact()
	c.Meter.Window = 0
	_, samples := turns(t, bench(t, c), 1, cycle, 9*second)
	last := samples[len(samples)-1]
	require.Equal(t, last.From, last.To)
	require.InDelta(t, 11, last.Current.Amperes(), 1e-4)
}
