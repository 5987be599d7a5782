package rule

import (
	"math"
	"math/big"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/motion"
	"pintle/rig/signal"
	"pintle/rig/thermal"
)

// Means over windows of different numbers of samples are compared by products of twice an
// int64's length. The outside is Go's arithmetic of any length.
func TestMeansOfVastSumsAreComparedExactly(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		sum := rapid.OneOf(rapid.Int64Range(0, math.MaxInt64), rapid.Int64Range(0, 1000))
		count := rapid.OneOf(rapid.Int64Range(1, 1<<26), rapid.Int64Range(1, 5))
		a, n, b, m := sum.Draw(t, "a"), count.Draw(t, "n"), sum.Draw(t, "b"), count.Draw(t, "m")
		mean := func(x, n int64) *big.Rat { return big.NewRat(x, n) }
		worst := average{worst: b, of: m}
		require.Equal(t, mean(a, n).Cmp(mean(b, m)) > 0, worst.worse(a, n))
		worst.over = true
		require.Equal(t, mean(a, n).Cmp(mean(b, m)) < 0, worst.worse(a, n))
	})
}

// Whatever there is to reckon with, no value turns round and keeps a limit that it breaks.
func TestNothingVastTurnsRoundIntoAPass(t *testing.T) {
	most, far := signal.MostCurrent, signal.Farthest
	curve := thermal.Curve{Continuous: 1, Constant: 1}
	for _, c := range []struct {
		rule Rule
		want Verdict
	}{
		{Rule{Pattern: CurrentUnder, Current: most - 1}, Fail},
		{Rule{Pattern: CurrentUnder, Current: math.MaxInt64}, Pass},
		{Rule{Pattern: CurrentOver, Current: math.MaxInt64}, Fail},
		{Rule{Pattern: AverageUnder, Current: most - 1, Window: time.Second}, Fail},
		{Rule{Pattern: AverageUnder, Current: math.MaxInt64, Window: time.Second}, Pass},
		{Rule{Pattern: AverageOver, Current: math.MaxInt64, Window: time.Second}, Fail},
		{Rule{Pattern: AverageOver, Current: most + 1, Window: time.Second}, Fail},
		{Rule{Pattern: ThermalLoad, Heating: Heating{Part: "bridge", Curve: curve, Most: 1_000_000}}, Fail},
		{Rule{Pattern: MinimumDuration, P: running(motion.Opening), Limit: math.MaxInt64}, Fail},
		{Rule{Pattern: MaximumDuration, P: running(motion.Opening), Limit: time.Second}, Fail},
		{Rule{Pattern: BoundedResponse, P: running(motion.Opening), S: running(motion.Stopped), Limit: time.Second}, Fail},
		{Rule{Pattern: BoundedRecurrence, P: running(motion.Stopped), Limit: time.Second}, Fail},
		{Rule{Pattern: BoundedInvariance, P: running(motion.Opening), S: running(motion.Opening), Limit: math.MaxInt64}, Inconclusive},
	} {
		c.rule.Name = c.rule.Pattern.String()
		m, err := Compile([]Rule{c.rule}, nil)
		require.NoError(t, err)
		m.Begin(0, [signal.LineCount]signal.Level{}, motion.Stopped)
		m.Motor(motion.Change{Was: motion.Stopped, Is: motion.Opening, Span: signal.At(5)})
		for i := range signal.Instant(3000) {
			m.Sample(signal.Sample{From: i * 1e6, To: (i + 1) * 1e6, Current: -most})
		}
		m.Clock(far - 2)
		if c.rule.Pattern != BoundedInvariance {
			m.Motor(motion.Change{Was: motion.Opening, Is: motion.Stopped, Span: signal.At(far - 1)})
		}
		f := m.Finish(far)[0]
		assert.Equal(t, c.want, f.Verdict, "%s: %+v", c.rule.Name, f)
	}
}

func running(s motion.State) Condition {
	return Condition{Text: "motor " + s.String(), Any: [][]Term{{{Kind: MotorIs, State: s}}}}
}
