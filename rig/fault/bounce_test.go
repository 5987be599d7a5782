package fault

import (
	"slices"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig/signal"
)

// The longest bounce of an ordinary switch is 6200 µs and the mean is 1557 µs:
// J. Ganssle, A Guide to Debouncing (2004, rev. 2008), 16 switches of 18.
const (
	ordinary = 6200 * time.Microsecond
	mean     = 1557 * time.Microsecond
)

// farApart makes edges far enough apart for a whole burst after each.
func farApart(n int) signal.Timeline {
	var at []signal.Instant
	for i := range n {
		at = append(at, signal.Instant(i+1)*signal.Instant(time.Second))
	}
	return timeline(signal.Broken, at...)
}

// bursts splits bent edges by the clean edge that they follow.
func bursts(clean, bent signal.Timeline) [][]signal.Edge {
	var all [][]signal.Edge
	first, last := 0, 0
	for i := range clean.Edges {
		ends := end(clean.Edges[i+1:])
		for last < len(bent.Edges) && bent.Edges[last].At < ends {
			last++
		}
		all = append(all, bent.Edges[first:last])
		first = last
	}
	return all
}

// Bounce time is from the first edge of a burst to its last, as relay glossaries
// define it.
func bounceTime(burst []signal.Edge) time.Duration {
	return burst[len(burst)-1].At.Sub(burst[0].At)
}

func TestBounce(t *testing.T) {
	clean := farApart(1000)
	bent := bend(clean, 7, Fault{Kind: Bounce, Line: line, For: ordinary})
	require.NoError(t, bent.Check())
	sizes := map[int]int{}
	for i, burst := range bursts(clean, bent) {
		e := clean.Edges[i]
		require.Equal(t, e, burst[0], "the clean edge happens at its instant")
		require.Equal(t, e.Level, burst[len(burst)-1].Level, "a burst ends at the edge's level")
		require.LessOrEqual(t, bounceTime(burst), ordinary)
		sizes[len(burst)]++
	}
	for n := 3; n <= 1+2*mostPairs; n += 2 {
		assert.Greater(t, sizes[n], 80, "bursts of %d edges: %v", n, sizes)
	}
}

// Over 10 000 draws the lengths agree with the published mean and maximum, whether
// each edge bounces or each breaking.
func TestBounceAgainstPublishedFigures(t *testing.T) {
	for _, kind := range []Kind{Bounce, BounceOff} {
		for seed := range uint64(3) {
			all := draws(10_000, seed, Fault{Kind: kind, Line: line, For: ordinary})
			average := meanOf(all)
			// The standard error of this mean is 0.28·6200 µs/100, or 18 µs; four of those.
			assert.InDelta(t, float64(mean), float64(average), float64(72*time.Microsecond), "%v: mean bounce %v", kind, average)
			longest := all[len(all)-1]
			assert.LessOrEqual(t, longest, ordinary)
			assert.Greater(t, longest, ordinary*99/100)
			assert.Less(t, all[len(all)/2], average*6/10, "more short bursts than long ones")
		}
	}
}

// The two switches that those figures leave out bounce for up to 157 ms (Ganssle,
// from memory). The same law at that length reaches it, and goes past the 50 ms
// and 100 ms that a hasty debounce allows often enough to be met in a few trials:
// a length of For times a cube is past a part x of For with the chance 1 - ∛x.
func TestBounceOfOutliers(t *testing.T) {
	const outlier = 157 * time.Millisecond
	all := draws(10_000, 9, Fault{Kind: Bounce, Line: line, For: outlier})
	assert.LessOrEqual(t, all[len(all)-1], outlier)
	assert.Greater(t, all[len(all)-1], outlier*99/100)
	for past, chance := range map[time.Duration]float64{50 * time.Millisecond: 0.317, 100 * time.Millisecond: 0.140} {
		n := 0
		for _, d := range all {
			if d > past {
				n++
			}
		}
		// Three standard errors of a share of 10 000 are at most 0.015.
		assert.InDelta(t, chance, float64(n)/float64(len(all)), 0.015, "past %v", past)
	}
}

// draws gives the lengths of n bursts, in order of length.
func draws(n int, seed uint64, f Fault) []time.Duration {
	edges := n
	if f.Kind == BounceOff {
		edges = 2 * n
	}
	clean := farApart(edges)
	var all []time.Duration
	for i, d := range bounces(clean, bend(clean, seed, f)) {
		if f.Kind == Bounce || clean.Edges[i].Level == signal.Broken {
			all = append(all, d)
		}
	}
	slices.Sort(all)
	return all
}

func meanOf(all []time.Duration) time.Duration {
	var sum time.Duration
	for _, d := range all {
		sum += d
	}
	return sum / time.Duration(len(all))
}

// bounces gives the bounce time after each edge.
func bounces(clean, bent signal.Timeline) []time.Duration {
	var all []time.Duration
	for _, b := range bursts(clean, bent) {
		all = append(all, bounceTime(b))
	}
	return all
}

// Gaps shrink on average from the burst's beginning to its end, as a ball's do.
func TestBounceShrinks(t *testing.T) {
	clean := farApart(4000)
	var early, late time.Duration
	for _, b := range bursts(clean, bend(clean, 5, Fault{Kind: Bounce, Line: line, For: ordinary})) {
		if len(b) == 1+2*mostPairs {
			early += b[2].At.Sub(b[0].At)
			late += b[12].At.Sub(b[10].At)
		}
	}
	assert.Greater(t, early, 3*late)
}

// Outliers reach 157 ms (Ganssle, from memory), so a burst may be long; and one
// that is cut off by the next edge leaves a line that still is as it should be.
func TestBounceIsCutOff(t *testing.T) {
	for seed := range uint64(300) {
		clean := timeline(signal.Broken, 1_000_000, 3_000_000, 3_000_001, 90_000_000)
		bent := bend(clean, seed, Fault{Kind: Bounce, Line: line, For: 157 * time.Millisecond})
		require.NoError(t, bent.Check())
		for _, at := range []signal.Instant{1_000_000, 3_000_000, 3_000_001, 90_000_000, 900_000_000} {
			require.Equal(t, clean.Level(at), bent.Level(at), "seed %d at %v", seed, at)
		}
	}
}

func TestBounceOfNoLength(t *testing.T) {
	clean := farApart(50)
	for _, d := range []time.Duration{1, 2, 3, 12, 13} {
		bent := bend(clean, 1, Fault{Kind: Bounce, Line: line, For: d})
		require.NoError(t, bent.Check())
		for _, b := range bounces(clean, bent) {
			require.LessOrEqual(t, b, d)
		}
	}
	assert.Equal(t, clean, bend(clean, 1, Fault{Kind: Bounce, Line: line, For: 1}), "nothing fits into a nanosecond")
}

// The seed, the edge, the line and the fault's place in the list each matter.
func TestBounceDraws(t *testing.T) {
	clean := farApart(3)
	f := Fault{Kind: Bounce, Line: line, For: ordinary}
	one := bend(clean, 1, f)
	assert.Equal(t, one, bend(clean, 1, f))
	assert.NotEqual(t, one, bend(clean, 2, f))
	b := bursts(clean, one)
	assert.NotEqual(t, bounceTime(b[0]), bounceTime(b[1]))
	late := Fault{Kind: Late, Line: other, By: 1}
	assert.NotEqual(t, one, bend(clean, 1, late, f))
	var from, to lines
	from[other] = clean
	f.Line = other
	Bend([]Fault{f}, 1, &from, &to)
	assert.NotEqual(t, one.Edges, to[other].Edges)
}
