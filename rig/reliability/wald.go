package reliability

import (
	"fmt"
	"math"
)

// Wald are the two parallel lines of Wald's test, of failures against trials: it
// accepts at or below Slope·n - Accept failures and rejects at or above
// Slope·n + Reject (Wald, Annals of Mathematical Statistics 16, 1945, 117-186). They
// keep the risks but roughly, and know of no last trial.
type Wald struct {
	Slope  float64 `json:"slope"`  // failures per trial
	Accept float64 `json:"accept"` // failures
	Reject float64 `json:"reject"` // failures
}

// Wald gives Wald's lines for the hypotheses.
func (h Hypotheses) Wald() (Wald, error) {
	if err := h.Check(); err != nil {
		return Wald{}, fmt.Errorf("draw Wald's lines: %w", err)
	}
	passed := math.Log1p(-h.P0) - math.Log1p(-h.P1) // what a pass is worth
	both := math.Log(h.P1/h.P0) + passed
	return Wald{
		Slope:  passed / both,
		Accept: math.Log((1-h.Alpha)/h.Beta) / both,
		Reject: math.Log((1-h.Beta)/h.Alpha) / both,
	}, nil
}

// Passing is the number of trials at which Wald's line accepts if none fails,
// ⌈ln(beta/(1-alpha))/ln((1-p1)/(1-p0))⌉.
func (w Wald) Passing() int { return int(math.Ceil(float64(w.Accept / w.Slope * (1 - tie)))) }

// Failing is the number of trials at which Wald's line rejects if none passes.
func (w Wald) Failing() int {
	return int(math.Ceil(float64(w.Reject / (1 - w.Slope) * (1 - tie))))
}

// lines holds Wald's slope and line of rejection in units of 2^-unitBits failures,
// rounded to far fewer digits than the logarithms have, so that what is made of them
// is the same on every machine.
type lines struct{ slope, reject int64 }

const (
	unitBits = 40
	unit     = 1 << unitBits
)

func (w Wald) rounded() lines {
	digits, exponent := math.Frexp(w.Slope)
	slope := math.Ldexp(math.Round(digits*(1<<24)), exponent-24+unitBits)
	return lines{max(1, int64(slope)), int64(math.Round(w.Reject*16)) * (unit / 16)}
}

// intercepts are the places of the line of rejection to try: from an eighth of a
// failure to three more than Wald's, and none at all.
func (w lines) intercepts(cut int) []int64 {
	step := max(unit/8, w.reject/16/(unit/8)*(unit/8))
	var all []int64
	for i := step; i <= w.reject+3*unit && i < int64(cut+1)*unit; i += step {
		all = append(all, i)
	}
	return append(all, int64(cut+1)*unit)
}

// test accepts from trial first on without a failure, rejects from intercept
// failures on at the start, and ends at the last trial with the cut.
func (w lines) test(h Hypotheses, most, cut, first int, intercept int64) *Sequential {
	s := curtailed(most, cut, h)
	for k := range s.Lines {
		line, x := &s.Lines[k], int64(k)*unit
		line.Accept = min(line.Accept, first+int((x+w.slope-1)/w.slope))
		line.Reject = min(max(0, int((x-intercept)/w.slope)), line.Accept-1)
	}
	s.Most = s.Lines[cut].Accept
	return s
}
