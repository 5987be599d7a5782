package fitness

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/rig"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// Every verdict falls at its limit, which still passes, and a tick beyond.

func TestLatenessAtItsLimit(t *testing.T) {
	for late, want := range map[time.Duration]rule.Verdict{99: rule.Pass, 100: rule.Pass, 101: rule.Fail} {
		var tm timing
		edges := []signal.Edge{{At: 1000, Level: signal.Made}}
		tm.take(signal.Beam, edges, []rig.Observation{{Kind: rig.Emitted, Line: signal.Beam, Level: signal.Made, Planned: 1000,
			Span: signal.Span{Early: 1000, Late: signal.Instant(1000 + late)}}})
		require.Equal(t, want, tm.judge("", "", rig.Facts{Late: 100}).Verdict, late)
		require.Equal(t, late, tm.worst())
	}
	var none timing
	require.Equal(t, rule.Inconclusive, none.judge("", "", rig.Facts{}).Verdict)
	require.Zero(t, none.worst())
	none.take(signal.Beam, []signal.Edge{{At: 5, Level: signal.Made}}, []rig.Observation{{Kind: rig.Sensed, Line: signal.Beam, Level: signal.Made, Planned: 5},
		{Kind: rig.Emitted, Line: signal.Remote, Level: signal.Made, Planned: 5}, {Kind: rig.Emitted, Line: signal.Beam, Level: signal.Broken, Planned: 5}})
	require.Equal(t, 1, none.lost, "neither a sensed edge, nor another line's, nor the other level")
}

// The share of edges that a percentile speaks of must have been there.
func TestPercentilesThatAreTold(t *testing.T) {
	for n, want := range map[int]int{0: 0, 1: 1, 2: 2, 99: 2, 100: 3, 999: 3, 1000: 4} {
		tm := timing{late: make([]time.Duration, n)}
		require.Len(t, tm.judge("", "", rig.Facts{}).Figures, want, n)
	}
}

func TestWithin(t *testing.T) {
	for _, c := range []struct {
		value, doubt float64
		want         rule.Verdict
	}{{8, 2, rule.Pass}, {9, 2, rule.Inconclusive}, {12, 2, rule.Inconclusive}, {13, 2, rule.Fail}, {10, 0, rule.Pass}, {11, 0, rule.Fail}} {
		require.Equal(t, c.want, within(c.value, c.doubt, 10), "%+v", c)
	}
}

func TestSamplesAtTheirLimit(t *testing.T) {
	s := &session{}
	s.Facts.Meter = rig.MeterFacts{Interval: time.Millisecond, Least: 0, Most: 3 * time.Millisecond, Steady: true}
	s.Drift = 10_000
	for count, want := range map[int]rule.Verdict{984: rule.Fail, 985: rule.Pass, 1000: rule.Pass, 1015: rule.Pass, 1016: rule.Fail} {
		require.Equal(t, want, s.dropouts(stream{count: count, interval: 1e6}, "", time.Second).Verdict, count)
	}
	for _, f := range []stream{{count: 1000, interval: 1e6, lost: 1}, {count: 1000, interval: 1e6, extra: 1}, {}} {
		require.Equal(t, rule.Fail, s.dropouts(f, "", time.Second).Verdict, "%+v", f)
	}
	require.Equal(t, rule.Inconclusive, s.dropouts(stream{count: 1000}, "", time.Second).Verdict, "too few to be followed")
}

func TestIntervalAndJitterAtTheirLimit(t *testing.T) {
	s := &session{}
	s.Facts.Meter = rig.MeterFacts{Interval: time.Millisecond, Most: 100, Steady: true}
	s.Drift = 10_000
	for off, want := range map[float64]rule.Verdict{0: rule.Pass, 9_995: rule.Pass, -9_995: rule.Pass, 9_996: rule.Inconclusive, 10_006: rule.Fail, -10_006: rule.Fail} {
		s.report.Measured.Interval = nil
		require.Equal(t, want, s.interval(stream{interval: 1e6 + off, expanded: 5}, "").Verdict, off)
		require.Equal(t, want != rule.Inconclusive, s.report.Measured.Interval != nil)
	}
	require.Equal(t, rule.Inconclusive, s.interval(stream{}, "").Verdict)
	s.Facts.Meter.Steady = false
	for off, want := range map[float64]rule.Verdict{-500_000: rule.Pass, 9_995: rule.Pass, 10_006: rule.Fail} {
		require.Equal(t, want, s.interval(stream{interval: 1e6 + off, expanded: 5}, "").Verdict, "a polled meter may be quicker than stated: %v", off)
	}
	s.Facts.Meter.Steady = true
	require.Equal(t, rule.Inconclusive, s.jitter(stream{}, "").Verdict)
	for swing, want := range map[time.Duration]rule.Verdict{100: rule.Pass, 101: rule.Fail} {
		require.Equal(t, want, s.jitter(stream{interval: 1, certain: swing}, "").Verdict)
	}
	s.Facts.Meter.Steady = false
	for gap, want := range map[time.Duration]rule.Verdict{time.Millisecond + 100: rule.Pass, time.Millisecond + 101: rule.Fail} {
		require.Equal(t, want, s.jitter(stream{interval: 1, gap: gap, certain: time.Hour}, "").Verdict)
	}
}

// swings are readings whose mean and standard deviation are known by hand.
func swings(n int, mean, by signal.Current) []reading {
	all := make([]reading, n)
	for i := range all {
		all[i].current = mean + by
		by = -by
	}
	return all
}

func TestNoiseAtItsLimit(t *testing.T) {
	s := &session{}
	s.Facts.Meter = rig.MeterFacts{Noise: 80_000, Resolution: 1}
	const limit = 100_000 // a quarter more
	low, high := spread(1, 1000)
	verdict := func(sd float64) rule.Verdict { return s.noise(swings(1000, 0, signal.Current(sd))).Verdict }
	require.Equal(t, rule.Pass, verdict(limit/high*0.999))
	require.Equal(t, rule.Inconclusive, verdict(limit/high*1.001))
	require.Equal(t, rule.Inconclusive, verdict(limit/low*0.999))
	require.Equal(t, rule.Fail, verdict(limit/low*1.001))
	require.Equal(t, rule.Fail, verdict(0), "it never reads so evenly")
	require.Equal(t, rule.Inconclusive, s.noise(swings(99, 0, 1)).Verdict)
	require.NotEqual(t, rule.Inconclusive, s.noise(swings(100, 0, 1)).Verdict)
	s.Facts.Meter.Resolution = 80_000
	require.Equal(t, rule.Pass, verdict(0), "a meter with coarse steps may")
}

func TestZeroAtItsLimit(t *testing.T) {
	s := &session{}
	s.ZeroMost, s.Facts.Meter = 1000, rig.MeterFacts{Resolution: 2}
	for mean, want := range map[signal.Current]rule.Verdict{999: rule.Pass, -999: rule.Pass, 1000: rule.Inconclusive, 1001: rule.Inconclusive, 1002: rule.Fail, -1002: rule.Fail} {
		r := s.zero(swings(400, mean, 0))
		require.Equal(t, want, r.Verdict, mean)
		require.Equal(t, mean, *s.report.Measured.Zero)
		require.Equal(t, int64(1), r.Figures[0].Doubt, "half a step")
	}
	require.Equal(t, rule.Inconclusive, s.zero(swings(99, 0, 1)).Verdict)
	// 400 readings that swing by 100 either way: 1.96·100/√400 = 9.8.
	require.Equal(t, int64(10), s.zero(swings(400, 0, 100)).Figures[0].Doubt)
}

func TestDropAtItsLimit(t *testing.T) {
	s := &session{}
	s.Drop = 100
	for all, want := range map[Range]rule.Verdict{{50, 100}: rule.Pass, {50, 101}: rule.Inconclusive, {100, 200}: rule.Inconclusive, {101, 200}: rule.Fail} {
		var r Result
		s.judgeDrop(&r, all)
		require.Equal(t, want, r.Verdict, "%v", all)
		require.Equal(t, all, *s.report.Measured.Drop)
	}
}

func TestGuardAtItsLimit(t *testing.T) {
	for at, want := range map[signal.Instant]rule.Verdict{500: rule.Pass, 1000: rule.Pass, 1100: rule.Pass, 1101: rule.Fail} {
		s := &session{}
		s.GuardTime, s.Facts.Meter.Interval = 100, 500
		s.edges = []rig.Observation{{Kind: rig.Emitted, Line: signal.Supply, Level: signal.Broken, Span: signal.At(at)}}
		var r Result
		s.judgeGuard(&r, &shot{off: 5000}, 1000)
		require.Equal(t, want, r.Verdict, at)
	}
	for name, s := range map[string]*session{
		"at the planned end":        {edges: []rig.Observation{{Kind: rig.Emitted, Line: signal.Supply, Level: signal.Broken, Span: signal.At(5000)}}},
		"another line":              {edges: []rig.Observation{{Kind: rig.Emitted, Line: signal.Remote, Level: signal.Broken, Span: signal.At(1000)}}},
		"put on":                    {edges: []rig.Observation{{Kind: rig.Emitted, Line: signal.Supply, Level: signal.Made, Span: signal.At(1000)}}},
		"an end that nobody claims": {readings: []reading{{900, 500}, {1000, 500}, {1100, 0}}},
	} {
		var r Result
		s.judgeGuard(&r, &shot{off: 5000}, 1000)
		require.Equal(t, rule.Fail, r.Verdict, name)
	}
}

// A bench that does not tell of its own edges, but says that its guard tripped, is
// believed where the current ends.
func TestGuardByTheCurrentsEnd(t *testing.T) {
	off := signal.Instant(time.Second)
	for end, want := range map[signal.Instant]rule.Verdict{1100: rule.Pass, 1101: rule.Fail, off: rule.Fail} {
		s := &session{troubles: []rig.Observation{{Kind: rig.Trouble}}}
		s.GuardTime, s.Facts.Meter.Resolution = 100, 1
		s.readings = []reading{{900, 500}, {1000, 500}, {end, 0}}
		var r Result
		s.judgeGuard(&r, &shot{off: off}, 1000)
		require.Equal(t, want, r.Verdict, end)
	}
}

func TestScaleAtItsLimit(t *testing.T) {
	s := &session{running: 1000}
	s.Facts.Meter = rig.MeterFacts{Range: 1000, Resolution: 10}
	for peak, want := range map[signal.Current]rule.Verdict{990: rule.Pass, 991: rule.Fail} {
		s.scale.peak = peak
		require.Equal(t, want, s.reach().Verdict, peak)
	}
	s.running, s.scale.peak = 99, 0
	require.Equal(t, rule.Inconclusive, s.reach().Verdict)
	s.running = -100
	require.Equal(t, rule.Pass, s.reach().Verdict)

	for _, c := range []struct {
		step signal.Current
		n    int
		want rule.Verdict
	}{{10, 2, rule.Pass}, {11, 11, rule.Inconclusive}, {11, 12, rule.Fail}, {0, 1, rule.Inconclusive}, {5, 12, rule.Pass}} {
		s.scale = scale{}
		for i := range c.n {
			s.scale.take(signal.Current(i) * c.step)
		}
		require.Equal(t, c.want, s.resolution().Verdict, "%+v", c)
	}
}

func TestReadBackAtItsLimit(t *testing.T) {
	for lag, want := range map[time.Duration]rule.Verdict{0: rule.Pass, 50: rule.Pass, 51: rule.Fail, -1: rule.Fail} {
		s := &session{}
		for i, v := range []signal.Level{signal.Made, signal.Broken} {
			at := signal.Instant(1000 * (i + 1))
			s.edges = append(s.edges, rig.Observation{Kind: rig.Emitted, Line: signal.Remote, Level: v, Planned: at, Span: signal.At(at)},
				rig.Observation{Kind: rig.Sensed, Line: signal.DriveOpen, Level: v, Span: signal.At(at.Add(lag))})
		}
		var r Result
		s.readBack(&r, Pair{Output: signal.Remote, Input: signal.DriveOpen, Within: 50}, []signal.Edge{{At: 1000, Level: signal.Made}, {At: 2000, Level: signal.Broken}})
		require.Equal(t, want, r.Verdict, lag)
	}
}

// The bracket of the current's end, by hand: the last reading that shows a current and
// the first that shows none, less what the meter is late by.
func TestEndOfTheCurrent(t *testing.T) {
	s := &session{}
	s.Facts.Meter = rig.MeterFacts{Resolution: 1, Window: 100, Least: 20, Most: 30}
	h := &shot{before: 1000, fell: signal.Span{Early: 500, Late: 510}, readings: []reading{{400, 1000}, {700, 51}, {800, 50}, {900, 0}}}
	got, ok := s.end(h)
	require.True(t, ok)
	require.Equal(t, Range{Least: 700 - 30 - 100 - 510, Most: 800 - 20 - 500}, got, "50 is a twentieth of what flowed, and no longer a current")
	h.readings = append(h.readings, reading{1000, 51})
	_, ok = s.end(h)
	require.False(t, ok, "it has not ended")
	h.readings = nil
	_, ok = s.end(h)
	require.False(t, ok)
	zero := signal.Current(51)
	s.report.Measured.Zero = &zero
	h.readings = []reading{{700, 102}, {800, 51}, {900, 51}}
	got, ok = s.end(h)
	require.True(t, ok, "what the meter reads of nothing is no current")
	require.Equal(t, Range{Least: 700 - 30 - 100 - 510, Most: 800 - 20 - 500}, got)
}

// The latency from two readings, by hand: half of the later window lay after the step.
func TestDelayByHand(t *testing.T) {
	s := &session{}
	s.Facts.Meter = rig.MeterFacts{Resolution: 1, Interval: 1000, Window: 1000, Most: 5000}
	h := &shot{before: 1_000_000, edge: signal.Span{Early: 10_000, Late: 10_010}, off: signal.Never}
	for i := range 40 {
		x := reading{signal.Instant(3500 + 1000*i), 1_000_000}
		if x.at > 12_500 {
			x.current = 0
		}
		h.readings = append(h.readings, x)
	}
	for i, share := range []signal.Current{900_000, 700_000, 500_001} {
		t.Run(fmt.Sprint(i), func(t *testing.T) {
			h.readings[9].current = share // of the window that ends as the reading at 12.5 µs begins to be on its way
			got, ok := s.delay(h)
			require.True(t, ok)
			// The window of the next reading, at 13.5 µs, ended a whole window and the rest later.
			after := time.Duration(1_000_000-share) / 1000
			want := 13_500 - 10_000 - (1000 + after)
			require.InDelta(t, float64(want-10), float64(got.Least), 5)
			require.InDelta(t, float64(want), float64(got.Most), 5)
		})
	}
	h.readings[9].current = 1_000_000
	s.Step.Follows = Range{100, 300}
	got, ok := s.delay(h)
	require.True(t, ok)
	require.InDelta(t, 13_500-10_010-1000-300, float64(got.Least), 5)
	require.InDelta(t, 13_500-10_000-1000-100, float64(got.Most), 5)
	h.before = 5
	_, ok = s.delay(h)
	require.False(t, ok, "no step")
}

// Only what another line is read back by counts as crossed.
func TestCrossedLines(t *testing.T) {
	s := &session{}
	s.Pairs = []Pair{{Output: signal.Remote, Input: signal.DriveOpen}}
	s.edges = []rig.Observation{{Kind: rig.Sensed, Line: signal.DriveClose}, {Kind: rig.Emitted, Line: signal.DriveClose}, {Kind: rig.Sensed, Line: signal.DriveOpen}}
	_, ok := s.crossed(s.Pairs[0])
	require.False(t, ok, "the controller's own output is no crossed line")
	s.Pairs = append(s.Pairs, Pair{Output: signal.Beam, Input: signal.DriveClose})
	l, ok := s.crossed(s.Pairs[0])
	require.True(t, ok)
	require.Equal(t, signal.DriveClose, l)
}
