package uncertainty

import (
	"errors"
	"math"
)

func (b *Budget) correlated() bool {
	for _, c := range b.Correlations {
		if c.R != 0 {
			return true
		}
	}
	return false
}

func (b *Budget) correlationMatrix() [][]float64 {
	r := make([][]float64, len(b.Inputs))
	for i := range r {
		r[i] = make([]float64, len(b.Inputs))
		r[i][i] = 1
	}
	for _, c := range b.Correlations {
		i, j := b.index(c.A), b.index(c.B)
		r[i][j], r[j][i] = c.R, c.R
	}
	return r
}

// combineCorrelated is JCGM 100:2008, 5.2.2. The Welch-Satterthwaite formula holds
// for independent inputs only, so inputs that hang together, directly or through
// others, count in it as one contribution with the fewest degrees of freedom among
// them. That is exact where they were read together, n times each, and cautious
// otherwise.
func (b *Budget) combineCorrelated(l *Linear) {
	r, n := b.correlationMatrix(), len(l.Lines)
	variance := 0.0
	shares := make([]float64, n)
	for i := range n {
		for j := range n {
			shares[i] += float64(float64(l.Lines[i].Contribution*l.Lines[j].Contribution) * r[i][j])
		}
		variance += shares[i]
	}
	if !(variance > 0) {
		return // the inputs cancel
	}
	l.Standard = math.Sqrt(variance)
	groups := groupsOf(r)
	u, dof := make([]float64, n), make([]float64, n)
	for i := range n {
		l.Lines[i].Share = shares[i] / variance
		g := groups[i]
		u[g] += shares[i] // r is 0 between groups: a group's shares are its variance
		if d := l.Lines[i].Input.Dof; d != 0 && (dof[g] == 0 || d < dof[g]) {
			dof[g] = d
		}
	}
	for g := range u {
		u[g] = math.Sqrt(max(0, u[g]))
	}
	l.Dof = WelchSatterthwaite(u, dof)
}

// groupsOf gives each input the lowest index that it hangs together with.
func groupsOf(r [][]float64) []int {
	group := make([]int, len(r))
	for i := range group {
		group[i] = i
	}
	for changed := true; changed; {
		changed = false
		for i := range r {
			for j := range r {
				if r[i][j] != 0 && group[j] < group[i] {
					group[i], changed = group[j], true
				}
			}
		}
	}
	return group
}

var errNoCorrelation = errors.New("the correlations contradict each other: no quantities hang together like this (the matrix is not positive semi-definite)")

// cholesky gives the lower triangle whose square is the matrix. A matrix that is
// only semi-definite, as when two inputs move as one, is allowed.
func cholesky(r [][]float64) ([][]float64, error) {
	const slack = 1e-9 // coefficients are stated to a few digits, and rounded
	low := make([][]float64, len(r))
	for i := range r {
		low[i] = make([]float64, len(r))
		for j := 0; j <= i; j++ {
			rest := r[i][j]
			for k := range j {
				rest -= float64(low[i][k] * low[j][k])
			}
			switch {
			case i == j && rest < -slack:
				return nil, errNoCorrelation
			case i == j && rest < slack:
				low[i][i] = 0
			case i == j:
				low[i][i] = math.Sqrt(rest)
			case low[j][j] == 0:
				if math.Abs(rest) > math.Sqrt(slack) {
					return nil, errNoCorrelation
				}
			default:
				low[i][j] = rest / low[j][j]
			}
		}
	}
	return low, nil
}
