package shift

import (
	"cmp"
	"slices"
)

// Holm adjusts the p of several tests for there being several (Holm, Scandinavian
// Journal of Statistics 6, 1979, 65-70), in the order given: the smallest p is
// multiplied by the number of tests m, the next by m-1, and so on, each raised to
// the one before and none above 1. Rejecting every test whose adjusted p is at most
// alpha, as Reject does, rejects any test wrongly with a probability of at most alpha,
// however the tests hang together.
//
// The steps go down: the first p that is above its threshold alpha/(m-i) ends it, and
// none after it is rejected, though it be below its own. Looking for the last one
// that is below its threshold is Hochberg's procedure, which steps up; it rejects
// more and does not hold for tests that hang together in any way.
//
// A p that is no probability (not a number, below 0, above 1) counts as 1: it is
// never rejected and makes the others no cheaper.
func Holm(p []float64) []float64 {
	order := make([]int, len(p))
	for i := range order {
		order[i] = i
	}
	slices.SortStableFunc(order, func(i, j int) int { return cmp.Compare(probability(p[i]), probability(p[j])) })
	adjusted, least := make([]float64, len(p)), 0.0
	for step, i := range order {
		least = max(least, min(1, float64(float64(len(p)-step)*probability(p[i]))))
		adjusted[i] = least
	}
	return adjusted
}

func probability(p float64) float64 {
	if p >= 0 && p <= 1 {
		return p
	}
	return 1
}

// Reject says which tests Holm's procedure rejects if at most a part alpha of all
// families of tests may have any rejected wrongly.
func Reject(p []float64, alpha float64) []bool {
	rejected := make([]bool, len(p))
	for i, adjusted := range Holm(p) {
		rejected[i] = adjusted <= alpha
	}
	return rejected
}
