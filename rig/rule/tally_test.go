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

// Of occurrences that are as bad as each other the first is told, so that a finding does
// not hang on how often the like came again.
func TestOfEqualsTheFirstIsTold(t *testing.T) {
	at := func(i signal.Instant) [2]signal.Span { return [2]signal.Span{signal.At(i), signal.At(i + 1)} }
	for _, sense := range []Sense{AtMost, AtLeast} {
		told := tally{sense: sense}
		for i := range signal.Instant(3) {
			told.add(occurrence{verdict: Pass, why: whyValue, measured: true, value: Interval{4, 5}, spans: at(i), n: 1})
		}
		assert.Equal(t, at(0), told.spans, "sense %d", sense)
		assert.Zero(t, told.count, "what has passed need not be judged again")
		assert.Equal(t, 3, told.n)
	}
	var unmet tally
	for i := range signal.Instant(3) {
		unmet.add(occurrence{verdict: Fail, why: whyUnmet, value: Interval{int64(i), int64(i)}, spans: at(i), n: 1})
	}
	assert.Equal(t, at(0), unmet.spans, "what was not measured has no value to be compared by")
	measured := occurrence{verdict: Fail, why: whyLate, measured: true, value: Interval{0, 0}, spans: at(9), n: 1}
	unmet.add(measured)
	assert.Equal(t, at(9), unmet.spans, "what was measured tells more")
	unmet.add(occurrence{verdict: Fail, why: whyUnmet, value: Interval{7, 7}, spans: at(10), n: 1})
	assert.Equal(t, at(9), unmet.spans)
}

// Of two tallies either of which may be the true one what is told is the one with less to
// spare, and put to the test no oftener than is certain.
func TestBlendTellsTheOneWithLessToSpare(t *testing.T) {
	of := func(value int64, n int) tally {
		var told tally
		told.sense = AtMost
		told.add(occurrence{verdict: Pass, why: whyValue, measured: true, value: Interval{value, value}, n: n})
		return told
	}
	for _, c := range []struct{ mine, other, told int64 }{{10, 15, 15}, {15, 10, 15}, {10, 11, 11}, {10, 10, 10}} {
		mine, other := of(c.mine, 3), of(c.other, 2)
		mine.blend(&other)
		assert.Equal(t, Interval{c.told, c.told}, mine.value, "of %d and %d", c.mine, c.other)
		assert.Equal(t, 2, mine.n)
		assert.Equal(t, Pass, mine.verdict)
	}
	var none, neither tally
	none.blend(&neither)
	assert.Equal(t, tally{}, none, "nothing comes of two that were never put to the test")
}
