package rig

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/motion"
	"pintle/rig/signal"
)

const milli = signal.Instant(time.Millisecond)

func codeOf(t *BenchTrouble) string {
	if t == nil {
		return ""
	}
	return t.Code
}

// A reading may come as late as the meter's delay wavers and half an interval besides: at
// that limit none is lost, and a nanosecond later one is.
func TestReadingsAtTheirLimits(t *testing.T) {
	for _, steady := range []bool{false, true} {
		meter := MeterFacts{Interval: time.Millisecond, Least: time.Millisecond, Most: 3 * time.Millisecond, Steady: steady}
		const room = milli/2 + 2*milli
		for after, want := range map[signal.Instant]string{
			-1: "samples-disordered", 0: "", 1: "", milli: "", milli + room: "", milli + room + 1: samplesLost, 100 * milli: samplesLost,
		} {
			r := readings{meter: meter}
			r.begin(10 * milli)
			assert.Equal(t, want, codeOf(r.next(&signal.Sample{From: 10*milli + after})), "%d ns after, steady %v", after, steady)
		}
		r := readings{meter: meter}
		r.begin(-signal.Never)
		assert.Nil(t, r.next(&signal.Sample{From: 100 * milli}), "the first has none before it")
		assert.Equal(t, samplesLost, codeOf(r.next(&signal.Sample{From: 101*milli + room + 1})), "and is the one before the next")
	}
}

// What each reading of a steady meter is late by adds up, and a meter that is not steady
// may be as late each time.
func TestLatenessOfASteadyMeterAddsUp(t *testing.T) {
	for _, steady := range []bool{false, true} {
		r := readings{meter: MeterFacts{Interval: time.Millisecond, Most: 2 * time.Millisecond, Steady: steady}}
		r.begin(0)
		at := signal.Instant(0)
		for k := 1; k <= 26; k++ { // each 0.1 ms late; 2.5 ms are allowed
			at += milli + milli/10
			lost := steady && k > 25
			assert.Equal(t, lost, r.next(&signal.Sample{From: at}) != nil, "reading %d, steady %v", k, steady)
		}
		r.begin(0)
		require.Nil(t, r.next(&signal.Sample{From: milli / 2}), "one that comes early")
		require.Nil(t, r.next(&signal.Sample{From: 4 * milli}), "is where counting begins again: 3.5 ms after it")
		assert.Equal(t, steady, r.next(&signal.Sample{From: 5*milli + 1}) != nil)
	}
}

// The end of a meter's range tells of no current, either way.
func TestRangeAtItsEnd(t *testing.T) {
	for _, c := range []struct {
		meter MeterFacts
		most  signal.Current
	}{
		{MeterFacts{Range: 20 * signal.Ampere, Resolution: 10_000}, 19_990_000},
		{MeterFacts{Range: 20 * signal.Ampere}, 20 * signal.Ampere},
		{MeterFacts{}, signal.MostCurrent},
		{MeterFacts{Range: math.MaxInt64}, signal.MostCurrent},
	} {
		r := readings{meter: c.meter}
		for _, sign := range []signal.Current{-1, 1} {
			assert.Nil(t, r.overRange(sign*c.most), "%+v", c.meter)
			assert.Nil(t, r.overRange(sign*(c.most-1)))
			assert.Equal(t, "meter-over-range", codeOf(r.overRange(sign*(c.most+1))), "%+v", c.meter)
		}
		assert.NotNil(t, r.overRange(math.MinInt64))
		assert.Nil(t, r.overRange(0))
	}
}

func guardOf(g Guard) guarding {
	return newGuarding(&Job{Guard: g, Motion: motion.Thresholds{Runs: signal.Ampere, Stops: signal.Ampere / 2}}, 0)
}

// The guard's limits, a microampere and a nanosecond to either side.
func TestGuardAtItsLimits(t *testing.T) {
	for _, sign := range []signal.Current{-1, 1} {
		for size, want := range map[signal.Current]string{39_999_999: "", 40_000_000: GuardCurrent, 40_000_001: GuardCurrent} {
			g := guardOf(Guard{MostCurrent: 40 * signal.Ampere})
			assert.Equal(t, want, codeOf(g.sample(&signal.Sample{Current: sign * size})), "%d", sign*size)
			g = guardOf(Guard{})
			assert.Nil(t, g.sample(&signal.Sample{Current: sign * size}), "without a limit")
		}
		for _, c := range []struct {
			name string
			pass signal.Current // between the start and the last reading
			long signal.Instant
			want string
		}{
			{"as long as allowed", 8 * signal.Ampere, 10_000 * milli, ""},
			{"a nanosecond longer", 8 * signal.Ampere, 10_000*milli + 1, GuardDrive},
			{"still driven at the lower threshold", signal.Ampere / 2, 10_000*milli + 1, GuardDrive},
			{"a pause under the lower threshold", signal.Ampere/2 - 1, 10_000*milli + 1, ""},
		} {
			for limit, want := range map[time.Duration]string{10 * time.Second: c.want, 0: ""} {
				g := guardOf(Guard{LongestDrive: limit})
				require.Nil(t, g.sample(&signal.Sample{From: 0, To: 1, Current: sign * (signal.Ampere - 1)}), "not driven yet")
				start := 5 * milli
				require.Nil(t, g.sample(&signal.Sample{From: start, To: start + 1, Current: sign * signal.Ampere}))
				require.Nil(t, g.sample(&signal.Sample{From: start + milli, To: start + 2*milli, Current: sign * c.pass}))
				last := signal.Sample{From: start + 9*milli, To: start + c.long, Current: sign * 8 * signal.Ampere}
				assert.Equal(t, want, codeOf(g.sample(&last)), "%s, limit %v", c.name, limit)
			}
		}
	}
}

// A silent meter is noticed, whatever else the bench tells meanwhile, and a guard without a
// figure for it has one.
func TestSilenceAtItsLimit(t *testing.T) {
	for figure, limit := range map[time.Duration]time.Duration{0: 2 * time.Second, -1: 2 * time.Second, time.Second: time.Second} {
		for _, kind := range []ObservationKind{Reached, Emitted} {
			g := guardOf(Guard{MeterSilence: figure})
			require.Nil(t, g.look(&Observation{Kind: Sampled, Sample: signal.Sample{From: 0, To: 7}}))
			assert.Nil(t, g.look(&Observation{Kind: kind, Span: signal.At(signal.Instant(7).Add(limit))}))
			assert.Equal(t, "meter-silent", codeOf(g.look(&Observation{Kind: kind, Span: signal.At(signal.Instant(8).Add(limit))})), "%v, %v", figure, kind)
		}
	}
}

// What the guard takes at once it would have taken one by one, without a trouble and with
// the motor in the state that it was in.
func TestGuardTakesAtOnceWhatIsPlain(t *testing.T) {
	near := func(c signal.Current) []signal.Current { return []signal.Current{c - 1, c, c + 1} }
	sizes := append(append(near(signal.Ampere/2), near(signal.Ampere)...), append(near(40*signal.Ampere), 0, 8*signal.Ampere)...)
	taken := 0
	rapid.Check(t, func(t *rapid.T) {
		g := guardOf(Guard{MostCurrent: rapid.SampledFrom([]signal.Current{0, 40 * signal.Ampere}).Draw(t, "most"),
			LongestDrive: rapid.SampledFrom([]time.Duration{0, 10}).Draw(t, "longest")})
		g.since = rapid.SampledFrom([]signal.Instant{signal.Never, 100}).Draw(t, "since")
		var list []signal.Sample
		least, most, to := signal.Current(math.MaxInt64), signal.Current(0), signal.Instant(0)
		for range rapid.IntRange(1, 3).Draw(t, "samples") {
			s := signal.Sample{From: 105, To: signal.Instant(rapid.IntRange(108, 112).Draw(t, "to")), Current: rapid.SampledFrom(sizes).Draw(t, "size")}
			least, most, to = min(least, s.Current), max(most, s.Current), max(to, s.To)
			list = append(list, s)
		}
		if !g.steady(least, most, to) {
			return
		}
		taken++
		was := g.since
		for _, s := range list {
			require.Nil(t, g.sample(&s))
			require.Equal(t, was, g.since)
		}
	})
	assert.NotZero(t, taken)
}

// An edge that was planned has to come by when it was due, as late as the bench may be and
// a look besides; the next is owed once it has.
func TestWhatTheBenchOwes(t *testing.T) {
	const line, late = signal.OpenLimit, signal.Instant(5)
	f := Facts{Lead: 10, Late: time.Duration(late)}
	by := func(at signal.Instant) signal.Instant { return at + late + signal.Instant(patience) }
	told := []signal.Edge{{At: 100, Level: signal.Made}, {At: 200, Level: signal.Broken}}
	var w owing
	w.reset()
	assert.Equal(t, signal.Never, w.next, "nothing is owed")
	w.expect(line, told, 50, &f)
	assert.Equal(t, by(100), w.next)
	w.expect(line, told, 90, &f)
	assert.Equal(t, by(100), w.next)
	w.expect(line, told, 91, &f)
	assert.Equal(t, by(101), w.next, "told too late, it comes as soon as it can")
	w.expect(signal.Remote, []signal.Edge{{At: 80, Level: signal.Made}}, 0, &f)
	assert.Equal(t, by(80), w.next, "the soonest of all lines")
	assert.Nil(t, w.missing(), "it is looked for twice")
	trouble := w.missing()
	require.Equal(t, "edge-missing", codeOf(trouble))
	assert.Contains(t, trouble.Text, signal.Remote.String())
	w.emitted(&Observation{Line: signal.Remote, Level: signal.Made, Planned: 80})
	w.expect(signal.Remote, []signal.Edge{{At: 80, Level: signal.Made}}, 0, &f)
	assert.Equal(t, by(101), w.next)
	assert.Nil(t, w.missing(), "each is looked for anew")
	w.emitted(&Observation{Line: line, Level: signal.Made, Planned: 100})
	w.expect(line, told, 91, &f)
	assert.Equal(t, by(200), w.next)
	w.expect(line, []signal.Edge{{At: 100, Level: signal.Broken}, {At: 150, Level: signal.Made}}, 91, &f)
	assert.Equal(t, signal.Never, w.next, "one that came already, and one to the level that the line has")
	w.forget()
	w.expect(line, []signal.Edge{{At: 1, Level: signal.Broken}}, 0, &f)
	assert.Equal(t, by(10), w.next, "instants count from a new origin")
}
