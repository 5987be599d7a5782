package fitness

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"
	"pgregory.net/rapid"

	"pintle/rig/rule"
	"pintle/rig/signal"
)

// arrivals makes readings of a meter whose interval is off, whose latency varies, and
// of which some are lost.
func arrivals(n int, interval float64, lost map[int]bool, late func(i int) time.Duration) []reading {
	var all []reading
	last := signal.Instant(-1)
	for i := range n {
		if lost[i] {
			continue
		}
		last = max(last, signal.Instant(interval*float64(i))+signal.Instant(late(i)))
		all = append(all, reading{at: last})
	}
	return all
}

// Whatever is lost is counted, however few or many, in a stream whose interval is off
// by up to a thousandth and whose samples come in packets.
func TestLostSamplesAreCounted(t *testing.T) {
	const interval = time.Millisecond
	rapid.Check(t, func(t *rapid.T) {
		n := rapid.IntRange(1000, 4000).Draw(t, "n")
		off := rapid.IntRange(-1000, 1000).Draw(t, "millionths")
		packet := rapid.SampledFrom([]int{1, 2, 5, 16}).Draw(t, "packet")
		jitter := rapid.Int64Range(0, int64(interval)/4).Draw(t, "jitter")
		spread := time.Duration(packet)*interval + time.Duration(jitter)
		block := blockOf(spread, interval)
		lost := map[int]bool{}
		for at := rapid.IntRange(2*block, 5*block).Draw(t, "first"); at < n-3*block; at += rapid.IntRange(3*block, 8*block).Draw(t, "next") {
			for range rapid.IntRange(1, 3).Draw(t, "row") {
				lost[at] = true
				at++
			}
		}
		seed := rapid.Uint64().Draw(t, "seed")
		exact := float64(interval) * (1 + float64(off)/1e6)
		got, err := follow(arrivals(n, exact, lost, func(i int) time.Duration {
			seed = seed*6364136223846793005 + 1442695040888963407
			wait := packet - 1 - i%packet // the packet goes when it is full
			return time.Duration(wait)*interval + time.Duration(int64(seed>>33)%(jitter+1))
		}), spread, interval, 0)
		if err != nil {
			t.Fatal(err)
		}
		if got.lost != len(lost) || got.extra != 0 {
			t.Fatalf("%d lost and %d too many of %d", got.lost, got.extra, len(lost))
		}
		if d := got.interval - exact; d > got.expanded || -d > got.expanded {
			t.Fatalf("interval %v ± %v, and it is %v", got.interval, got.expanded, exact)
		}
	})
}

// A sample that comes twice is counted too; one that is merely late is not.
func TestTwiceAndLate(t *testing.T) {
	const n = 1000
	even := arrivals(n, 1e6, nil, func(i int) time.Duration {
		if i >= 500 && i < 520 {
			return 20*time.Millisecond - time.Duration(i-500)*time.Millisecond
		}
		return 0
	})
	got, err := follow(even, time.Millisecond, time.Millisecond, 0)
	require.NoError(t, err)
	require.Zero(t, got.lost)
	require.Zero(t, got.extra)
	require.Equal(t, 21*time.Millisecond, got.gap)
	require.Equal(t, 20*time.Millisecond, got.swing.Round(time.Millisecond))

	twice := append(append([]reading(nil), even[:400]...), even[399:]...)
	got, err = follow(twice, time.Millisecond, time.Millisecond, 0)
	require.NoError(t, err)
	require.Equal(t, 1, got.extra)
	require.Zero(t, got.lost)
}

// A fit by least squares leaves more of a swing than there need be: of three points at
// 0, 0 and 3 it leaves 1.5 over and more, and a line from first to last 1.5 alone.
func TestLeastSwing(t *testing.T) {
	require.Equal(t, time.Duration(1500), leastSwing([]float64{0, 0, 3000}, []float64{0, 1, 2}, 3000).Round(2))
	require.Zero(t, leastSwing([]float64{0, 10, 20}, []float64{0, 1, 2}, 30))
}

func TestTooFewToTell(t *testing.T) {
	for n := range 128 {
		got, err := follow(arrivals(n, 1e6, nil, func(int) time.Duration { return 0 }), 0, time.Millisecond, 0)
		require.NoError(t, err)
		require.Zero(t, got.interval)
		require.Equal(t, n, got.count)
	}
}

// The confidence bounds of a standard deviation: the chi-squared quantiles of 99
// degrees of freedom in any handbook's table are 73.361 (2.5 %) and 128.422 (97.5 %)
// (NIST/SEMATECH e-Handbook of Statistical Methods, 1.3.6.7.4; from memory).
func TestSpreadOfADeviation(t *testing.T) {
	low, high := spread(1, 100)
	require.InDelta(t, 99/128.422, low*low, 1e-5)
	require.InDelta(t, 99/73.361, high*high, 1e-4)
}

// gonum's empirical quantile is the value of the smallest rank that covers the share:
// the nearest-rank definition (Hyndman and Fan, The American Statistician 50, 1996,
// definition 1). Of 1 to 1000 the 99.9th per cent is 999.
func TestQuantileIsNearestRank(t *testing.T) {
	x := make([]float64, 1000)
	for i := range x {
		x[i] = float64(i + 1)
	}
	for p, want := range map[float64]float64{0.5: 500, 0.99: 990, 0.999: 999, 1: 1000} {
		require.Equal(t, want, stat.Quantile(p, stat.Empirical, x, nil), p)
	}
}

// The verdict on the latency falls one nanosecond either side of what is stated.
func TestLatencyAtItsLimit(t *testing.T) {
	const least, most = 3 * time.Millisecond, 4 * time.Millisecond
	for _, c := range []struct {
		found []Range
		want  rule.Verdict
	}{
		{[]Range{{least, most}}, rule.Pass},
		{[]Range{{least, least}, {most, most}}, rule.Pass},
		{[]Range{{least - 1, most}}, rule.Inconclusive},
		{[]Range{{least, most + 1}}, rule.Inconclusive},
		{[]Range{{least - 5, least}, {most, most + 5}}, rule.Inconclusive},
		{[]Range{{least - 5, least - 1}, {least, most}}, rule.Fail},
		{[]Range{{least, most}, {most + 1, most + 5}}, rule.Fail},
	} {
		s := &session{}
		s.Facts.Meter.Least, s.Facts.Meter.Most = least, most
		var r Result
		s.judgeLatency(&r, c.found)
		require.Equal(t, c.want, r.Verdict, "%v", c.found)
		require.Equal(t, c.want != rule.Inconclusive, s.report.Measured.Latency != nil)
	}
}

// What is known of how evenly samples arrive narrows what many steps that are not sharp
// leave open, and widens what a few sharp ones found.
func TestArrivalsNarrowTheLatency(t *testing.T) {
	s := &session{even: true, swing: 10}
	s.Facts.Meter.Most = 1000
	var r Result
	s.judgeLatency(&r, []Range{{100, 200}, {150, 400}, {180, 300}})
	require.Equal(t, Range{170, 210}, *s.report.Measured.Latency)

	s.judgeLatency(&r, []Range{{100, 100}, {104, 104}})
	require.Equal(t, Range{97, 107}, *s.report.Measured.Latency)

	s.even = false // the arrivals of a meter without an exact interval say nothing
	s.judgeLatency(&r, []Range{{100, 100}, {104, 104}})
	require.Equal(t, Range{100, 104}, *s.report.Measured.Latency)
}

// Wilks's sample size for two-sided bounds that hold 95 % with a confidence of 95 % is
// 93, and 46 for 90 % of them (Wilks 1941; both sizes are in the usual tables, such as
// ISO 16269-6, from memory).
func TestHeldIsWilks(t *testing.T) {
	require.GreaterOrEqual(t, held(93), 0.95)
	require.Less(t, held(92), 0.95)
	require.GreaterOrEqual(t, held(46), 0.90)
	require.Less(t, held(45), 0.90)
	require.Zero(t, held(1))
}

func TestScale(t *testing.T) {
	var s scale
	for _, c := range []signal.Current{30, 90, 30, -60} {
		s.take(c)
	}
	require.Equal(t, signal.Current(30), s.step)
	require.Equal(t, signal.Current(90), s.peak)
	require.Len(t, s.seen, 3)
}

func BenchmarkFollow(b *testing.B) {
	all := arrivals(60_000, 1e6, map[int]bool{30_000: true}, func(i int) time.Duration { return time.Duration(i%7) * 10 * time.Microsecond })
	b.ReportAllocs()
	for b.Loop() {
		if got, err := follow(all, time.Millisecond, time.Millisecond, 100); err != nil || got.lost != 1 {
			b.Fatal(got, err)
		}
	}
}
