package reliability

import (
	"errors"
	"fmt"
	"slices"
)

// A Tolerance asks for a bound that at least a proportion Coverage of all trials
// keeps, with a probability of at least Confidence (Wilks, Annals of Mathematical
// Statistics 12, 1941, 91-96 and 13, 1942, 400-409). Nothing is assumed of how the
// values are distributed, only that the trials are independent and alike; values
// that repeat make the bound safer. The same bound is the one-sided confidence bound
// of the quantile at Coverage.
type Tolerance struct {
	Coverage   float64 `json:"coverage"`   // above 0, below 1
	Confidence float64 `json:"confidence"` // above 0, below 1
}

// Check says all that is wrong with what is asked for.
func (t Tolerance) Check() error {
	return errors.Join(checkProportion("coverage", t.Coverage), checkProportion("confidence", t.Confidence))
}

// OneSided is the smallest number of trials of which the value of the given order
// from the end is a one-sided bound: order 1 is the largest (or smallest) of all.
func (t Tolerance) OneSided(order int) (int, error) { return t.size(1, order) }

// TwoSided is the smallest number of trials of which the values of the given order
// from either end hold Coverage of all trials between them.
func (t Tolerance) TwoSided(order int) (int, error) { return t.size(2, order) }

func (t Tolerance) size(sides, order int) (int, error) {
	err := t.Check()
	if order < 1 || order > MaxTrials/2 {
		err = errors.Join(err, fmt.Errorf("order %d; it takes 1 to %d", order, MaxTrials/2))
	}
	if err != nil {
		return 0, fmt.Errorf("size a sample for a tolerance bound: %w", err)
	}
	n := fewest(sides*order-1, 1-t.Coverage, t.Coverage, 1-t.Confidence)
	if n == 0 {
		return 0, fmt.Errorf("size a sample for a tolerance bound of order %d that covers %v at %v: it needs more than %d trials", order, t.Coverage, t.Confidence, MaxTrials)
	}
	return n, nil
}

// A Bound is one value of a sample that bounds what was measured. The zero value
// is no bound.
type Bound struct {
	Found    bool    `json:"found"`          // false: no bound is proved, and Why says why
	Why      string  `json:"why,omitempty"`  // why there is none
	Trials   int     `json:"trials"`         // missing values among them
	Needed   int     `json:"needed"`         // the fewest trials that could give a bound
	Rank     int     `json:"rank,omitempty"` // from 1, the smallest
	Value    int64   `json:"value"`          // in the unit of the sample, when Found
	Achieved float64 `json:"achieved"`       // the confidence that the rank really has
}

// UpperBound is the smallest value of the sample that is an upper tolerance bound.
// Missing counts trials that gave no value, because what was timed never came: they
// are taken to lie above all others. Too few trials is no error, but a Bound that is
// not Found. The sample need not be sorted, and is left as it is.
func (t Tolerance) UpperBound(sample []int64, missing int) (Bound, error) {
	return t.bound(sample, missing, true)
}

// LowerBound is the largest value of the sample that is a lower tolerance bound.
// Missing values are taken to lie below all others.
func (t Tolerance) LowerBound(sample []int64, missing int) (Bound, error) {
	return t.bound(sample, missing, false)
}

func (t Tolerance) bound(sample []int64, missing int, upper bool) (Bound, error) {
	if err := errors.Join(t.Check(), checkSample(len(sample), missing)); err != nil {
		return Bound{}, fmt.Errorf("bound a sample: %w", err)
	}
	needed, err := t.OneSided(1)
	if err != nil {
		return Bound{}, err
	}
	n := len(sample) + missing
	b := Bound{Trials: n, Needed: needed}
	beyond := inTail(n, 1-t.Coverage, t.Coverage, 1-t.Confidence)
	if beyond < 0 {
		b.Why = fmt.Sprintf("no bound exists: %d trials are too few to cover %v at a confidence of %v, which takes %d", n, t.Coverage, t.Confidence, needed)
		return b, nil
	}
	b.Achieved = upperTail(beyond+1, n, 1-t.Coverage, t.Coverage)
	if b.Rank = beyond + 1; upper {
		b.Rank = n - beyond
	}
	if beyond < missing {
		b.Why = fmt.Sprintf("no bound exists: it is the value of rank %d of %d, and %d are missing at that end", b.Rank, n, missing)
		return b, nil
	}
	sorted := slices.Sorted(slices.Values(sample))
	index := b.Rank - 1
	if !upper {
		index -= missing
	}
	b.Found, b.Value = true, sorted[index]
	return b, nil
}

// inTail is the largest k with at most k events at a probability of at most tail, or
// -1 when even none are likelier.
func inTail(n int, p, q, tail float64) int {
	low, high := -1, n // at most n events are sure
	for high-low > 1 {
		if mid := low + (high-low)/2; atMost(lowerTail(mid, n, p, q), tail) {
			low = mid
		} else {
			high = mid
		}
	}
	return low
}

func checkSample(values, missing int) error {
	switch n := values + missing; {
	case missing < 0 || missing > MaxTrials:
		return fmt.Errorf("%d missing values; it takes 0 to %d", missing, MaxTrials)
	case n == 0:
		return errors.New("no trials were made: nothing is proved")
	case n > MaxTrials:
		return fmt.Errorf("%d trials; it takes 1 to %d", n, MaxTrials)
	}
	return nil
}
