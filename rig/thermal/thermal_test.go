package thermal

import (
	"fmt"
	"math"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/signal"
)

// bridge is the trade's example: 30 A continuous, 80 A for 1 s (common practice,
// no source).
func bridge(t require.TestingT) Curve {
	c, err := Fit(30*signal.Ampere, 80*signal.Ampere, time.Second)
	require.NoError(t, err)
	return c
}

// IEC 60255-149:2013 gives the equations; the figures were worked out from them
// independently, to six digits.
func TestFitted(t *testing.T) {
	c := bridge(t)
	assert.InDelta(t, 6.598487, c.Constant.Seconds(), 1e-6)
	for _, at := range []struct {
		amperes         float64
		cold, half, hot float64 // from 0, from 15 A, from 27 A
	}{
		{35, 8.75534, 7.41624, 2.78952},
		{40, 5.45483, 4.45483, 1.44218},
		{50, 2.94482, 2.32251, 0.67002},
		{60, 1.89827, 1.47241, 0.40520},
		{80, 1.00000, 0.76385, 0.20203},
		{100, 0.62231, 0.47215, 0.12284},
		{200, 0.15016, 0.11294, 0.02879},
	} {
		i := signal.Current(at.amperes * 1e6)
		for from, want := range map[signal.Current]float64{0: at.cold, 15 * signal.Ampere: at.half, 27 * signal.Ampere: at.hot} {
			got, ok := c.ToLimit(i, c.Steady(from))
			assert.True(t, ok)
			assert.InDelta(t, want, got.Seconds(), 6e-6, "%v A from %v", at.amperes, from)
		}
	}
	_, ok := c.ToLimit(30*signal.Ampere, 0)
	assert.False(t, ok, "what it stands for ever never brings it to its limit")
	now, ok := c.ToLimit(30*signal.Ampere, 1)
	assert.True(t, ok)
	assert.Zero(t, now)
}

// The unit table of the same standard's cold and hot curves, in time constants, the
// hot one after nine tenths of the continuous current; the figures were worked out
// independently.
func TestUnitTable(t *testing.T) {
	c := Curve{Continuous: 10 * signal.Ampere, Constant: 1000 * time.Second}
	for _, at := range []struct{ times, cold, hot float64 }{
		{1.05, 2.37547, 1.04860}, {1.1, 1.75127, 0.64436}, {1.2, 1.18562, 0.35895}, {1.5, 0.58779, 0.14150}, {2, 0.28768, 0.06141},
		{3, 0.11778, 0.02347}, {5, 0.04082, 0.00789}, {6, 0.02817, 0.00541}, {7.2, 0.01948, 0.00373}, {10, 0.01005, 0.00192},
	} {
		i := signal.Current(math.Round(at.times * 1e7))
		cold, _ := c.ToLimit(i, 0)
		hot, _ := c.ToLimit(i, 0.81)
		assert.InDelta(t, at.cold, cold.Seconds()/1000, 6e-6, "%v times, cold", at.times)
		assert.InDelta(t, at.hot, hot.Seconds()/1000, 6e-6, "%v times, hot", at.times)
	}
}

// A replica with a time constant such that 7.2 times the current is stood for 4 s
// and for 10 s lies at both ends of trip class 10 (IEC 60947-4-1, table 2: more
// than 4 s, up to 10 s, from cold).
func TestTripClassTen(t *testing.T) {
	for _, stands := range []time.Duration{4 * time.Second, 10 * time.Second} {
		c, err := Fit(10*signal.Ampere, 72*signal.Ampere, stands)
		require.NoError(t, err)
		got, ok := c.ToLimit(72*signal.Ampere, 0)
		assert.True(t, ok)
		assert.InDelta(t, float64(stands), float64(got), 10)
	}
}

func TestRatingsThatCannotBe(t *testing.T) {
	for _, r := range []struct {
		continuous, short signal.Current
		stands            time.Duration
	}{
		{0, 80 * signal.Ampere, time.Second}, {-1, 80, time.Second}, {30 * signal.Ampere, 30 * signal.Ampere, time.Second},
		{30 * signal.Ampere, 20 * signal.Ampere, time.Second}, {30 * signal.Ampere, 80 * signal.Ampere, 0},
		{30 * signal.Ampere, 80 * signal.Ampere, -1}, {mostCurrent + 1, mostCurrent + 2, 1}, {1, 2, longest + 1},
		{1, mostCurrent, longest},
	} {
		_, err := Fit(r.continuous, r.short, r.stands)
		assert.Error(t, err, "%+v", r)
	}
	_, err := Fit(0, 0, 0)
	assert.ErrorContains(t, err, "continuous")
	assert.ErrorContains(t, err, "short-time")
	assert.ErrorContains(t, err, "must be above zero, and at most 24h")
}

// math.Exp is the reference library here.
func TestDecay(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		x := rapid.Float64Range(0, 800).Draw(t, "x")
		// Halving and squaring lose a bit for each doubling of x.
		require.InDelta(t, math.Exp(-x), decay(x), 1e-15*max(1, x)*math.Exp(-x)*50+1e-300)
	})
	assert.Equal(t, 1.0, decay(0))
}

// The load stays between where it is and where it goes, and a stretch of current
// may be cut anywhere.
func TestAStretchMayBeCut(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		c := bridge(t)
		from := rapid.Float64Range(0, 3).Draw(t, "from")
		i := signal.Current(rapid.Int64Range(-200e6, 200e6).Draw(t, "current"))
		a := time.Duration(rapid.Int64Range(1, 20e9).Draw(t, "a"))
		b := time.Duration(rapid.Int64Range(1, 20e9).Draw(t, "b"))
		r := Replica{Curve: c}
		r.Begin(from)
		r.Add(i, a)
		cut := r.Add(i, b)
		whole := c.After(from, i, a+b)
		require.InDelta(t, whole, cut, 1e-12*max(1, whole))
		low, high := min(from, c.Steady(i)), max(from, c.Steady(i))
		require.True(t, cut >= low-1e-12 && cut <= high+1e-12, "%v is not between %v and %v", cut, low, high)
		require.Equal(t, cut, r.Load())
		require.Equal(t, cut, r.Add(i, 0), "no time, no change")
	})
}

// The load is the same to the last bit on every machine: GOARCH=arm64, whose
// compiler fuses products with sums, gives these very bits.
func TestSameBitsEverywhere(t *testing.T) {
	r := Replica{Curve: bridge(t)}
	noise := uint32(1)
	for range 100_000 {
		noise = noise*1664525 + 1013904223
		r.Add(signal.Current(noise>>6), time.Millisecond+time.Duration(noise>>14))
	}
	assert.Equal(t, uint64(0x3ffca96a5d740577), math.Float64bits(r.Load()), "%v", r.Load())
}

// Relays follow their element in steps of dt over the operating time at the present
// current; where the current is large that is the replica, to first order.
func TestTheRelaysElement(t *testing.T) {
	c := bridge(t)
	const step = 100 * time.Microsecond
	i := 200 * signal.Ampere
	trips, _ := c.ToLimit(i, 0)
	r := Replica{Curve: c}
	element := 0.0
	for at := time.Duration(0); at < trips; at += step {
		r.Add(i, step)
		element += step.Seconds() / trips.Seconds()
	}
	assert.InDelta(t, element, r.Load(), 0.002)
}

func BenchmarkAdd(b *testing.B) {
	r := Replica{Curve: Curve{30 * signal.Ampere, 6598487 * time.Microsecond}}
	for n := 0; b.Loop(); n++ {
		r.Add(signal.Current(n%40)*signal.Ampere, time.Millisecond)
	}
	_ = fmt.Sprint(r.load)
}
