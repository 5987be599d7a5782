package fault

import (
	"math"
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/signal"
)

// drawOne draws a fault of one kind and bends one drawn line by it.
func drawOne(t *rapid.T, k Kind) (f Fault, clean, bent signal.Timeline) {
	all := drawLines(t)
	f = drawFault(t, infos(k))
	var out lines
	Bend([]Fault{f}, rapid.Uint64().Draw(t, "seed"), all, &out)
	return f, all[f.Line], out[f.Line]
}

// of gives a timeline's edges to one level.
func of(l signal.Timeline, v signal.Level) []signal.Instant {
	var at []signal.Instant
	for _, e := range l.Edges {
		if e.Level == v {
			at = append(at, e.At)
		}
	}
	return at
}

// Held by is the fault's plain meaning: made now, or at some time in the By before.
func TestBreaksLateHoldsOn(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f, clean, bent := drawOne(t, BreaksLate)
		for at := signal.Instant(0); at < 800; at++ {
			want := clean.Level(at)
			for _, b := range of(clean, signal.Broken) {
				if b <= at && at < b.Add(f.By) {
					want = signal.Made
				}
			}
			require.Equal(t, want, bent.Level(at), "%v at %v", f, at)
		}
	})
}

func TestBreaksEarlyLeavesTheMaking(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f, clean, bent := drawOne(t, BreaksEarly)
		require.Equal(t, of(clean, signal.Made), of(bent, signal.Made))
		for i, was := range of(clean, signal.Broken) {
			is := of(bent, signal.Broken)[i]
			require.LessOrEqual(t, is, was)
			require.LessOrEqual(t, was.Sub(is), f.By)
		}
	})
}

func TestBounceOnReleaseLeavesTheMaking(t *testing.T) {
	clean := farApart(400)
	bent := bend(clean, 3, Fault{Kind: BounceOff, Line: line, For: ordinary})
	require.NoError(t, bent.Check())
	bounced := 0
	for i, burst := range bursts(clean, bent) {
		if clean.Edges[i].Level == signal.Made {
			require.Equal(t, clean.Edges[i:i+1], burst)
			continue
		}
		require.Equal(t, clean.Edges[i], burst[0])
		require.Equal(t, signal.Broken, burst[len(burst)-1].Level)
		require.LessOrEqual(t, bounceTime(burst), ordinary)
		if len(burst) > 1 {
			bounced++
		}
	}
	assert.Greater(t, bounced, 190)
}

// A pulse begins where the line makes and lasts no longer than By, and there is
// one for each making.
func TestPulsesAreShort(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f, clean, bent := drawOne(t, Pulses)
		require.Equal(t, signal.Broken, bent.Initial)
		require.Equal(t, of(clean, signal.Made), of(bent, signal.Made))
		ends := of(bent, signal.Broken)
		require.Len(t, ends, len(of(bent, signal.Made)))
		for i, began := range of(bent, signal.Made) {
			require.LessOrEqual(t, ends[i].Sub(began), f.By)
		}
	})
}

// Over a thousand cycles each making is By later than the one before, and no
// breaking has moved.
func TestDriftsOverCycles(t *testing.T) {
	clean := farApart(2000)
	f := Fault{Kind: Drifts, Line: line, By: 100 * time.Microsecond}
	bent := bend(clean, 1, f)
	require.Equal(t, of(clean, signal.Broken), of(bent, signal.Broken))
	late := of(bent, signal.Made)
	for i, was := range of(clean, signal.Made) {
		require.Equal(t, time.Duration(i)*f.By, late[i].Sub(was))
	}
}

// A drift stops at the longest time that a fault can have, and then the clock
// cannot run over.
func TestDriftEnds(t *testing.T) {
	var at []signal.Instant
	for i := range 5 {
		at = append(at, signal.Instant(i+1)*signal.Instant(10*longest))
	}
	bent := bend(timeline(signal.Broken, at...), 1, Fault{Kind: Drifts, Line: line, By: longest})
	require.NoError(t, bent.Check())
	assert.Equal(t, []signal.Instant{at[0], at[2].Add(longest), at[4].Add(longest)}, of(bent, signal.Made))
}

// A glitching line differs from the clean one for no more than Gap at a stretch,
// once in each period, and nowhere else.
func TestGlitchesAreShort(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		f, clean, bent := drawOne(t, Glitches)
		differs := diffs(clean, bent)
		require.LessOrEqual(t, len(differs), MostGaps)
		for i, d := range differs {
			require.LessOrEqual(t, d.Width(), f.Gap)
			require.GreaterOrEqual(t, d.Width(), ShortestGlitch)
			period := signal.Instant(f.Every)
			require.Equal(t, (d.Early-1)/period, signal.Instant(i), "one in each period")
			require.LessOrEqual(t, d.Late, signal.Instant(i+1)*period)
		}
	})
}

// diffs gives the stretches, after the origin, in which two lines differ.
func diffs(a, b signal.Timeline) []signal.Span {
	var all []signal.Span
	var since signal.Instant
	la, lb, i, k := a.Initial, b.Initial, 0, 0
	for i < len(a.Edges) || k < len(b.Edges) {
		at := min(end(a.Edges[i:]), end(b.Edges[k:]))
		was := la != lb
		if end(a.Edges[i:]) == at {
			la, i = a.Edges[i].Level, i+1
		}
		if end(b.Edges[k:]) == at {
			lb, k = b.Edges[k].Level, k+1
		}
		switch is := la != lb; {
		case is && !was:
			since = at
		case was && !is:
			all = append(all, signal.Span{Early: since, Late: at})
		}
	}
	return all
}

// Widths are spread over the decades evenly: of 1 to 100 µs, half are under 10 µs.
func TestGlitchWidths(t *testing.T) {
	f := Fault{Kind: Glitches, Line: line, Every: time.Second, Gap: 100 * time.Microsecond}
	var widths []float64
	for seed := range uint64(5) {
		for _, d := range diffs(signal.Timeline{}, bend(signal.Timeline{}, seed, f)) {
			widths = append(widths, math.Log10(float64(d.Width())/float64(ShortestGlitch)))
		}
	}
	require.Len(t, widths, 5*MostGaps)
	slices.Sort(widths)
	assert.Less(t, widths[0], 0.01)
	assert.Greater(t, widths[len(widths)-1], 1.99)
	for _, part := range []float64{0.25, 0.5, 0.75} {
		assert.InDelta(t, 2*part, widths[int(part*float64(len(widths)))], 0.12, "at %v of the widths", part)
	}
	for _, gap := range []time.Duration{ShortestGlitch, ShortestGlitch + 1, 2 * ShortestGlitch, 2*ShortestGlitch + 1} {
		f.Gap = gap
		longest := time.Duration(0)
		for _, d := range diffs(signal.Timeline{}, bend(signal.Timeline{}, 1, f)) {
			require.GreaterOrEqual(t, d.Width(), ShortestGlitch)
			longest = max(longest, d.Width())
		}
		require.LessOrEqual(t, longest, gap)
		require.GreaterOrEqual(t, longest, gap*98/100)
	}
}
