package uncertainty

import (
	"fmt"
	"math"
)

// A Method is the way in which an evaluation came to its interval.
type Method uint8

// The numbers are written into records: add at the end, never renumber.
const (
	NoMethod     Method = 0
	ByLinear     Method = 1 // the law of propagation of uncertainty
	ByMonteCarlo Method = 2 // drawing the inputs
	ByWider      Method = 3 // whichever reaches farther, as the drawing did not settle
)

var methods = [...]struct{ name, short string }{
	NoMethod: {"none", ""}, ByLinear: {"linear", ""}, ByMonteCarlo: {"monte-carlo", ""}, ByWider: {"wider", ""},
}

// String gives the name, as it stands in JSON.
func (m Method) String() string { return nameOf(m, methods[:]) }

// MarshalText writes the name.
func (m Method) MarshalText() ([]byte, error) { return []byte(m.String()), nil }

// UnmarshalText reads a name; an unknown one is an error.
func (m *Method) UnmarshalText(b []byte) error { return readName(m, "method", string(b), methods[:]) }

// An Evaluation is a budget worked out both ways, and which of them counts.
type Evaluation struct {
	Linear    Linear    `json:"linear"`
	Simulated Simulated `json:"simulated"`
	Delta     float64   `json:"delta"` // by how much the ends may differ
	// LowDiffers and HighDiffers are by how much that end of the interval does.
	LowDiffers  float64 `json:"low_differs"`
	HighDiffers float64 `json:"high_differs"`
	Used        Method  `json:"used"`
	Reason      string  `json:"reason"`

	Value    float64 `json:"value"`
	Standard float64 `json:"standard"`
	// Interval leaves equal shares out on both sides. Where it was drawn, its ends
	// are moved out by what the drawing still wavers by.
	Interval CoverageInterval `json:"interval"`
}

// Evaluate works the budget out by propagation and by drawing, and compares them
// after JCGM 101:2008, clause 8: where both ends of the interval agree to half a
// unit of the last significant digit of the combined standard uncertainty, the
// linear form is good enough and used. The symmetric interval is the one compared,
// as it is the one that decides. The drawing goes on until it is steady to a fifth
// of that, or until the answer is clear of what it still wavers by.
func (b *Budget) Evaluate(s Simulation) (Evaluation, error) {
	l, err := b.Linear()
	if err != nil {
		return Evaluation{}, fmt.Errorf("evaluate: %w", err)
	}
	e := Evaluation{Linear: l, Delta: Tolerance(l.Standard, s.digits())}
	if l.Standard == 0 && b.Model == nil {
		// Nothing is uncertain and there is nothing to draw.
		e.Used, e.Reason = ByLinear, e.reason(Scale{l.Unit, 1})
		e.Value, e.Interval = l.Value, CoverageInterval{l.Value, l.Value}
		return e, nil
	}
	const few = 5 // batches tell their own scatter only roughly
	e.Simulated, err = b.simulate(s, func(p progress) bool {
		return p.steady <= p.tolerance/5 || p.batches >= few && e.clear(p.ends, p.steady, p.tolerance) != NoMethod
	})
	if err != nil {
		return Evaluation{}, fmt.Errorf("evaluate: %w", err)
	}
	e.compare()
	e.Reason = e.reason(Scale{l.Unit, 1})
	e.choose(b.Model == nil)
	return e, nil
}

// differ is by how much the ends of the linear interval differ from the drawn.
func (e *Evaluation) differ(drawn CoverageInterval) (low, high float64) {
	return math.Abs(e.Linear.Low() - drawn.Low), math.Abs(e.Linear.High() - drawn.High)
}

// clear is the method to be used if the drawing is steady enough to tell.
func (e *Evaluation) clear(drawn CoverageInterval, steady, tolerance float64) Method {
	low, high := e.differ(drawn)
	worst := max(low, high)
	switch {
	case steady > tolerance:
		return NoMethod
	case worst+steady <= e.Delta:
		return ByLinear
	case worst-steady > e.Delta:
		return ByMonteCarlo
	}
	return NoMethod
}

func (e *Evaluation) compare() {
	m := e.Simulated
	e.LowDiffers, e.HighDiffers = e.differ(m.Symmetric)
	if e.Used = e.clear(m.Symmetric, m.Steady, m.Tolerance); e.Used != NoMethod {
		return
	}
	worst := max(e.LowDiffers, e.HighDiffers)
	switch {
	case worst-m.Steady > e.Delta:
		e.Used = ByMonteCarlo // wavering still, but not by enough to save the linear form
	case m.Steady > m.Tolerance/5:
		e.Used = ByWider
	case worst <= e.Delta:
		e.Used = ByLinear
	default:
		e.Used = ByMonteCarlo
	}
}

func (e *Evaluation) reason(in Scale) string {
	worst, allowed := fit(max(e.LowDiffers, e.HighDiffers)/in.Per, 2, 20), fit(e.Delta/in.Per, 2, 20)
	switch {
	case e.Simulated.Draws == 0:
		return "every input is known exactly"
	case e.Used == ByWider:
		return fmt.Sprintf("the drawing did not settle in %d draws, so what both intervals hold together is used", e.Simulated.Draws)
	case e.Used == ByLinear:
		return fmt.Sprintf("the ends differ by at most %s %s from those of %d draws, within %s %s: the linear form is good enough",
			worst, in.Unit, e.Simulated.Draws, allowed, in.Unit)
	}
	return fmt.Sprintf("the ends differ by up to %s %s from those of %d draws, beyond %s %s: the linear form is not good enough",
		worst, in.Unit, e.Simulated.Draws, allowed, in.Unit)
}

// choose takes the figures of the method used. A linear sum is known better than
// any drawing tells, so its value stays.
func (e *Evaluation) choose(sum bool) {
	l, m := e.Linear, e.Simulated
	linear := CoverageInterval{l.Low(), l.High()}
	e.Value, e.Standard, e.Interval = l.Value, l.Standard, linear
	if e.Used == ByLinear {
		return
	}
	drawn := CoverageInterval{m.Symmetric.Low - m.Steady, m.Symmetric.High + m.Steady}
	e.Standard, e.Interval = m.Standard, drawn
	if !sum {
		e.Value = m.Value
	}
	if e.Used == ByWider {
		e.Standard = max(l.Standard, m.Standard)
		e.Interval = CoverageInterval{min(linear.Low, drawn.Low), max(linear.High, drawn.High)}
	}
}

// Reading is the evaluation in whole units, for a decision. Where the draws are
// used, they also tell the risk.
func (e Evaluation) Reading() (Reading, error) {
	if e.Used == NoMethod {
		return Reading{}, fmt.Errorf("make a reading of %s: nothing has been evaluated", e.Linear.Quantity)
	}
	r, err := reading(e.Linear.Quantity, e.Value, e.Standard, e.Interval)
	if e.Used != ByLinear {
		r.drawn, r.origin, r.wider = e.Simulated.sorted, e.Simulated.origin, e.Used == ByWider
	}
	return r, err
}

// Reading is the budget's linear result in whole units, for a decision.
func (l Linear) Reading() (Reading, error) {
	return reading(l.Quantity, l.Value, l.Standard, CoverageInterval{l.Low(), l.High()})
}
