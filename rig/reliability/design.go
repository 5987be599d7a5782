package reliability

import (
	"errors"
	"fmt"
	"math"
)

// Options are what a demonstration leaves open for its sequential test.
type Options struct {
	Ratio float64 `json:"ratio,omitempty"` // p1 to p0, above 1; 0 is 10
	Alpha float64 `json:"alpha,omitempty"` // 0 is 0.05
	Most  int     `json:"most,omitempty"`  // trials at which the test ends; 0 is twice those of Matched
}

// Hypotheses are those of a sequential test in place of the plan: P1 is
// 1-Reliability, and Beta is 1-Confidence, so that a controller of this
// reliability or a worse one is accepted with a probability of at most
// 1-Confidence, as it is by the plan. What the plan leaves open is which controller
// is to be let through: P0 is a tenth of P1 and Alpha 5 % if nothing else is said.
func (p Plan) Hypotheses(o Options) (Hypotheses, error) {
	err := p.Check()
	if p.Allowed != 0 {
		err = errors.Join(err, fmt.Errorf("%d failures allowed: a sequential test counts failures against trials, state none", p.Allowed))
	}
	if o.Ratio == 0 {
		o.Ratio = 10
	}
	if o.Alpha == 0 {
		o.Alpha = 0.05
	}
	if !(o.Ratio > 1) {
		err = errors.Join(err, fmt.Errorf("a ratio of %v between the failure probabilities; it is above 1", o.Ratio))
	}
	h := Hypotheses{P0: rest(p.Reliability) / o.Ratio, P1: rest(p.Reliability), Alpha: o.Alpha, Beta: rest(p.Confidence)}
	if err == nil {
		err = h.Check()
	}
	if err != nil {
		return Hypotheses{}, fmt.Errorf("design a sequential test for %v: %w", p, err)
	}
	return h, nil
}

// rest is 1-p in as many decimals as a record is read with: 0.05 for 0.95.
func rest(p float64) float64 { return math.Round((1-p)*1e15) / 1e15 }

// Sequential is the sequential test in place of the plan.
//
// It does not always save trials. With no failure at all, a test that also keeps
// the maker's risk accepts later than the plan without allowed failures does, which
// cares for the user's risk only: Wald's line takes
// ln(beta/(1-alpha))/ln((1-p1)/(1-p0)), 64 trials against 59 for 95/95 at the usual
// Options. For that the plan rejects a controller of p0 every fourth time, and the
// sequential test in at most one case of twenty. Compare shows both.
func (p Plan) Sequential(o Options) (*Sequential, error) {
	h, err := p.Hypotheses(o)
	if err != nil {
		return nil, err
	}
	return h.Sequential(o.Most)
}

// Curtailed is the plan as a sequential test that ends as soon as the trials that
// remain cannot change it. That alters no risk.
func (p Plan) Curtailed() (*Sequential, error) {
	n, err := p.Trials()
	if err != nil {
		return nil, err
	}
	return curtailed(n, p.Allowed, Hypotheses{P1: rest(p.Reliability), Beta: rest(p.Confidence)}), nil
}

func curtailed(n, allowed int, h Hypotheses) *Sequential {
	s := &Sequential{Hypotheses: h, Most: n, Lines: make([]Line, allowed+1)}
	for k := range s.Lines {
		s.Lines[k] = Line{Failures: k, Accept: n - allowed + k}
	}
	return s
}

// Matched is the fixed plan that keeps both risks, exactly computed: the smallest
// number of trials, with the failures allowed.
func (h Hypotheses) Matched() (trials, allowed int, err error) {
	if err := h.Check(); err != nil {
		return 0, 0, fmt.Errorf("design a fixed plan: %w", err)
	}
	for f, before, step := 0, 0, 1; ; f++ {
		n := fewestAbove(before, step, f, h.P1, 1-h.P1, h.Beta) // more failures take more trials
		if n == 0 {
			return 0, 0, fmt.Errorf("design a fixed plan that tells failure probabilities of %v and %v apart: it needs more than %d trials", h.P0, h.P1, MaxTrials)
		}
		if atMost(upperTail(f+1, n, h.P0, 1-h.P0), h.Alpha) {
			return n, f, nil
		}
		before, step = n, max(1, (n-before)/2)
	}
}

// maxSequential bounds the time that a design takes.
const maxSequential = 200_000

// Sequential designs a test that ends after at most so many trials; 0 is twice
// those of Matched. Most of the result says after how many it ends at the latest.
//
// Its lines are parallel, with the slope of Wald's. Where they stand is searched,
// with the exact error rates in place of Wald's approximation, truncation included:
// of those tried that keep Alpha at P0 and Beta at P1, the fixed plan of Matched
// among them, it is the one that takes fewest trials on average at P0. The true
// rates are those of At. Acceptance gets rarer as failures get likelier, so that
// Beta holds for all that are worse than P1, and Alpha for all better than P0.
func (h Hypotheses) Sequential(most int) (*Sequential, error) {
	n, allowed, err := h.Matched()
	if err != nil {
		return nil, err
	}
	if most == 0 {
		most = 2 * n
	}
	if most < n || most > maxSequential {
		return nil, fmt.Errorf("design a sequential test of at most %d trials: both risks take at least %d trials, and %d is the most that is designed for", most, n, maxSequential)
	}
	wald, err := h.Wald()
	if err != nil {
		return nil, err
	}
	w := wald.rounded()
	best := curtailed(n, allowed, h) // keeps both, if nothing better does
	cost := best.at(h.P0).Expected
	for _, cut := range h.cuts(most, w) {
		for _, intercept := range w.intercepts(cut) {
			s := h.tighten(w, most, cut, intercept)
			o := s.at(h.P0)
			if atMost(o.Reject, h.Alpha) && o.Expected < cost {
				best, cost = s, o.Expected
			}
		}
	}
	return best, nil
}

// cuts are the counts of failures still accepted at the last trial that are worth
// trying: those with which a fixed plan of as many trials keeps both risks, at most
// five of them, nearest to Wald's slope.
func (h Hypotheses) cuts(most int, w lines) []int {
	last := inTail(most, h.P1, 1-h.P1, h.Beta)
	first := last
	for first > 0 && atMost(upperTail(first, most, h.P0, 1-h.P0), h.Alpha) {
		first--
	}
	middle := min(max(int(int64(most)*w.slope>>unitBits), first), last)
	var cuts []int
	for c := max(first, middle-2); c <= min(last, middle+2); c++ {
		if c >= 0 && atMost(upperTail(c+1, most, h.P0, 1-h.P0), h.Alpha) {
			cuts = append(cuts, c)
		}
	}
	return cuts
}

// tighten accepts as early as Beta allows: the later a test accepts, the smaller is
// its rate of acceptance, down to that of the fixed plan with the cut, which keeps
// Beta.
func (h Hypotheses) tighten(w lines, most, cut int, intercept int64) *Sequential {
	low, high := 0, most // high is as late as the cut itself
	for high-low > 1 {
		mid := low + (high-low)/2
		if s := w.test(h, most, cut, mid, intercept); atMost(s.at(h.P1).Accept, h.Beta) {
			high = mid
		} else {
			low = mid
		}
	}
	return w.test(h, most, cut, high, intercept)
}
