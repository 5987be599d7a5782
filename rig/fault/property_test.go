package fault

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/signal"
)

// The lines that the draws use: few, so that faults meet on them.
var drawn = []signal.Line{line, other, signal.HallTravel}

func drawFault(t *rapid.T, kinds []KindInfo) Fault {
	info := rapid.SampledFrom(kinds).Draw(t, "kind")
	f := Fault{Kind: info.Kind, Line: rapid.SampledFrom(drawn).Draw(t, "line")}
	figure := func(of Figures, least, most int) time.Duration {
		if !info.Needs.Has(of) {
			return 0
		}
		return time.Duration(rapid.IntRange(least, most).Draw(t, of.String()))
	}
	f.By, f.For = figure(By, 1, 60), figure(For, 1, 200)
	f.Every = figure(Every, 2, 40)
	f.Gap = figure(Gap, 1, max(1, int(f.Every)-1))
	if info.Least > 0 {
		f.Gap += info.Least
		f.Every = f.Gap + f.Every/2 // little room to move, so that glitches meet edges
	}
	if info.Needs.Has(Other) {
		f.Other = rapid.SampledFrom(drawn).Filter(func(l signal.Line) bool { return l != f.Line }).Draw(t, "other")
	}
	return f
}

func infos(kinds ...Kind) (all []KindInfo) {
	for _, k := range kinds {
		all = append(all, *k.Info())
	}
	return all
}

func drawFaults(t *rapid.T, kinds []KindInfo) []Fault {
	var faults []Fault
	for range rapid.IntRange(1, 4).Draw(t, "faults") {
		f := drawFault(t, kinds)
		require.NoError(t, f.Check())
		faults = append(faults, f)
	}
	return faults
}

// extend draws further edges behind those that a line has.
func extend(t *rapid.T, l *signal.Timeline, after signal.Instant) {
	level := l.Level(signal.Never)
	for range rapid.IntRange(0, 8).Draw(t, "edges") {
		after += signal.Instant(rapid.IntRange(1, 80).Draw(t, "gap"))
		level = level.Not()
		l.Edges = append(l.Edges, signal.Edge{At: after, Level: level})
	}
}

func drawLines(t *rapid.T) *lines {
	var all lines
	for _, l := range drawn {
		all[l].Initial = signal.Level(rapid.IntRange(0, 1).Draw(t, "initial"))
		extend(t, &all[l], signal.Instant(rapid.IntRange(-1, 30).Draw(t, "first")))
	}
	return &all
}

// until gives the lines with only their edges up to an instant.
func until(all *lines, at signal.Instant) lines {
	var cut lines
	for l := range all {
		cut[l].Initial = all[l].Initial
		for _, e := range all[l].Edges {
			if e.At <= at {
				cut[l].Edges = append(cut[l].Edges, e)
			}
		}
	}
	return cut
}

func TestBentTimelinesAreValid(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		clean, faults := drawLines(t), drawFaults(t, Kinds[:])
		before := until(clean, signal.Never)
		var bent lines
		Bend(faults, rapid.Uint64().Draw(t, "seed"), clean, &bent)
		for _, l := range drawn {
			require.NoError(t, clean[l].Check())
			require.NoError(t, bent[l].Check(), "%v under %v", l, faults)
		}
		require.Equal(t, before, until(clean, signal.Never), "the clean lines were changed")
	})
}

// What has happened stays as it was, whatever is to come. Early and
// BreaksEarly look ahead by their By and no further.
func TestBentPastIsStable(t *testing.T) {
	changed := 0
	rapid.Check(t, func(t *rapid.T) {
		clean, faults := drawLines(t), drawFaults(t, Kinds[:])
		seed := rapid.Uint64().Draw(t, "seed")
		now := signal.Instant(rapid.IntRange(0, 300).Draw(t, "now"))
		another := until(clean, now)
		for _, l := range drawn {
			extend(t, &another[l], now)
		}
		var one, two lines
		Bend(faults, seed, clean, &one)
		Bend(faults, seed, &another, &two)

		past := now
		for _, f := range faults {
			if f.Kind == Early || f.Kind == BreaksEarly {
				past -= signal.Instant(f.By)
			}
		}
		require.Equal(t, until(&one, past), until(&two, past), "clean lines the same up to %v, bent lines up to %v, faults %v", now, past, faults)
		if !assert.ObjectsAreEqual(one, two) {
			changed++
		}
	})
	assert.NotZero(t, changed, "the draws must change the future")
}

// Bending is a function: no memory of what was bent before, in the slices or
// anywhere else.
func TestBendForgets(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		clean, faults := drawLines(t), drawFaults(t, Kinds[:])
		seed := rapid.Uint64().Draw(t, "seed")
		var fresh, used lines
		Bend(drawFaults(t, Kinds[:]), seed+1, drawLines(t), &used)
		Bend(faults, seed, clean, &fresh)
		Bend(faults, seed, clean, &used)
		require.Equal(t, until(&fresh, signal.Never), until(&used, signal.Never))
	})
}

// A line on which there is no fault, nor any swapped with it, is as it was.
func TestOtherLinesAreCopied(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		clean, faults := drawLines(t), drawFaults(t, Kinds[:])
		touched := signal.SetOf()
		for _, f := range faults {
			touched |= signal.SetOf(f.Line, f.Other)
		}
		var bent lines
		Bend(faults, 1, clean, &bent)
		a, b := until(clean, signal.Never), until(&bent, signal.Never)
		for _, l := range drawn {
			if !touched.Has(l) {
				require.Equal(t, a[l], b[l])
			}
		}
	})
}

// A contact of these kinds is never made where it should be broken, and under a
// bounce alone it is at the right level at every clean edge.
func TestContactsOnlyOpen(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		clean := drawLines(t)
		f := drawFault(t, infos(Chatter, Dropout, Bounce, StuckBroken, BounceOff, BreaksEarly, Pulses, Drifts))
		var bent lines
		Bend([]Fault{f}, rapid.Uint64().Draw(t, "seed"), clean, &bent)
		if f.Kind == Bounce || f.Kind == BounceOff {
			for _, e := range clean[f.Line].Edges {
				require.Equal(t, e.Level, bent[f.Line].Level(e.At))
			}
			return
		}
		for at := signal.Instant(-1); at < 700; at++ {
			if clean[f.Line].Level(at) == signal.Broken {
				require.Equal(t, signal.Broken, bent[f.Line].Level(at), "%v at %v", f, at)
			}
		}
	})
}

func all() []Fault {
	return []Fault{
		{Kind: Bounce, Line: line, For: 5 * time.Millisecond},
		{Kind: Chatter, Line: other, Every: 100 * time.Millisecond, Gap: time.Millisecond},
		{Kind: Dropout, Line: line, By: time.Millisecond, For: time.Millisecond},
		{Kind: Late, Line: line, By: time.Millisecond}, {Kind: Early, Line: other, By: time.Millisecond},
		{Kind: Swapped, Line: line, Other: other},
		{Kind: BreaksLate, Line: line, By: time.Millisecond}, {Kind: BreaksEarly, Line: other, By: time.Millisecond},
		{Kind: BounceOff, Line: line, For: time.Millisecond}, {Kind: Drifts, Line: line, By: time.Millisecond},
		{Kind: Pulses, Line: other, By: time.Millisecond}, {Kind: Glitches, Line: other, Every: time.Second, Gap: 100 * time.Microsecond},
		{Kind: StuckBroken, Line: signal.HallOpen}, {Kind: NeverMakes, Line: signal.Beam}, {Kind: StuckMade, Line: signal.HallClosed},
	}
}

func TestBendAllocatesNothing(t *testing.T) {
	var clean, bent lines
	clean[line], clean[other] = farApart(20), farApart(20)
	faults := all()
	// Twice, since swapped lines swap their memory.
	Bend(faults, 1, &clean, &bent)
	Bend(faults, 1, &clean, &bent)
	assert.Zero(t, testing.AllocsPerRun(20, func() { Bend(faults, 1, &clean, &bent) }))
}

// The yardstick is bending with no fault, which copies.
func BenchmarkBend(b *testing.B) {
	var clean, bent lines
	clean[line], clean[other] = farApart(20), farApart(20)
	for name, faults := range map[string][]Fault{"yardstick": nil, "bounce": all()[:1], "all": all()} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				Bend(faults, 1, &clean, &bent)
			}
		})
	}
}
