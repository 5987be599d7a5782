package virtual

import (
	"time"

	"pintle/rig/linear"
)

// The motor's equations are solved by tables: a step takes its deviation from its
// steady state, and the charge that flows meanwhile, over a fixed time.
type (
	matrix = linear.Matrix // of current, speed, charge
	step   = linear.Pair
	steps  = linear.Pairs
)

const longest = linear.Longest

func tabulate(a matrix) *steps                { return linear.TabulatePairs(a) }
func stepOver(a matrix, d time.Duration) step { return linear.PairOver(a, d) }

func magnitude(x float64) float64 {
	if x < 0 {
		return -x
	}
	return x
}

func sign(x float64) float64 {
	switch {
	case x > 0:
		return 1
	case x < 0:
		return -1
	}
	return 0
}
