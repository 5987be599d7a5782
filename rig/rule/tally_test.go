package rule

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"pintle/rig/signal"
)

func open(least, most int64, at signal.Instant, reading bool) occurrence {
	return occurrence{verdict: Inconclusive, why: whyValue, measured: true, value: Interval{least, most}, spans: [2]signal.Span{{}, signal.At(at)}, n: 1, reading: reading}
}

// No open value is forgotten: times are all kept, of readings the worst is enough, and
// where there are too many the rule is inconclusive for good.
func TestOpenValuesAreKept(t *testing.T) {
	times := tally{sense: AtMost}
	times.add(open(10, 20, 1, false))
	times.add(open(14, 16, 2, false))
	times.add(open(14, 16, 2, false))
	assert.Equal(t, 2, times.count, "the same one counts once")
	assert.False(t, times.unsure)

	var readings tally
	for _, sense := range []Sense{AtMost, AtLeast} {
		readings = tally{sense: sense}
		for _, v := range []int64{3, 5, 4} {
			readings.add(open(v, v, signal.Instant(v), true))
		}
		assert.Equal(t, 1, readings.count)
	}
	assert.Equal(t, Interval{3, 3}, readings.opens[0].Value, "of at least, the smallest")
	readings.add(open(1, 9, 9, true))
	assert.Equal(t, 2, readings.count, "wider and farther from the limit: neither says as much")

	both := tally{sense: AtMost}
	both.merge(&times)
	both.merge(&readings)
	assert.Equal(t, 4, both.count)
	for i := range int64(mostOpen) {
		assert.Equal(t, 4+i > mostOpen, both.unsure, "with %d", 4+i)
		both.add(open(100+i, 110+i, signal.Instant(i), false))
	}
	assert.True(t, both.unsure, "more than can be kept")

	doubt := tally{}
	doubt.add(occurrence{verdict: Inconclusive, why: whyOrder, n: 1})
	both = tally{sense: AtMost}
	both.add(open(1, 2, 3, false))
	both.merge(&doubt)
	assert.True(t, both.unsure, "an order that cannot be told is not mended by a value")
	blended := times
	blended.blend(&both)
	assert.True(t, blended.unsure)
	assert.Equal(t, 3, blended.count, "either may be the true one, so the values of both count")
}
