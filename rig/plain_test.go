package rig

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/motion"
	"pintle/rig/signal"
)

// Whether samples are vetted many at once or one by one, the same is found, and the same
// is known afterwards.
func TestVettingManyAtOnceFindsTheSame(t *testing.T) {
	const interval = time.Millisecond
	rapid.Check(t, func(r *rapid.T) {
		job := &Job{
			Motion: motion.Thresholds{Runs: 1500, Stops: 1000},
			Guard:  Guard{MostCurrent: rapid.SampledFrom([]signal.Current{0, 5000}).Draw(r, "most current"), LongestDrive: rapid.SampledFrom([]time.Duration{0, 40 * interval, time.Hour}).Draw(r, "longest drive")},
			Meter:  MeterFacts{Interval: interval, Most: rapid.SampledFrom([]time.Duration{0, interval}).Draw(r, "most delay"), Range: rapid.SampledFrom([]signal.Current{0, 6000}).Draw(r, "range"), Resolution: 10, Steady: rapid.Bool().Draw(r, "steady")},
		}
		var quick, slow vetting
		quick.reset(job)
		slow.reset(job)
		from := signal.Instant(rapid.Int64Range(-3, 2).Draw(r, "begin") * int64(interval))
		for range rapid.IntRange(1, 5).Draw(r, "pages") {
			var page []signal.Sample
			for range rapid.IntRange(1, 4).Draw(r, "stretches") {
				level := rapid.SampledFrom([]signal.Current{0, 900, 1000, 1200, -1500, 3000, 4999, 5000, -5990, 5991, -1 << 63}).Draw(r, "current")
				step := interval + rapid.SampledFrom([]time.Duration{0, 0, 0, 0, 1, -1, interval / 2, -2 * interval, interval, 1 << 62}).Draw(r, "off")
				lasts := rapid.SampledFrom([]time.Duration{interval, interval, interval, 0, -1, 1 << 62}).Draw(r, "lasts")
				for range rapid.IntRange(1, 150).Draw(r, "samples") {
					page = append(page, signal.Sample{From: from, To: from.Add(lasts), Current: level})
					from, step = from.Add(step), interval
				}
			}
			quick.samples(page)
			slow.each(page)
			require.Equal(r, slow, quick)
		}
	})
}

// An ordinary trace is vetted many at once, but for its beginning and where the motor
// starts and stops.
func TestAnOrdinaryTraceIsPlain(t *testing.T) {
	job := &Job{Motion: motion.Thresholds{Runs: 1500, Stops: 1000}, Meter: MeterFacts{Interval: time.Millisecond, Most: time.Millisecond, Steady: true}}
	var v vetting
	v.reset(job)
	from := signal.Instant(-time.Millisecond)
	samples := func(n int, i signal.Current) (s []signal.Sample) {
		for range n {
			from = from.Add(time.Millisecond)
			s = append(s, signal.Sample{From: from, To: from.Add(time.Millisecond), Current: i})
		}
		return s
	}
	v.each(samples(3, 0))
	require.True(t, v.plain(samples(128, 900)))
	starts := samples(128, 3000)
	require.False(t, v.plain(starts))
	v.each(starts)
	require.True(t, v.plain(samples(128, -1000)))
	require.False(t, v.plain(samples(128, 0)), "it stops")
	require.Nil(t, v.trouble)
}
