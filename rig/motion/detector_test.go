package motion

import (
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/signal"
)

const ms = signal.Instant(time.Millisecond)

var usual = Thresholds{Runs: 1 * signal.Ampere, Stops: signal.Ampere / 2, Settle: 3 * time.Millisecond}

// samples makes one sample a millisecond, each standing for the millisecond
// before it, from currents in amperes.
func samples(amperes ...float64) []signal.Sample {
	var list []signal.Sample
	for i, a := range amperes {
		from := signal.Instant(i) * ms
		list = append(list, signal.Sample{From: from, To: from + ms, Current: signal.Current(a * 1e6)})
	}
	return list
}

func detect(t require.TestingT, th Thresholds, list []signal.Sample) []Change {
	d, err := NewDetector(th)
	require.NoError(t, err)
	return feed(t, d, list)
}

// feed also holds Final to its promise.
func feed(t require.TestingT, d *Detector, list []signal.Sample) []Change {
	var changes []Change
	final := d.Final()
	for _, s := range list {
		c, is := d.Sample(s)
		if is {
			require.GreaterOrEqual(t, c.Span.Early, final, "a change began before what was said to be final")
			require.LessOrEqual(t, c.Span.Early, c.Span.Late)
			require.Equal(t, c.Is, d.State())
			c.Before, c.After, c.Levels, c.Readings = 0, 0, false, 0 // TestLevels looks at these
			changes = append(changes, c)
		}
		require.GreaterOrEqual(t, d.Final(), final, "final went back")
		final = d.Final()
	}
	return changes
}

// The levels on both sides of a change are those of windows that it did not fall
// into: the reading in which it came, and the one before that, are left out.
func TestLevels(t *testing.T) {
	levels := func(th Thresholds, amperes ...float64) (all []Change) {
		d, err := NewDetector(th)
		require.NoError(t, err)
		for _, s := range samples(amperes...) {
			if c, is := d.Sample(s); is {
				c.Span = signal.Span{}
				all = append(all, c)
			}
		}
		return all
	}
	of := func(was, is State, before, after signal.Current) Change {
		return Change{Was: was, Is: is, Before: before * signal.Ampere, After: after * signal.Ampere, Levels: true, Readings: 1}
	}
	first := Change{Is: Stopped, Readings: 1}
	assert.Equal(t, []Change{first, of(Stopped, Opening, 0, 7), of(Opening, Stopped, 8, 0)},
		levels(usual, 0, 0, 0, 0, 0, 4, 9, 9, 9, 7, 8, 8, 6, 0, 0, 0, 0, 0))
	stopped := of(Opening, Stopped, 7, 0)
	assert.Equal(t, []Change{first, of(Stopped, Opening, 0, 7), stopped}, levels(usual, 0, 0, 0, 0, 0, 4, 9, 9, 9, 7, 6, 0, 0, 0, 0, 0),
		"one reading after it was settled: the one that settled it, and none of the standstill before")
	assert.Equal(t, []Change{first, of(Stopped, Opening, 0, 7), stopped}, levels(usual, 0, 0, 0, 0, 0, 4, 9, 9, 9, 7, 0, 0, 0, 0, 0),
		"and with none after it")
	assert.Equal(t, []Change{first, of(Stopped, Opening, 0, 9), stopped}, levels(usual, 0, 0, 0, 0, 0, 4, 9, 9, 9, 9, 8, 0, 7, 6, 0, 0, 0, 0, 0),
		"the reading that ended a pause too short to count is one of them")
	at := usual
	at.Settle = 0
	assert.Equal(t, []Change{first, {Was: Stopped, Is: Opening, Readings: 1}}, levels(at, 0, 0, 0, 8, 8),
		"one reading alone may be of the very window")
	twitch := of(Stopped, Opening, 0, 8)
	twitch.Readings = 3
	assert.Equal(t, []Change{first, twitch}, levels(usual, 0, 0, 0, 0, 0, -8, -8, 8, 8, 8, 8, 8), "two readings of neither lie between")
}

func span(early, late int) signal.Span {
	return signal.Span{Early: signal.Instant(early) * ms, Late: signal.Instant(late) * ms}
}

func TestDetector(t *testing.T) {
	for _, c := range []struct {
		name    string
		amperes []float64
		want    []Change
	}{
		{"nothing lasts", []float64{0, 0, 0, 0}, nil}, // from 1 ms to 3 ms: not 3 ms yet
		{"the first state needs to settle too", []float64{0, 0, 0, 0, 0},
			[]Change{{Was: Unknown, Is: Stopped, Span: span(0, 1)}}},
		{"starts", []float64{0, 0, 0, 0, 0, 8, 8, 8, 8, 8},
			[]Change{{Was: Unknown, Is: Stopped, Span: span(0, 1)}, {Was: Stopped, Is: Opening, Span: span(4, 6)}}},
		{"one sample short of a start", []float64{0, 0, 0, 0, 0, 8, 8, 8, 8, 0},
			[]Change{{Was: Unknown, Is: Stopped, Span: span(0, 1)}}},
		{"reverses without standing still", []float64{8, 8, 8, 8, 8, -8, -8, -8, -8, -8},
			[]Change{{Was: Unknown, Is: Opening, Span: span(0, 1)}, {Was: Opening, Is: Closing, Span: span(4, 6)}}},
		{"reverses, standing still for less than settles", []float64{8, 8, 8, 8, 8, 0, 0, -8, -8, -8, -8, -8},
			[]Change{{Was: Unknown, Is: Opening, Span: span(0, 1)}, {Was: Opening, Is: Closing, Span: span(4, 8)}}},
		{"stops with a brake's kick", []float64{-8, -8, -8, -8, -8, 9, 6, 3, 0, 0, 0, 0, 0},
			[]Change{{Was: Unknown, Is: Closing, Span: span(0, 1)}, {Was: Closing, Is: Stopped, Span: span(4, 6)}}},
		{"a kick after a moment of nothing", []float64{-8, -8, -8, -8, -8, 0, 9, 6, 0, 0, 0, 0, 0},
			[]Change{{Was: Unknown, Is: Closing, Span: span(0, 1)}, {Was: Closing, Is: Stopped, Span: span(4, 6)}}},
		{"a reverse current that lasts is a movement", []float64{-8, -8, -8, -8, -8, 9, 9, 9, 9, 9, 0, 0, 0, 0, 0},
			[]Change{{Was: Unknown, Is: Closing, Span: span(0, 1)}, {Was: Closing, Is: Opening, Span: span(4, 6)}, {Was: Opening, Is: Stopped, Span: span(9, 11)}}},
		{"a twitch before a start", []float64{0, 0, 0, 0, 0, -8, 8, 8, 8, 8, 8},
			[]Change{{Was: Unknown, Is: Stopped, Span: span(0, 1)}, {Was: Stopped, Is: Opening, Span: span(4, 7)}}},
		{"one noisy sample begins the settling again", []float64{0, 0, 0, 0, 0, 8, 8, 8, 0, 8, 8, 8, 8, 8},
			[]Change{{Was: Unknown, Is: Stopped, Span: span(0, 1)}, {Was: Stopped, Is: Opening, Span: span(8, 10)}}},
		{"a short stop is none", []float64{8, 8, 8, 8, 8, 0, 0, 0, 8, 8, 8},
			[]Change{{Was: Unknown, Is: Opening, Span: span(0, 1)}}},
		{"between the thresholds a motor goes on", []float64{8, 8, 8, 8, 8, 0.7, 0.5, 0.6, 0.7, 0.7, 0.7},
			[]Change{{Was: Unknown, Is: Opening, Span: span(0, 1)}}},
		{"between the thresholds one goes on that has not settled yet, opening", []float64{8, 0.5, 0.5, 0.5, 0.5, 0.5},
			[]Change{{Was: Unknown, Is: Opening, Span: span(0, 1)}}},
		{"and closing", []float64{-8, -0.5, -0.5, -0.5, -0.5, -0.5},
			[]Change{{Was: Unknown, Is: Closing, Span: span(0, 1)}}},
		{"between the thresholds a standing motor stands", []float64{0, 0, 0, 0, 0, 0.7, 0.9, -0.9, 0.9, 0.9, 0.9},
			[]Change{{Was: Unknown, Is: Stopped, Span: span(0, 1)}}},
		{"between the thresholds nothing is known at first", []float64{0.7, 0.7, -0.7, 0.7, 0.7, 0.7, 8, 8, 8, 8, 8},
			[]Change{{Was: Unknown, Is: Opening, Span: span(5, 7)}}},
		{"a stop before anything settled", []float64{0, 0, 8, 8, 8, 8, 8},
			[]Change{{Was: Unknown, Is: Opening, Span: span(1, 3)}}},
	} {
		t.Run(c.name, func(t *testing.T) {
			assert.Equal(t, c.want, detect(t, usual, samples(c.amperes...)))
		})
	}
}

// At each threshold and one microampere to either side of it.
func TestDetectorThresholds(t *testing.T) {
	at := Thresholds{Runs: 1000, Stops: 400}
	for _, c := range []struct {
		before, current signal.Current
		want            State
	}{
		{0, 999, Stopped}, {0, 1000, Opening}, {0, 1001, Opening},
		{0, -999, Stopped}, {0, -1000, Closing}, {0, -1001, Closing},
		{2000, 399, Stopped}, {2000, 400, Opening}, {2000, 401, Opening},
		{-2000, -399, Stopped}, {-2000, -400, Closing}, {-2000, -401, Closing},
		{2000, -400, Stopped}, {2000, -999, Stopped}, {2000, -1000, Closing},
		{-2000, 400, Stopped}, {-2000, 999, Stopped}, {-2000, 1000, Opening},
		{0, math.MinInt64, Closing}, {0, math.MaxInt64, Opening},
	} {
		d, err := NewDetector(at)
		require.NoError(t, err)
		d.Sample(signal.Sample{From: 0, To: 1, Current: c.before})
		d.Sample(signal.Sample{From: 1, To: 2, Current: c.current})
		assert.Equal(t, c.want, d.State(), "%d after %d", c.current, c.before)
	}
}

// A state settles at exactly Settle and not a nanosecond before.
func TestDetectorSettleLimit(t *testing.T) {
	for late, want := range map[signal.Instant]State{-1: Unknown, 0: Stopped, 1: Stopped} {
		d, err := NewDetector(usual)
		require.NoError(t, err)
		d.Sample(signal.Sample{From: 0, To: ms})
		from := 4*ms + late
		d.Sample(signal.Sample{From: from, To: from + ms})
		assert.Equal(t, want, d.State(), "%d ns after the limit", late)
	}
}

func TestDetectorWithoutSettling(t *testing.T) {
	th := usual
	th.Settle = 0
	want := []Change{{Was: Unknown, Is: Opening, Span: span(0, 1)}, {Was: Opening, Is: Stopped, Span: span(0, 2)}, {Was: Stopped, Is: Closing, Span: span(1, 3)}}
	assert.Equal(t, want, detect(t, th, samples(8, 0, -8)))
}

// Lost samples widen the span: the change happened somewhere in the gap.
func TestDetectorGap(t *testing.T) {
	list := samples(8, 8, 8, 8, 8, 8)
	for _, s := range samples(0, 0, 0, 0, 0) {
		s.From, s.To = s.From+ms*signal.Instant(100), s.To+ms*signal.Instant(100)
		list = append(list, s)
	}
	assert.Equal(t, Change{Was: Opening, Is: Stopped, Span: span(5, 101)}, detect(t, usual, list)[1])
}

func TestDetectorReset(t *testing.T) {
	d, err := NewDetector(usual)
	require.NoError(t, err)
	require.Equal(t, signal.Instant(math.MinInt64), d.Final())
	list := samples(0, 0, 0, 0, 0, -8, -8, -8, -8, -8, 0.7, 0)
	first := feed(t, d, list)
	d.Reset()
	require.Equal(t, Unknown, d.State())
	require.Equal(t, signal.Instant(math.MinInt64), d.Final())
	require.Equal(t, first, feed(t, d, list))
	require.NotEmpty(t, first)
}

func TestThresholdsCheckNamesEveryMistake(t *testing.T) {
	_, err := NewDetector(Thresholds{Runs: -2, Stops: 0, Settle: -1})
	require.Error(t, err)
	for _, field := range []string{"stops:", "runs:", "settle:"} {
		assert.ErrorContains(t, err, field)
	}
	_, err = NewDetector(Thresholds{Runs: 1, Stops: 1})
	assert.NoError(t, err)
	_, err = NewDetector(Thresholds{Runs: 1, Stops: 2})
	assert.Error(t, err)
}

// drawSamples draws samples that overlap, touch or leave gaps, with currents at
// and around the thresholds and stretches that do and do not last.
func drawSamples(t *rapid.T, th Thresholds) []signal.Sample {
	levels := []signal.Current{0, 1, th.Stops - 1, th.Stops, th.Runs - 1, th.Runs, 9 * signal.Ampere}
	var list []signal.Sample
	var from, to signal.Instant
	for range rapid.IntRange(1, 25).Draw(t, "stretches") {
		c := rapid.SampledFrom(levels).Draw(t, "current")
		if rapid.Bool().Draw(t, "reverse") {
			c = -c
		}
		for range rapid.IntRange(1, 7).Draw(t, "samples") {
			from += signal.Instant(rapid.IntRange(1, 2000).Draw(t, "from")) * 1000
			to = max(to, from) + signal.Instant(rapid.IntRange(0, 1500).Draw(t, "to"))*1000
			list = append(list, signal.Sample{From: from, To: to, Current: c})
		}
	}
	return list
}

// plain is the definition, taken at its word: for every sample it looks at the
// whole past again.
func plain(th Thresholds, list []signal.Sample) []Change {
	readings := make([]State, len(list))
	before := Unknown
	for i, s := range list {
		way, size := Opening, s.Current
		if size < 0 {
			way, size = Closing, -size
		}
		switch {
		case size >= th.Runs:
			before = way
		case size < th.Stops:
			before = Stopped
		case before != Unknown && before != way:
			before = Stopped
		}
		readings[i] = before
	}
	var changes []Change
	state := Unknown
	for i, s := range list {
		if readings[i] == state {
			continue
		}
		run := i // the first sample of the unbroken run up to here
		for run > 0 && readings[run-1] == readings[i] {
			run--
		}
		if th.Settle > 0 && time.Duration(s.From-list[run].To) < th.Settle {
			continue
		}
		old := run - 1 // the last sample of the old state
		for state != Unknown && readings[old] != state {
			old--
		}
		c := Change{Was: state, Is: readings[i], Span: signal.Span{Early: list[max(old, 0)].From, Late: list[run].To}}
		if state.Moving() && readings[i] == Stopped {
			c.Span.Late = list[old+1].To
		}
		changes = append(changes, c)
		state = readings[i]
	}
	return changes
}

func TestDetectorAgainstDefinition(t *testing.T) {
	seen := map[[2]State]int{}
	rapid.Check(t, func(t *rapid.T) {
		th := Thresholds{Runs: 1000, Stops: signal.Current(rapid.IntRange(2, 1000).Draw(t, "stops")),
			Settle: time.Duration(rapid.IntRange(0, 8000).Draw(t, "settle")) * time.Microsecond}
		list := drawSamples(t, th)
		got := detect(t, th, list)
		require.Equal(t, plain(th, list), got)
		for _, c := range got {
			seen[[2]State{c.Was, c.Is}]++
		}
	})
	assert.NotEmpty(t, seen, "the draws must change the state")
}

// Each kind of change there is, which draws may leave out.
func TestDetectorEveryKindOfChange(t *testing.T) {
	levels := map[State]float64{Unknown: 0.7, Stopped: 0, Opening: 8, Closing: -8}
	for was, before := range levels {
		for is, after := range levels {
			if is == was || is == Unknown {
				continue
			}
			list := samples(before, before, before, before, before, after, after, after, after, after)
			got := detect(t, usual, list)
			require.NotEmpty(t, got)
			last := got[len(got)-1]
			assert.Equal(t, [2]State{was, is}, [2]State{last.Was, last.Is})
			assert.Equal(t, plain(usual, list), got, "from %v to %v", was, is)
		}
	}
}

// Whatever the meter does, a span holds the instant at which a motor that runs
// or stands for longer than the settling time went over, since each sample's
// stretch holds the instants that it was taken at.
func TestDetectorSpanHoldsTheTruth(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		truth := signal.Instant(rapid.IntRange(40_000, 60_000).Draw(t, "truth")) * 1000
		step := signal.Instant(rapid.IntRange(100, 5000).Draw(t, "interval")) * 1000
		doubt := signal.Instant(rapid.IntRange(0, 9000).Draw(t, "doubt")) * 1000
		var list []signal.Sample
		for at := signal.Instant(0); at < 120*ms; at += step {
			s := signal.Sample{From: at - doubt, To: at + doubt}
			if at >= truth {
				s.Current = 5 * signal.Ampere
			}
			list = append(list, s)
		}
		got := detect(t, usual, list)
		require.Len(t, got, 2)
		require.LessOrEqual(t, got[1].Span.Early, truth)
		require.GreaterOrEqual(t, got[1].Span.Late, truth)
	})
}

// Taking many samples at once is taking them one by one: not one of another state is
// swallowed, none is taken that begins too late, and what is remembered is the same.
func TestSteadyIsSampleAfterSample(t *testing.T) {
	taken, stopped := 0, 0
	rapid.Check(t, func(t *rapid.T) {
		th := Thresholds{Runs: 1000, Stops: signal.Current(rapid.IntRange(1, 1000).Draw(t, "stops")),
			Settle: time.Duration(rapid.IntRange(0, 8000).Draw(t, "settle")) * time.Microsecond}
		list := drawSamples(t, th)
		for range rapid.IntRange(0, 3).Draw(t, "extremes") {
			i := rapid.IntRange(0, len(list)-1).Draw(t, "where")
			list[i].Current = rapid.SampledFrom([]signal.Current{math.MinInt64, math.MaxInt64}).Draw(t, "extreme")
		}
		fast, err := NewDetector(th)
		require.NoError(t, err)
		slow, err := NewDetector(th)
		require.NoError(t, err)
		for len(list) > 0 {
			before := list[rapid.IntRange(0, len(list)-1).Draw(t, "last")].From + signal.Instant(rapid.IntRange(0, 1).Draw(t, "after"))
			n := fast.Steady(list, before)
			for i := range n {
				require.Less(t, list[i].From, before)
				require.True(t, slow.Calm(list[i]), "sample %d of %d", i, n)
			}
			require.Equal(t, *slow, *fast, "after %d at once", n)
			taken += n
			list = list[n:]
			if len(list) == 0 {
				break
			}
			if list[0].From < before {
				c := *slow
				require.False(t, c.Calm(list[0]), "it stopped too soon")
				stopped++
			}
			wants, did := slow.Sample(list[0])
			got, done := fast.Sample(list[0])
			require.Equal(t, wants, got)
			require.Equal(t, did, done)
			list = list[1:]
		}
	})
	assert.NotZero(t, taken)
	assert.NotZero(t, stopped)
}

func TestDetectorAllocatesNothing(t *testing.T) {
	d, err := NewDetector(usual)
	require.NoError(t, err)
	list := samples(0, 0, 0, 0, 0, -8, -8, -8, -8, -8, 0, 0, 0, 0)
	assert.Zero(t, testing.AllocsPerRun(100, func() {
		d.Reset()
		for _, s := range list {
			d.Sample(s)
		}
	}))
}

// The yardstick is one sum over the same samples.
func BenchmarkDetector(b *testing.B) {
	list := make([]signal.Sample, 1<<14)
	for i := range list {
		from := signal.Instant(i) * ms
		list[i] = signal.Sample{From: from, To: from + ms, Current: signal.Current(i/4000%2)*8*signal.Ampere + signal.Current(i%7)}
	}
	b.Run("Sample", func(b *testing.B) {
		d, err := NewDetector(usual)
		require.NoError(b, err)
		b.ReportAllocs()
		n := 0
		for i := 0; b.Loop(); i++ {
			if _, is := d.Sample(list[i&(1<<14-1)]); is {
				n++
			}
		}
	})
	b.Run("yardstick", func(b *testing.B) {
		b.ReportAllocs()
		var sum signal.Current
		for i := 0; b.Loop(); i++ {
			s := list[i&(1<<14-1)]
			sum += s.Current + signal.Current(s.From&1)
		}
		_ = sum
	})
}
