package uncertainty_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/signal"
	. "pintle/rig/uncertainty"
)

func trialBudget(start, width, end int64) *Budget {
	b := NewDuration("stop", signal.Span{Early: signal.Instant(start), Late: signal.Instant(start + width)}, signal.At(signal.Instant(end)), "")
	b.Add(SampleInterval("interval", 20*time.Millisecond, ""), Delay("latency", 0, 4*time.Millisecond, ""),
		Jitter("wake", 300*time.Microsecond, ""), Jitter("noise", 400*time.Microsecond, ""))
	return b
}

func TestMemoEvaluatesAlike(t *testing.T) {
	m := NewMemo(Simulation{Seed: 1})
	for _, width := range []int64{100_000, 100_001, 101_000, 5_000_000} {
		b := trialBudget(1000, width, 150*ms)
		got, err := m.Evaluate(b)
		require.NoError(t, err)
		want, err := b.Evaluate(Simulation{Seed: 1})
		require.NoError(t, err)
		assert.Equal(t, want.Linear, got.Linear)
		assert.Equal(t, want.Value, got.Value)
		assert.Equal(t, want.Used, got.Used)
		assert.InEpsilon(t, want.Interval.Width(), got.Interval.Width(), 0.03)
		assert.InDelta(t, want.Interval.Low, got.Interval.Low, 0.02*want.Interval.Width())
		x, err := want.Reading()
		require.NoError(t, err)
		y, err := got.Reading()
		require.NoError(t, err)
		limit := AtMost(x.Value + 8*ms)
		p, q := Guarded().Decide(x, limit), Guarded().Decide(y, limit)
		assert.Equal(t, p.Decision, q.Decision)
		assert.InDelta(t, float64(p.BrokenMillionths), float64(q.BrokenMillionths), 5000)
		assert.InDelta(t, want.Simulated.Outside(0, 150*ms), got.Simulated.Outside(0, 150*ms), 0.01)
	}
}

// Rounding the widths may only widen, by a 64th at most: with the same draws, the
// interval of a lone input is as much wider as its width was rounded.
func TestMemoIsNeverTooNarrow(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := Simulation{Seed: 3, Draws: 10_000}
		b := Budget{Quantity: "x", Inputs: []Input{{Name: "x", Distribution: Rectangular, Sensitivity: -1, HalfWidth: rapid.Float64Range(1e-3, 1e9).Draw(t, "a")}}}
		got, err := NewMemo(s).Evaluate(&b)
		require.NoError(t, err)
		// The sign is taken off before drawing. Drawn with it the input would have the mirror
		// image of these draws, whose ends differ by what ten thousand draws waver.
		b.Inputs[0].Sensitivity = 1
		want, err := b.Simulate(s)
		require.NoError(t, err)
		ratio := got.Simulated.Symmetric.Width() / want.Symmetric.Width()
		require.GreaterOrEqual(t, ratio, 1-1e-9)
		require.LessOrEqual(t, ratio, 1+1.0/64+1e-9)
	})
}

// What was evaluated before must not show.
func TestMemoHangsOnTheBudgetAlone(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		s := Simulation{Seed: 3, Draws: 10_000}
		width := rapid.Int64Range(0, 1e6)
		used := NewMemo(s)
		for range rapid.IntRange(0, 5).Draw(t, "before") {
			_, err := used.Evaluate(trialBudget(1000, width.Draw(t, "other"), 90*ms))
			require.NoError(t, err)
		}
		b := trialBudget(rapid.Int64Range(0, 1e9).Draw(t, "start"), width.Draw(t, "width"), 2000*ms)
		got, err := used.Evaluate(b)
		require.NoError(t, err)
		want, err := NewMemo(s).Evaluate(b)
		require.NoError(t, err)
		require.Equal(t, want, got)
	})
}

func TestMemoHandsOnWhatItCannotShare(t *testing.T) {
	m := NewMemo(Simulation{})
	for _, b := range []Budget{massStandard(), {Quantity: "exact", Inputs: []Input{{Name: "n", Value: 3, Distribution: Normal, Sensitivity: 1}}}} {
		got, err := m.Evaluate(&b)
		require.NoError(t, err)
		want, err := b.Evaluate(Simulation{})
		require.NoError(t, err)
		assert.Equal(t, want, got)
	}
	_, err := m.Evaluate(&Budget{})
	require.ErrorContains(t, err, "no inputs")
}

func BenchmarkMemo(b *testing.B) {
	m := NewMemo(Simulation{Seed: 1})
	budget := trialBudget(1000, 100_000, 150*ms)
	if _, err := m.Evaluate(budget); err != nil {
		b.Fatal(err)
	}
	b.ReportAllocs()
	for b.Loop() {
		if _, err := m.Evaluate(budget); err != nil {
			b.Fatal(err)
		}
	}
}
