package shift

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// normalCut is cut by the normal approximation, with half a step more for safety.
func normalCut(m, n int, confidence float64) (k int, reached float64, ok bool) {
	mean := float64(m) * float64(n) / 2
	sd := math.Sqrt(float64(m) * float64(n) * float64(m+n+1) / 12)
	z := distuv.UnitNormal.Quantile((1 + confidence) / 2)
	k = int(math.Floor(mean - z*sd - 0.5))
	return max(0, k-1), confidence, k > 0
}
