package reliability

import (
	"errors"
	"fmt"
	"math"
)

// Hypotheses are the two failure probabilities that a sequential test tells apart,
// and what risk of either mistake is bearable.
type Hypotheses struct {
	P0    float64 `json:"p0"`    // failure probability that is acceptable, above 0
	P1    float64 `json:"p1"`    // failure probability that is not, above P0, below 1
	Alpha float64 `json:"alpha"` // risk of rejecting at P0 (the maker's), above 0, below ½
	Beta  float64 `json:"beta"`  // risk of accepting at P1 (the user's), above 0, below ½
}

// Check says all that is wrong with the hypotheses.
func (h Hypotheses) Check() error {
	var errs []error
	if !(h.P0 > 0 && h.P0 < h.P1 && h.P1 < 1) {
		errs = append(errs, fmt.Errorf("failure probabilities %v (acceptable) and %v (not); it takes 0 < p0 < p1 < 1", h.P0, h.P1))
	}
	for _, risk := range []struct {
		name string
		p    float64
	}{{"alpha, of rejecting a good controller", h.Alpha}, {"beta, of accepting a bad one", h.Beta}} {
		if !(risk.p > 0 && risk.p < 0.5) {
			errs = append(errs, fmt.Errorf("a risk %s, of %v; it is above 0 and below 0.5", risk.name, risk.p))
		}
	}
	return errors.Join(errs...)
}

// A Line says when trials with exactly so many failures decide.
type Line struct {
	Failures int `json:"failures"`
	Reject   int `json:"reject"` // rejected up to this trial; 0: these failures never reject
	Accept   int `json:"accept"` // accepted from this trial on
}

// A Sequential test stops trials as soon as they decide (Wald, Annals of
// Mathematical Statistics 16, 1945, 117-186), and at Most trials at the latest:
// then as many failures as there are lines, less one, still accept, and more
// reject. One failure more than the last line's rejects at once. The zero value is
// no test, and Check says so.
type Sequential struct {
	Hypotheses
	Most  int    `json:"most"`  // trials, 1 to MaxTrials
	Lines []Line `json:"lines"` // for 0, 1, 2 and so on failures
}

// Check says all that is wrong with the lines: that of each count of failures
// begins to accept after it ceases to reject, and not before that of fewer.
func (s *Sequential) Check() error {
	if s.Most < 1 || s.Most > MaxTrials || len(s.Lines) == 0 || len(s.Lines) > s.Most {
		return fmt.Errorf("check a sequential test: %d lines for at most %d trials; it takes 1 to %d trials and fewer failures than trials", len(s.Lines), s.Most, MaxTrials)
	}
	var errs []error
	before := Line{Failures: -1}
	for k, line := range s.Lines {
		if line.Failures != k || line.Reject < before.Reject || line.Accept <= max(before.Accept, line.Reject) {
			errs = append(errs, fmt.Errorf("line %d: %d failures reject up to trial %d and accept from %d; before it stand %d and %d",
				k+1, line.Failures, line.Reject, line.Accept, before.Reject, before.Accept))
		}
		before = line
	}
	if before.Accept != s.Most {
		errs = append(errs, fmt.Errorf("the last line accepts from trial %d; it must be the last trial, %d", before.Accept, s.Most))
	}
	if err := errors.Join(errs...); err != nil {
		return fmt.Errorf("check a sequential test: %w", err)
	}
	return nil
}

// state is where trials with so many failures stand that have decided nothing so
// far.
func (s *Sequential) state(trials, failures int) State {
	switch {
	case failures >= len(s.Lines), trials <= s.Lines[failures].Reject:
		return Reject
	case trials >= s.Lines[failures].Accept:
		return Accept
	}
	return Continue
}

// Start begins a course of trials. The lines must not be changed under it.
func (s *Sequential) Start() (*Course, error) {
	if err := s.Check(); err != nil {
		return nil, err
	}
	return &Course{test: s}, nil
}

// A Course takes the verdicts of a sequential test one after the other. The zero
// value belongs to no test and never decides.
type Course struct {
	test             *Sequential
	trials, failures int
	state            State
}

// Observe counts a trial and says where the test stands after it. Once it has
// decided, it stays so and counts nothing more.
func (c *Course) Observe(passed bool) State {
	if c.test == nil || c.state != Continue {
		return c.state
	}
	c.trials++
	if !passed {
		c.failures++
	}
	c.state = c.test.state(c.trials, c.failures)
	return c.state
}

// State is where the test stands.
func (c *Course) State() State { return c.state }

// Trials is how many trials were counted.
func (c *Course) Trials() int { return c.trials }

// Failures is how many of them failed.
func (c *Course) Failures() int { return c.failures }

// Remaining is how many trials more it takes at most, and how many if none of them
// fails.
func (c *Course) Remaining() (most, passing int) {
	if c.test == nil || c.state != Continue {
		return 0, 0
	}
	return c.test.Most - c.trials, c.test.Lines[c.failures].Accept - c.trials
}

// Operating is what a sequential test does with a controller of one failure
// probability.
type Operating struct {
	Failure   float64 `json:"failure"`   // probability that a trial fails
	Accept    float64 `json:"accept"`    // probability of acceptance
	Reject    float64 `json:"reject"`    // probability of rejection
	Expected  float64 `json:"expected"`  // mean number of trials
	Deviation float64 `json:"deviation"` // standard deviation of the number of trials
}

// At is the exact operating characteristic at a failure probability from 0 to 1. It
// follows the probabilities of all counts of failures from trial to trial, so it
// counts the overshoot at the lines and the truncation, which Wald's formulas leave
// out. It takes time in proportion to Most and the number of lines.
func (s *Sequential) At(failure float64) (Operating, error) {
	if err := s.Check(); err != nil {
		return Operating{}, err
	}
	if !(failure >= 0 && failure <= 1) {
		return Operating{}, fmt.Errorf("tell what a sequential test does: a failure probability of %v; it is 0 to 1", failure)
	}
	return s.at(failure), nil
}

func (s *Sequential) at(p float64) Operating {
	o := Operating{Failure: p}
	going := make([]float64, len(s.Lines)+1) // by failures; the last is one too many
	going[0] = 1
	low, high := 0, 0
	var square float64
	for n := 1; n <= s.Most && low <= high; n++ {
		var mass float64
		for _, w := range going[low : high+1] {
			mass += w
		}
		o.Expected += mass
		square += float64(float64(2*n-1) * mass)
		high = min(high+1, len(s.Lines))
		for k := high; k >= low; k-- {
			w := float64(going[k] * (1 - p))
			if k > low {
				w += float64(going[k-1] * p)
			}
			going[k] = w
		}
		// Fewer failures accept first, more reject first: what goes on is one span.
		for ; low <= high && s.state(n, low) == Accept; low++ {
			o.Accept += going[low]
		}
		for ; high >= low && s.state(n, high) == Reject; high-- {
			o.Reject += going[high]
			going[high] = 0
		}
	}
	o.Deviation = math.Sqrt(max(0, square-float64(o.Expected*o.Expected)))
	return o
}
