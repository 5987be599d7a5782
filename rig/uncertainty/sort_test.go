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
