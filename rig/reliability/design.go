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
	h := Hypotheses{P0: (1 - p.Reliability) / o.Ratio, P1: 1 - p.Reliability, Alpha: o.Alpha, Beta: 1 - p.Confidence}
	if err == nil {
		err = h.Check()
	}
	if err != nil {
		return Hypotheses{}, fmt.Errorf("design a sequential test for %v: %w", p, err)
	}
	return h, nil
}

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
	return curtailed(n, p.Allowed, Hypotheses{P1: 1 - p.Reliability, Beta: 1 - p.Confidence}), nil
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
	for f := 0; ; f++ {
		n := fewest(f, h.P1, 1-h.P1, h.Beta)
		if n == 0 {
			return 0, 0, fmt.Errorf("design a fixed plan that tells failure probabilities of %v and %v apart: it needs more than %d trials", h.P0, h.P1, MaxTrials)
		}
		if atMost(upperTail(f+1, n, h.P0, 1-h.P0), h.Alpha) {
			return n, f, nil
		}
	}
}

// maxSequential bounds the time that a design takes.
const maxSequential = 200_000

// Sequential designs a test that ends after at most so many trials, and as Most of
// the result may say, sooner; 0 is twice those of Matched. Its lines are parallel, with the slope of Wald's. Where they
// stand is searched, with the exact error rates in place of Wald's approximation:
// of all that keep Alpha at P0 and Beta at P1 exactly, truncation included, the
// one that takes fewest trials on average at P0. At takes the true rates from the
// test. The rate of acceptance falls with the failure probability, so that Beta
// holds for all that are worse than P1, and Alpha for all better than P0.
func (h Hypotheses) Sequential(most int) (*Sequential, error) {
	n, _, err := h.Matched()
	if err != nil {
		return nil, err
	}
	if most == 0 {
		most = 2 * n
	}
	if most < n || most > maxSequential {
		return nil, fmt.Errorf("design a sequential test of at most %d trials: both risks take at least %d trials, and %d is the most that is designed for", most, n, maxSequential)
	}
	var best *Sequential
	var cost float64
	w := h.wald()
	for _, cut := range h.cuts(most, w) {
		for _, intercept := range w.intercepts(cut) {
			s := h.tighten(w, most, cut, intercept)
			o := s.at(h.P0)
			if !atMost(o.Reject, h.Alpha) || !atMost(s.at(h.P1).Accept, h.Beta) {
				continue
			}
			if best == nil || o.Expected < cost {
				best, cost = s, o.Expected
			}
		}
	}
	if best == nil {
		return nil, fmt.Errorf("design a sequential test of at most %d trials: no lines keep both risks; %d trials would do", most, n)
	}
	return best, nil
}

// cuts are the counts of failures still accepted at the last trial, at most five
// near Wald's slope, for which a fixed plan keeps both risks: with none of these no
// test of as many trials is better.
func (h Hypotheses) cuts(most int, w wald) []int {
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
// its rate of acceptance.
func (h Hypotheses) tighten(w wald, most, cut int, intercept int64) *Sequential {
	low, high := 0, most // high is as late as the cut itself
	for high-low > 1 {
		mid := low + (high-low)/2
		if s := w.lines(h, most, cut, mid, intercept); atMost(s.at(h.P1).Accept, h.Beta) {
			high = mid
		} else {
			low = mid
		}
	}
	return w.lines(h, most, cut, high, intercept)
}

// wald holds Wald's lines in units of 2^-unitBits failures, so that what is made of
// them is the same on every machine.
type wald struct{ slope, reject int64 }

const (
	unitBits = 40
	unit     = 1 << unitBits
)

func (h Hypotheses) wald() wald {
	passed := math.Log1p(-h.P0) - math.Log1p(-h.P1)
	both := math.Log(h.P1/h.P0) + passed
	reject := math.Log((1-h.Beta)/h.Alpha) / both
	// Rounded to far fewer digits than the logarithms have.
	digits, exponent := math.Frexp(passed / both)
	slope := math.Ldexp(math.Round(digits*(1<<24)), exponent-24+unitBits)
	return wald{max(1, int64(slope)), int64(math.Round(reject*16)) * (unit / 16)}
}

// intercepts are the places of the line of rejection to try: from an eighth of a
// failure to three more than Wald's, and none at all.
func (w wald) intercepts(cut int) []int64 {
	step := max(unit/8, w.reject/16/(unit/8)*(unit/8))
	var all []int64
	for i := step; i <= w.reject+3*unit && i < int64(cut+1)*unit; i += step {
		all = append(all, i)
	}
	return append(all, int64(cut+1)*unit)
}

// lines are those that accept from trial first on without a failure, reject from
// intercept failures on at the start, and end at the last trial with the cut.
func (w wald) lines(h Hypotheses, most, cut, first int, intercept int64) *Sequential {
	s := curtailed(most, cut, h)
	for k := range s.Lines {
		line, x := &s.Lines[k], int64(k)*unit
		line.Accept = min(line.Accept, first+int((x+w.slope-1)/w.slope))
		line.Reject = min(max(0, int((x-intercept)/w.slope)), line.Accept-1)
	}
	s.Most = s.Lines[cut].Accept
	return s
}
