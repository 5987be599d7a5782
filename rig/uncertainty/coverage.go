package uncertainty

import (
	"fmt"
	"math"
	"sync"

	"gonum.org/v1/gonum/stat/distuv"
)

// CoverageFactor is the factor by which a standard uncertainty is multiplied to
// cover the value with the given probability, two-sided, by Student's t (JCGM
// 100:2008, table G.2). Zero degrees of freedom are infinitely many, which is the
// normal distribution. It is rounded to nine decimals; an error if the
// probability is not between 0 and 1 or there is less than one degree of freedom.
func CoverageFactor(coverage, dof float64) (float64, error) {
	switch {
	case !(coverage > 0 && coverage < 1):
		return 0, fmt.Errorf("find a coverage factor: a coverage of %v does not lie between 0 and 1", coverage)
	case dof != 0 && !(dof >= 1):
		return 0, fmt.Errorf("find a coverage factor: %v degrees of freedom are fewer than 1", dof)
	}
	return math.Round(studentFactor(coverage, dof)*1e9) / 1e9, nil
}

// Past manyDof Student's t differs from the normal by less than the nine
// decimals: by about k³/(4·dof).
const manyDof = 1e12

func studentFactor(coverage, dof float64) float64 {
	// The lower tail is small where the coverage is high, and subtracting it
	// from one would lose its digits.
	tail := (1 - coverage) / 2
	z := -distuv.UnitNormal.Quantile(tail)
	switch {
	case dof == 0 || dof > manyDof:
		return z
	case dof > 50 && z < 2 || dof > 200 && z < 4:
		return nearNormal(z, dof)
	case coverage == 0.95 && dof <= 50 && dof == math.Trunc(dof):
		return student95()[int(dof)]
	}
	return quantileT(tail, dof)
}

func quantileT(tail, dof float64) float64 {
	return -distuv.StudentsT{Mu: 0, Sigma: 1, Nu: dof}.Quantile(tail)
}

// nearNormal is the quantile of Student's t by its expansion about that of the
// normal distribution (Abramowitz and Stegun, 26.7.5, with the fifth term of Fisher
// and Cornish, Technometrics 2, 1960), where gonum takes up to a tenth of a
// millisecond. It is good to the nine decimals where it is used.
func nearNormal(z, dof float64) float64 {
	s := z * z
	return z + z*(((s+1)/4)+
		(((5*s+16)*s+3)/96+
			((((3*s+19)*s+17)*s-15)/384+
				(((((79*s+776)*s+1482)*s-1920)*s-945)/92160+
					((((((27*s+339)*s+930)*s-1782)*s-765)*s+17955)/368640)/dof)/dof)/dof)/dof)/dof
}

// student95 is the factor at the usual coverage, which a budget would otherwise
// spend most of its time on.
var student95 = sync.OnceValue(func() (k [51]float64) {
	for dof := 1; dof < len(k); dof++ {
		k[dof] = quantileT((1-0.95)/2, float64(dof))
	}
	return k
})

// DofRounding says what becomes of effective degrees of freedom that are no
// whole number.
type DofRounding uint8

// JCGM 100:2008, G.4.1, note 1, leaves the choice. Truncation is the cautious
// one: 18.9987 becomes 18 and the interval wider.
const (
	Truncate   DofRounding = 0 // to the whole number below
	AsComputed DofRounding = 1 // Student's t holds for any number
)

var dofRoundings = [...]struct{ name, short string }{Truncate: {"truncate", ""}, AsComputed: {"as-computed", ""}}

// String gives the name, as it stands in JSON.
func (r DofRounding) String() string { return nameOf(r, dofRoundings[:]) }

// MarshalText writes the name.
func (r DofRounding) MarshalText() ([]byte, error) { return []byte(r.String()), nil }

// UnmarshalText reads a name; an unknown one is an error.
func (r *DofRounding) UnmarshalText(b []byte) error {
	return readName(r, "rounding of degrees of freedom", string(b), dofRoundings[:])
}

// used is the number that the coverage factor is looked up with. What lies below
// a whole number only by the arithmetic's own rounding is that number.
func (r DofRounding) used(dof float64) float64 {
	if dof == 0 || dof > manyDof || r == AsComputed {
		return dof
	}
	return max(1, math.Floor(dof+float64(dof*1e-9)))
}

// WelchSatterthwaite gives the effective degrees of freedom of a sum of
// independent contributions with their own degrees of freedom, of which 0 is
// infinitely many (JCGM 100:2008, formula G.2b). It gives 0 if all are.
func WelchSatterthwaite(contributions, dof []float64) float64 {
	most := 0.0 // a scale, lest the fourth powers of small numbers vanish
	for _, u := range contributions {
		most = max(most, math.Abs(u))
	}
	square, fourth := 0.0, 0.0
	for i, u := range contributions {
		s := float64(u/most) * (u / most)
		square += s
		if dof[i] != 0 {
			fourth += float64(s*s) / dof[i]
		}
	}
	if !(fourth > 0) {
		return 0
	}
	return float64(square*square) / fourth
}
