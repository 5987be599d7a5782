package reliability

import (
	"errors"
	"fmt"
)

// A Plan demonstrates a reliability at a confidence: it makes a fixed number of
// trials and is passed with at most Allowed failures. The zero value is no plan,
// and Check says so.
//
// The number of trials is the smallest n of which a controller of exactly this
// reliability shows at most Allowed failures with a probability of at most
// 1-Confidence. With none allowed that is the classic success-run form without
// prior knowledge, n = ⌈ln(1-Confidence)/ln(Reliability)⌉: 59 for 95/95. A second
// form of the success-run theorem goes round that takes every reliability for
// equally likely before the trials (a uniform prior, Bayes): there
// 1-Confidence = Reliability^(n+1), so one trial fewer is asked for, 58 for 95/95.
// It is not used here.
type Plan struct {
	Reliability float64 `json:"reliability"` // proportion of trials that pass, above 0, below 1
	Confidence  float64 `json:"confidence"`  // above 0, below 1
	Allowed     int     `json:"allowed"`     // failures, 0 or more
}

// Check says all that is wrong with the plan.
func (p Plan) Check() error {
	errs := []error{checkProportion("reliability", p.Reliability), checkProportion("confidence", p.Confidence)}
	if p.Allowed < 0 || p.Allowed >= MaxTrials {
		errs = append(errs, fmt.Errorf("%d failures allowed; it takes 0 to %d", p.Allowed, MaxTrials-1))
	}
	return errors.Join(errs...)
}

// Trials is the number of trials that the plan needs, at most MaxTrials; a plan
// that needs more is an error. A confidence met but for one part in 10¹² is met, so
// that figures which meet it exactly as decimals do.
func (p Plan) Trials() (int, error) {
	if err := p.Check(); err != nil {
		return 0, fmt.Errorf("plan a demonstration: %w", err)
	}
	n := fewest(p.Allowed, 1-p.Reliability, p.Reliability, 1-p.Confidence)
	if n == 0 {
		return 0, fmt.Errorf("plan the demonstration of %v with %d failures allowed: it needs more than %d trials", p, p.Allowed, MaxTrials)
	}
	return n, nil
}

// fewest is the smallest n with no more than so many events at a probability of at
// most tail, or 0 when that is above MaxTrials.
func fewest(events int, p, q, tail float64) int {
	return fewestAbove(events, 1, events, p, q, tail)
}

// fewestAbove is fewest where low trials are known to be too few, and the answer is
// expected some steps above them.
func fewestAbove(low, step, events int, p, q, tail float64) int {
	high := low
	for enough := false; !enough; enough = atMost(lowerTail(events, high, p, q), tail) {
		if high >= MaxTrials {
			return 0
		}
		low, high = high, min(high+step, MaxTrials)
		step *= 2
	}
	for high-low > 1 {
		if mid := low + (high-low)/2; atMost(lowerTail(events, mid, p, q), tail) {
			high = mid
		} else {
			low = mid
		}
	}
	return high
}

// DemonstratedReliability is the reliability that trials with so many failures
// demonstrate at a confidence: the one-sided lower bound of Clopper and Pearson, 0
// when nothing passed. It takes 1 to MaxTrials trials and a confidence above 0 and
// below 1.
func DemonstratedReliability(trials, failures int, confidence float64) (float64, error) {
	if err := checkSeen(failures, trials, "confidence", confidence); err != nil {
		return 0, fmt.Errorf("tell the demonstrated reliability: %w", err)
	}
	return lowest(trials-failures, trials, 1-confidence), nil
}

// DemonstratedConfidence is the confidence at which trials with so many failures
// demonstrate a reliability, from 0 (when nothing passed) to 1. It takes 1 to
// MaxTrials trials and a reliability above 0 and below 1.
func DemonstratedConfidence(trials, failures int, reliability float64) (float64, error) {
	if err := checkSeen(failures, trials, "reliability", reliability); err != nil {
		return 0, fmt.Errorf("tell the demonstrated confidence: %w", err)
	}
	return upperTail(failures+1, trials, 1-reliability, reliability), nil
}

// State is where the plan stands after trials with so many failures, in whatever
// order: Accept as soon as the trials that remain cannot change it, Reject as soon
// as more failed than are allowed. Counts that cannot be are never Accept.
func (p Plan) State(trials, failures int) (State, error) {
	n, err := p.Trials()
	switch {
	case err != nil:
		return Continue, err
	case trials < 0 || trials > MaxTrials || failures < 0 || failures > trials:
		return Continue, fmt.Errorf("tell the state of a demonstration: %d failures in %d trials", failures, trials)
	case failures > p.Allowed:
		return Reject, nil
	case trials-failures >= n-p.Allowed:
		return Accept, nil
	}
	return Continue, nil
}
