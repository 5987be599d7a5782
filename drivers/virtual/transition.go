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
