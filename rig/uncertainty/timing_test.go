package uncertainty_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat/distuv"
	"pgregory.net/rapid"

	"pintle/rig/signal"
	. "pintle/rig/uncertainty"
)

// A reading that may come up to 16 ms late (the default timer of common USB serial
// bridges; 1 ms where it is set low): 8 ms off with u = 16/√12 = 4.62 ms, or 0.5 ms
// and 0.29 ms.
func TestDelay(t *testing.T) {
	in := Delay("bridge", 0, 16*time.Millisecond, "timer")
	assert.Equal(t, 8e6, in.Value)
	assert.Equal(t, -1.0, in.Sensitivity, "the delay is taken off")
	near(t, 4.62, in.StandardUncertainty()/1e6, 0.01, "u")
	in = SampleInterval("bridge", time.Millisecond, "timer")
	assert.Equal(t, 0.5e6, in.Value)
	near(t, 0.29, in.StandardUncertainty()/1e6, 0.01, "u")
	assert.Equal(t, Delay("x", 3, 9, ""), Delay("x", 9, 3, ""))
}

func TestTimingInputs(t *testing.T) {
	in := ClockRate("clock", 50, 15*time.Second, "crystal")
	assert.Equal(t, 750_000.0, in.HalfWidth, "50 millionths of 15 s")
	assert.Equal(t, in.HalfWidth, ClockRate("clock", -50, 15*time.Second, "").HalfWidth)
	assert.InDelta(t, 2.5e6, Crossing("threshold", 0.02, -8, "").Standard, 1e-6, "20 mA over 8 A/s are 2.5 ms")
	flat := Crossing("threshold", 0.02, 0, "")
	_, err := (&Budget{Inputs: []Input{flat}}).Linear()
	require.ErrorContains(t, err, "+Inf")
	assert.Equal(t, 5e6, Jitter("wake", 5*time.Millisecond, "").Standard)
	in = Bracket("edge", signal.Span{Early: 1005, Late: 1012}, 1000, -1, "recorded")
	assert.Equal(t, []float64{8.5, 3.5, -1}, []float64{in.Value, in.HalfWidth, in.Sensitivity})
}

// Two rectangular inputs and the trapezoid that they make are the same (JCGM
// 101:2008, 6.4.3.1): u² = (a² + b²)/3.
func TestBetweenIsTheTwoBrackets(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		at := func(what string) signal.Span {
			early := signal.Instant(rapid.Int64Range(0, 1e12).Draw(t, what))
			return signal.Span{Early: early, Late: early + signal.Instant(rapid.Int64Range(0, 1e9).Draw(t, what+" width"))}
		}
		from, to := at("from"), at("to")
		two, err := NewDuration("d", from, to, "").Linear()
		require.NoError(t, err)
		one, err := (&Budget{Inputs: []Input{Between("d", from, to, "")}}).Linear()
		require.NoError(t, err)
		require.InDelta(t, two.Value, one.Value, 1e-3)
		require.InDelta(t, two.Standard, one.Standard, 1e-6*(1+two.Standard))
		least, most := to.Early.Sub(from.Late), to.Late.Sub(from.Early)
		in := Between("d", from, to, "")
		require.InDelta(t, float64(least), in.Value-in.HalfWidth, 1e-3, "its foot is the span of the duration")
		require.InDelta(t, float64(most), in.Value+in.HalfWidth, 1e-3)
	})
}

func TestBetweenAsDrawn(t *testing.T) {
	from, to := signal.Span{Early: 0, Late: 10 * ms}, signal.Span{Early: 100 * ms, Late: 130 * ms}
	two := simulate(t, *NewDuration("d", from, to, ""), Simulation{Seed: 1, Draws: 200_000})
	one := simulate(t, Budget{Quantity: "d", Inputs: []Input{Between("d", from, to, "")}}, Simulation{Seed: 2, Draws: 200_000})
	assert.InEpsilon(t, two.Standard, one.Standard, 0.01)
	assert.InDelta(t, two.Symmetric.Low, one.Symmetric.Low, 0.15*ms)
	assert.InDelta(t, two.Symmetric.High, one.Symmetric.High, 0.15*ms)
}

// A meter that looks every so often at a motor which stops at a known time: the
// stated interval of 95 % holds the truth in 94 to 99 % of 20 000 trials, and a
// controller exactly at its limit is passed by guarded acceptance with w = U in no
// more than 2.5 % of them.
func TestIntervalsHoldTheTruth(t *testing.T) {
	const (
		trials = 20_000
		truth  = 150 * ms
	)
	random := rand.New(rand.NewPCG(1, 2))
	for _, interval := range []int64{1 * ms, 10 * ms, 50 * ms, 100 * ms} {
		for _, late := range []int64{0, 1 * ms, 16 * ms} {
			t.Run(fmt.Sprintf("every %d ms, up to %d ms late", interval/ms, late/ms), func(t *testing.T) {
				measure := func(origin, phase, delay, edge int64) *Budget {
					stop := origin + truth
					seen := (stop-phase+interval-1)/interval*interval + phase // the first look at or after it
					stamped := seen + delay
					at := signal.Instant(origin - edge)
					b := NewDuration("stop time", signal.Span{Early: at, Late: at + 200_000}, signal.At(signal.Instant(stamped)), "")
					b.Add(SampleInterval("interval", time.Duration(interval), ""))
					if late > 0 {
						b.Add(Delay("latency", 0, time.Duration(late), ""))
					}
					return b
				}
				held, passed := 0, 0
				var at0 Evaluation // what is uncertain is the same in every trial: only the value moves
				for trial := range trials {
					b := measure(1000*ms+random.Int64N(interval), random.Int64N(interval), random.Int64N(late+1), random.Int64N(200_001))
					if trial == 0 {
						var err error
						at0, err = b.Evaluate(Simulation{Seed: 1})
						require.NoError(t, err)
					}
					l, err := b.Linear()
					require.NoError(t, err)
					e := at0
					shift := l.Value - at0.Linear.Value
					e.Value += shift
					e.Interval = CoverageInterval{Low: e.Interval.Low + shift, High: e.Interval.High + shift}
					x, err := e.Reading()
					require.NoError(t, err)
					if x.Low <= truth && truth <= x.High {
						held++
					}
					low, high, ok := Guarded().PassZone(x, AtMost(truth))
					if ok && low <= x.Value && x.Value <= high {
						passed++
					}
				}
				rate := float64(held) / trials
				assert.GreaterOrEqual(t, rate, 0.94, "used: %v", at0.Used)
				assert.LessOrEqual(t, rate, 0.99, "used: %v", at0.Used)
				// The lowest probability that still explains so many passes once in a
				// thousand times (Clopper and Pearson) must not be above 2.5 %.
				if passed > 0 {
					bound := distuv.Beta{Alpha: float64(passed), Beta: float64(trials - passed + 1)}.Quantile(0.001)
					assert.LessOrEqual(t, bound, 0.025, "passed %d of %d", passed, trials)
				}
				t.Logf("holds %.2f %%, passed at the limit %.2f %%, U about %.3g ms, %v", 100*rate, 100*float64(passed)/trials, at0.Interval.Width()/2e6, at0.Used)
			})
		}
	}
}

func TestReadingRoundsAwayFromTheValue(t *testing.T) {
	l := Linear{Quantity: "x", Value: 10.4, Standard: 1.01, Expanded: 2.2}
	x, err := l.Reading()
	require.NoError(t, err)
	assert.Equal(t, Reading{Value: 10, Standard: 2, Low: 8, High: 13}, x)
	// What is over by the arithmetic alone is not over: 150 ms ± 20 ms stay so.
	l = Linear{Value: 150e6, Standard: math.Nextafter(10e6, 1e9), Expanded: math.Nextafter(20e6, 1e9)}
	x, err = l.Reading()
	require.NoError(t, err)
	assert.Equal(t, Plain(150e6, 10e6, 20e6), x)
	for _, bad := range []Linear{{Value: math.NaN()}, {Value: 1e17}, {Standard: math.Inf(1)}} {
		_, err := bad.Reading()
		require.ErrorContains(t, err, "whole units")
	}
}
