package rule

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pintle/rig/signal"
)

// One open reading stands for another only where it lies no farther from the limit, on
// either side of it, and is no better known; a time stands for none.
func TestWhatAnOpenReadingStandsFor(t *testing.T) {
	at := func(least, most int64, reading bool) *Occurrence {
		return &Occurrence{Value: Interval{least, most}, Reading: reading}
	}
	for _, c := range []struct {
		a, b          *Occurrence
		most, atLeast bool
	}{
		{at(5, 5, true), at(4, 4, true), true, false},
		{at(4, 4, true), at(5, 5, true), false, true},
		{at(5, 5, true), at(5, 5, true), true, true},
		{at(4, 6, true), at(5, 5, true), true, true},
		{at(5, 5, true), at(4, 6, true), false, false}, // better known, and so no nearer to doubt
		{at(8, 8, true), at(1, 3, true), false, false},
		{at(7, 9, true), at(1, 3, true), true, false},
		{at(7, 9, true), at(1, 2, true), true, false},
		{at(-9, -7, true), at(-3, -1, true), false, true},
		{at(7, 9, false), at(1, 3, true), false, false},
		{at(7, 9, true), at(1, 3, false), false, false},
		{at(7, 9, false), at(1, 3, false), false, false},
	} {
		assert.Equal(t, c.most, c.a.outweighs(c.b, AtMost), "%v, %v, at most", c.a, c.b)
		assert.Equal(t, c.atLeast, c.a.outweighs(c.b, AtLeast), "%v, %v, at least", c.a, c.b)
	}
}

// The one that is kept of readings is the worst of them, on the side that the limit is on.
func TestTheWorstOpenReadingIsKept(t *testing.T) {
	for sense, want := range map[Sense]int64{AtMost: 5, AtLeast: 3} {
		for _, order := range [][]int64{{3, 5, 4}, {5, 4, 3}, {4, 3, 5}, {3, 4, 5}} {
			kept := tally{sense: sense}
			for _, v := range order {
				kept.add(open(v, v, signal.Instant(v), true))
			}
			assert.Equal(t, 1, kept.count)
			assert.Equal(t, Interval{want, want}, kept.opens[0].Value, "sense %d, %v", sense, order)
			assert.Equal(t, Interval{want, want}, kept.value, "what is told is that too")
		}
	}
}
