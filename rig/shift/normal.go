package shift

import "math"

// A normal law stands in for the exact one where that costs too much: mean and
// variance are right, equal values counted in, and U, which moves in steps, is
// taken to reach half a step of 1 further (the continuity correction).
type normal struct{ mean, sd float64 } // of U

// normal approximates the law of a ranking. The variance of U with groups of t equal
// values among N = m+n is m·n/12·(N+1 - Σ(t³-t)/(N·(N-1))).
func (r ranking) normal() normal {
	m, n, ties := float64(r.m), float64(r.n), 0.0
	for _, size := range r.sizes {
		t := float64(size)
		ties += float64(t * float64(float64(t*t)-1))
	}
	all := m + n
	variance := float64(m*n) / 12 * (all + 1 - ties/float64(all*(all-1)))
	if len(r.sizes) == 1 {
		variance = 0 // what the rounding of the above may miss
	}
	return normal{mean: float64(m*n) / 2, sd: math.Sqrt(variance)}
}

// tail is the probability of lying at least away below the mean.
func (l normal) tail(away float64) float64 {
	if l.sd == 0 {
		if away > 0.5 {
			return 0
		}
		return 1
	}
	return math.Erfc((away-0.5)/l.sd/math.Sqrt2) / 2
}

func (l normal) lower(u2 int64) float64 { return l.tail(l.mean - float64(u2)/2) }
func (l normal) upper(u2 int64) float64 { return l.tail(float64(u2)/2 - l.mean) }

func (l normal) outside(by int64) float64 {
	if by <= 0 {
		return 1
	}
	return min(1, 2*l.tail(float64(by)/2))
}
