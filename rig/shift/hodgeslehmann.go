package shift

import "fmt"

// An Estimate is how far sample B lies from sample A, in their unit.
type Estimate[T Quantity] struct {
	M          int     `json:"m"` // values of A
	N          int     `json:"n"` // values of B
	Found      bool    `json:"found"`
	Why        string  `json:"why,omitempty"` // there is no shift, or no interval
	Shift      T       `json:"shift"`         // median of all differences B less A
	Covered    bool    `json:"covered"`       // there is an interval
	Low        T       `json:"low"`           // the interval, both ends belong to it
	High       T       `json:"high"`
	Confidence float64 `json:"confidence"` // that the interval really has, at least what was asked for
	Needed     int     `json:"needed"`     // trials a side that the confidence asked for takes
	Exact      bool    `json:"exact"`      // the interval's confidence; false: by the normal approximation
}

// HodgesLehmann estimates by how much B is shifted against A (Hodges and Lehmann,
// Annals of Mathematical Statistics 34, 1963, 598-611), in a time that grows with
// m+n only, whatever m·n is. A median of whole numbers that falls between two is
// rounded to the even one.
//
// The interval lies between the k-th smallest and the k-th largest difference, k
// being the largest with a confidence of at least what was asked for by the law of
// U without equal values. That is the confidence if the quantity varies
// continuously and B is A shifted. Equal values only make it greater, because both
// ends belong to the interval (break the ties at random by less than they differ,
// and the interval of what results lies within this one). But it is then the shift
// of what was read: a meter that reads in steps can put it one step off.
//
// Too few trials leave the Estimate without an interval, and Needed says how many a
// side it takes. An empty sample, a value that is not a number, or one beyond ±2^60
// for whole numbers and ±1e300 for real ones leaves it without a shift too.
func HodgesLehmann[T Quantity](a, b []T, confidence float64) Estimate[T] {
	e := Estimate[T]{M: len(a), N: len(b)}
	x, y, why := ordered(a, b)
	if why == "" {
		why = tooFar(x, y)
	}
	if why != "" {
		e.Why = why
		return e
	}
	d := differences[T]{x, y}
	e.Found, e.Shift = true, d.median()
	if !proportion(confidence) {
		e.Why = fmt.Sprintf("a confidence of %v is not above 0 and below 1", confidence)
		return e
	}
	missed := (1 - confidence) * (1 + 1e-9) // 1-0.9 is a little less than 0.1
	e.Needed = Fewest(1, missed)
	law, exact := untiedLaw(min(e.M, e.N), max(e.M, e.N))
	k := largest(d.len(), func(k int64) bool { return 2*law.lower(2*(k-1)) <= missed })
	if k == 0 {
		e.Why = fmt.Sprintf("%d and %d trials are too few for a confidence of %v: it takes %d a side", e.M, e.N, confidence, e.Needed)
		return e
	}
	e.Covered, e.Exact, e.Confidence = true, exact, 1-2*law.lower(2*(k-1))
	e.Low, e.High = d.nth(k), d.nth(d.len()+1-k)
	return e
}

// largest is the largest k from 1 to most of which fits is true, 0 if there is none.
// If it is true of one it must be of all below.
func largest(most int64, fits func(int64) bool) int64 {
	low, high := int64(0), most
	for low < high {
		mid := high - (high-low)/2
		if fits(mid) {
			low = mid
		} else {
			high = mid - 1
		}
	}
	return low
}

func proportion(p float64) bool { return p > 0 && p < 1 }
