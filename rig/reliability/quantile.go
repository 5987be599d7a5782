package reliability

import (
	"errors"
	"fmt"
	"slices"
)

// A Quantile asks where the value lies that a proportion At of all trials do not
// exceed, with a probability of at least Confidence: 0.5 is the median. Nothing is
// assumed of how the values are distributed.
type Quantile struct {
	At         float64 `json:"at"`         // above 0, below 1
	Confidence float64 `json:"confidence"` // above 0, below 1
}

// Check says all that is wrong with what is asked for.
func (q Quantile) Check() error {
	return errors.Join(checkProportion("quantile", q.At), checkProportion("confidence", q.Confidence))
}

// A Between holds a quantile between two values of a sample. The zero value holds
// nothing.
type Between struct {
	Found    bool    `json:"found"`         // false: no interval is proved, and Why says why
	Why      string  `json:"why,omitempty"` // why there is none
	Trials   int     `json:"trials"`        // missing values among them
	LowRank  int     `json:"low_rank"`      // from 1, the smallest; 0 is below the sample
	HighRank int     `json:"high_rank"`     // Trials+1 is above the sample
	Low      int64   `json:"low"`           // in the unit of the sample, when Found
	High     int64   `json:"high"`
	Achieved float64 `json:"achieved"` // the confidence that the ranks really have
}

// Ranks gives the ranks of the narrowest pair of values, counted from 1 for the
// smallest, that hold the quantile between them, each leaving it out with a
// probability of at most half of 1-Confidence; for the median they are symmetric.
// Rank 0 or n+1 says that no value of n bounds it on that side. Achieved is the
// confidence that the pair really has. It takes 1 to MaxTrials trials.
func (q Quantile) Ranks(trials int) (low, high int, achieved float64, err error) {
	if err := errors.Join(q.Check(), checkSample(trials, 0)); err != nil {
		return 0, 0, 0, fmt.Errorf("find the ranks around a quantile: %w", err)
	}
	tail := (1 - q.Confidence) / 2
	below := inTail(trials, q.At, 1-q.At, tail)
	above := inTail(trials, 1-q.At, q.At, tail)
	missed := lowerTail(below, trials, q.At, 1-q.At) + lowerTail(above, trials, 1-q.At, q.At)
	return below + 1, trials - above, 1 - missed, nil
}

// Interval is the pair of values of the sample that holds the quantile between
// them. Missing counts trials that gave no value: they are taken to lie above all
// others. Too few trials is no error, but a Between that is not Found.
func (q Quantile) Interval(sample []int64, missing int) (Between, error) {
	if err := checkSample(len(sample), missing); err != nil {
		return Between{}, fmt.Errorf("bound a quantile: %w", errors.Join(q.Check(), err))
	}
	n := len(sample) + missing
	low, high, achieved, err := q.Ranks(n)
	if err != nil {
		return Between{}, fmt.Errorf("bound a quantile: %w", err)
	}
	b := Between{Trials: n, LowRank: low, HighRank: high, Achieved: achieved}
	switch {
	case low < 1 || high > n:
		b.Why = fmt.Sprintf("no interval exists: %d trials are too few to hold the quantile at %v on both sides at a confidence of %v", n, q.At, q.Confidence)
	case high > len(sample):
		b.Why = fmt.Sprintf("no interval exists: its upper end is the value of rank %d of %d, and %d are missing", high, n, missing)
	default:
		sorted := slices.Sorted(slices.Values(sample))
		b.Found, b.Low, b.High = true, sorted[low-1], sorted[high-1]
	}
	return b, nil
}
