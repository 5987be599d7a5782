package reliability

import (
	"errors"
	"fmt"
	"math"
)

// MaxTrials is the largest number of trials that this package computes with.
const MaxTrials = 1_000_000

// An Interval holds a proportion. Both ends belong to it.
type Interval struct {
	Low  float64 `json:"low"`
	High float64 `json:"high"`
}

// ClopperPearson is the exact two-sided confidence interval of a proportion of
// which some events in so many trials were seen: each end is left out with a
// probability of at most half of 1-confidence (Clopper and Pearson, Biometrika 26,
// 1934, 404-413). Low is 0 exactly with no event, High is 1 exactly with nothing
// but events. It takes 1 to MaxTrials trials and a confidence above 0 and below 1.
func ClopperPearson(events, trials int, confidence float64) (Interval, error) {
	if err := checkSeen(events, trials, "confidence", confidence); err != nil {
		return Interval{}, fmt.Errorf("bound a proportion: %w", err)
	}
	tail := (1 - confidence) / 2
	return Interval{lowest(events, trials, tail), highest(events, trials, tail)}, nil
}

// LowerBound is the one-sided lower confidence bound of a proportion after Clopper
// and Pearson, 0 exactly with no event. Ranges are those of ClopperPearson.
func LowerBound(events, trials int, confidence float64) (float64, error) {
	if err := checkSeen(events, trials, "confidence", confidence); err != nil {
		return 0, fmt.Errorf("bound a proportion from below: %w", err)
	}
	return lowest(events, trials, 1-confidence), nil
}

// UpperBound is the one-sided upper confidence bound of a proportion after Clopper
// and Pearson, 1 exactly with nothing but events. Ranges are those of
// ClopperPearson. With no event at 95 % it is somewhat below 3/trials, the "rule of
// three".
func UpperBound(events, trials int, confidence float64) (float64, error) {
	if err := checkSeen(events, trials, "confidence", confidence); err != nil {
		return 1, fmt.Errorf("bound a proportion from above: %w", err)
	}
	return highest(events, trials, 1-confidence), nil
}

// highest is the proportion of which as few events are seen only with probability
// tail.
func highest(events, trials int, tail float64) float64 {
	switch events {
	case trials:
		return 1
	case 0:
		return -math.Expm1(math.Log(tail) / float64(trials))
	}
	return falling(tail, func(p float64) float64 { return lowerTail(events, trials, p, 1-p) })
}

// lowest is the proportion of which as many events are seen only with probability
// tail.
func lowest(events, trials int, tail float64) float64 {
	switch events {
	case 0:
		return 0
	case trials:
		return math.Exp(math.Log(tail) / float64(trials))
	}
	return falling(-tail, func(p float64) float64 { return -upperTail(events, trials, p, 1-p) })
}

// checkSeen says all that is wrong with a count and the proportion beside it.
func checkSeen(events, trials int, what string, proportion float64) error {
	var errs []error
	switch {
	case trials == 0:
		errs = append(errs, errors.New("no trials were made: nothing is proved"))
	case trials < 0 || trials > MaxTrials:
		errs = append(errs, fmt.Errorf("%d trials; it takes 1 to %d", trials, MaxTrials))
	case events < 0 || events > trials:
		errs = append(errs, fmt.Errorf("%d events in %d trials", events, trials))
	}
	return errors.Join(append(errs, checkProportion(what, proportion))...)
}

func checkProportion(what string, p float64) error {
	if p > 0 && p < 1 {
		return nil
	}
	return fmt.Errorf("a %s of %v; it is a proportion above 0 and below 1", what, p)
}
