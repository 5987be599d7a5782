package reports

import (
	"fmt"
	"math"
	"strings"

	"pintle/rig/fold"
	"pintle/rig/reliability"
	"pintle/rig/rule"
	"pintle/rig/share"
)

// A Demonstration is what the trials of a run were to demonstrate of each scenario.
// Shares are in millionths.
type Demonstration struct {
	Reliability int64  `json:"reliability"`
	Confidence  int64  `json:"confidence"`
	Allowed     int    `json:"allowed"`    // failures
	Trials      int    `json:"trials"`     // of the plan with a fixed number
	Sequential  bool   `json:"sequential"` // a scenario ends as soon as it is decided
	Method      string `json:"method"`     // which form of which test, in words
}

// A Shown is what the trials of one scenario show of its reliability: the share of
// trials that pass. A trial that is not a pass counts as failed, whatever it is.
type Shown struct {
	Trials     int               `json:"trials"`
	Failures   int               `json:"failures"`
	AtLeast    int64             `json:"atLeast"`    // lower bound of the reliability, in millionths, rounded down
	Confidence int64             `json:"confidence"` // at which it holds, in millionths
	State      reliability.State `json:"state"`      // of the demonstration that was asked for
}

// DefaultConfidence is the one that bounds are stated at where none was asked for.
const DefaultConfidence = 950_000

// Show works out what a scenario's trials show, at a confidence in millionths. It is
// not ok where there was no trial.
func Show(s *Scenario, confidence int64) (Shown, bool) {
	n, failures := len(s.Trials), 0
	for i := range s.Trials {
		if s.Trials[i].Verdict != rule.Pass {
			failures++
		}
	}
	bound, err := reliability.LowerBound(n-failures, n, float64(confidence)/1e6)
	if n == 0 || err != nil {
		return Shown{}, false
	}
	// Nine decimals first: the last bits differ between machines.
	atLeast := int64(math.Floor(math.Round(bound*1e9) / 1e3))
	return Shown{Trials: n, Failures: failures, AtLeast: atLeast, Confidence: confidence}, true
}

// Text tells it in a sentence.
func (d Shown) Text() string {
	text := fmt.Sprintf("%d of %d trials passed: reliability at least %s at %s confidence", d.Trials-d.Failures, d.Trials, fold.Held(share.PercentDown(d.AtLeast)), percent(d.Confidence))
	switch d.State {
	case reliability.Accept:
		return text + ", demonstrated"
	case reliability.Reject:
		return text + ", not demonstrated"
	}
	return text
}

// percent is a share in one piece.
func percent(millionths int64) string { return fold.Held(share.Percent(millionths)) }

// Demonstrated says what the trials show of all scenarios together, and of which they
// do not show what was asked; empty where each was performed once.
func Demonstrated(run *Run) string {
	least, any := Shown{}, false
	var open []string
	for i := range run.Scenarios {
		s := &run.Scenarios[i]
		if s.Shown == nil {
			continue
		}
		if !any || s.Shown.AtLeast < least.AtLeast {
			least, any = *s.Shown, true
		}
		if run.Demonstration != nil && s.Shown.State != reliability.Accept {
			open = append(open, s.Name)
		}
	}
	if !any {
		return ""
	}
	least.State = reliability.Continue
	text := "Least shown of any scenario: " + least.Text() + "."
	if d := run.Demonstration; d != nil {
		text += " Asked for was " + d.Goal() + ": "
		if len(open) == 0 {
			text += "demonstrated for every scenario performed. "
		} else {
			text += "not demonstrated for " + strings.Join(open, ", ") + ". "
		}
		text += d.Method
	} else {
		text += " The trials were spread evenly over what nature varies, so this confidence is nominal; --demonstrate draws them independently."
	}
	return text
}

// Goal is what was to be demonstrated, such as 95 % at 95 % confidence.
func (d Demonstration) Goal() string {
	return fmt.Sprintf("a reliability of %s at %s confidence", percent(d.Reliability), percent(d.Confidence))
}

// Tolerance is the bound that a share of all trials keeps, by order statistics over
// the trials of one rule (Wilks): each value with the end of its coverage interval
// that is nearer to the limit, so that the doubt of the measurement is counted in.
// It is found only where there are trials enough.
func Tolerance(s *Scenario, r int, coverage, confidence int64) (reliability.Bound, rule.Finding, bool) {
	var sample []int64
	var last rule.Finding
	missing := 0
	for i := range s.Trials {
		f, ok := findingOf(&s.Trials[i], r)
		if !ok || !f.Measured || f.Sense == rule.NoSense || Standing(&s.Trials[i], f) == rule.Void {
			missing++
			continue
		}
		last = f
		if f.Sense == rule.AtLeast {
			sample = append(sample, f.Interval().Least)
		} else {
			sample = append(sample, f.Interval().Most)
		}
	}
	if len(sample) == 0 || last.Unit == rule.Times {
		return reliability.Bound{}, last, false
	}
	t := reliability.Tolerance{Coverage: float64(coverage) / 1e6, Confidence: float64(confidence) / 1e6}
	bound, err := t.UpperBound(sample, missing)
	if last.Sense == rule.AtLeast {
		bound, err = t.LowerBound(sample, missing)
	}
	return bound, last, err == nil && bound.Found
}

func findingOf(t *Trial, r int) (rule.Finding, bool) {
	for _, f := range t.Findings {
		if f.Rule == r {
			return f, true
		}
	}
	return rule.Finding{}, false
}

// rounded gives a bound four digits, on the side where it stays true.
func rounded(x int64, s rule.Sense) int64 {
	step := int64(1)
	for magnitude := max(x, -x); magnitude/step >= 10_000; {
		step *= 10
	}
	down := x / step * step
	if down > x {
		down -= step
	}
	if s == rule.AtLeast || down == x {
		return down
	}
	return down + step
}

// ToleranceText tells the bound of a rule in a sentence; empty where there is none.
func ToleranceText(run *Run, s *Scenario, r int) string {
	coverage, confidence := int64(950_000), int64(DefaultConfidence)
	if d := run.Demonstration; d != nil {
		coverage, confidence = d.Reliability, d.Confidence
	}
	bound, f, ok := Tolerance(s, r, coverage, confidence)
	if !ok {
		return ""
	}
	side := "at most"
	if f.Sense == rule.AtLeast {
		side = "at least"
	}
	f.Limit = rounded(bound.Value, f.Sense)
	return fmt.Sprintf("in %s of all trials %s %s, at %s confidence (order statistics of %d trials, rank %d)",
		percent(coverage), side, f.LimitFigure(), percent(confidence), bound.Trials, bound.Rank)
}
