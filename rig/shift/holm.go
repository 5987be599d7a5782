package shift

import (
	"math"
	"slices"
)

// Holm corrects the probabilities of tests that are made at once (Holm, Scandinavian
// Journal of Statistics 6, 1979, 65-70): with those that come out at or under alpha
// rejected, the probability of one false rejection or more is at most alpha, however
// the tests hang together. The answers are in the order of what is given. It steps
// down from the smallest and stops at the first that is kept; stepping up from the
// largest is another method (Hochberg's), which needs independent tests.
func Holm(p []float64) []float64 {
	order := make([]int, len(p))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int {
		switch {
		case p[i] < p[j]:
			return -1
		case p[i] > p[j]:
			return 1
		}
		return 0
	})
	out := make([]float64, len(p))
	largest := 0.0
	for k, i := range order {
		largest = max(largest, min(1, p[i]*float64(len(p)-k)))
		out[i] = largest
	}
	return out
}

// Smallest is the least probability that samples of these sizes can come out at: two
// that do not overlap at all are one of the ways to deal their values out, and its
// mirror another.
func Smallest(m, n int) float64 {
	if m == 0 || n == 0 {
		return 1
	}
	return min(1, 2/math.Exp(lnChoose(m+n, n)))
}

// Fewest is the smallest number of values a side with which any shift, however
// large, can come out at or under alpha among so many tests.
func Fewest(tests int, alpha float64) int {
	for n := 1; n < 1000; n++ {
		if Smallest(n, n)*float64(max(1, tests)) <= alpha {
			return n
		}
	}
	return 1000
}

func lnChoose(n, k int) float64 {
	a, _ := math.Lgamma(float64(n + 1))
	b, _ := math.Lgamma(float64(k + 1))
	c, _ := math.Lgamma(float64(n - k + 1))
	return a - b - c
}
