package uncertainty

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// The sorter gives what the standard library gives, for whatever numbers.
func TestSorter(t *testing.T) {
	var s sorter
	rapid.Check(t, func(t *rapid.T) {
		y := rapid.SliceOf(rapid.OneOf(rapid.Float64(), rapid.Float64Range(-3, 3), rapid.SampledFrom([]float64{0, 1, -1, math.Inf(1), math.Inf(-1),
			math.MaxFloat64, math.SmallestNonzeroFloat64, -math.SmallestNonzeroFloat64}))).Draw(t, "draws")
		want := slices.Clone(y)
		slices.Sort(want)
		s.sort(y)
		require.Equal(t, want, y)
	})
}

// Batches brought together are what sorting all of them gives.
func TestMerged(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		var want []float64
		var batches [][]uint64
		for _, y := range rapid.SliceOfN(rapid.SliceOf(rapid.OneOf(rapid.Float64(), rapid.SampledFrom([]float64{0, 1, -1}))), 1, 9).Draw(t, "batches") {
			var s sorter
			want = append(want, y...)
			s.sort(y)
			batches = append(batches, s.keys)
		}
		slices.Sort(want)
		got := merged(batches)
		require.Len(t, got, len(want))
		for i := range want {
			require.Equal(t, want[i], got[i])
		}
	})
}

// BenchmarkSort has the standard library's sort as its yardstick.
func BenchmarkSort(b *testing.B) {
	r := rand.New(rand.NewPCG(1, 2))
	drawn := make([]float64, FewestDraws)
	for i := range drawn {
		drawn[i] = r.NormFloat64() * 1e6
	}
	y := make([]float64, len(drawn))
	var s sorter
	for name, sort := range map[string]func([]float64){"by comparison": slices.Sort[[]float64], "by bits": s.sort} {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				copy(y, drawn)
				sort(y)
			}
		})
	}
}
