package uncertainty

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"
	"sync"
)

// A Memo evaluates many budgets that are uncertain in much the same way, as those
// of one rule in all trials of a run are: it draws each shape once.
//
// A shape is what a linear budget without correlations leaves when its value is
// taken off, with every width rounded up by at most a 64th part, so that brackets
// that differ by a hair share one. What is drawn therefore hangs on the budget
// alone, not on what was evaluated before it, and is never too narrow for the
// rounding. Other budgets are evaluated each by itself. A Memo may be used by
// several goroutines at once.
type Memo struct {
	simulation Simulation
	mu         sync.Mutex
	known      map[string]*shared
}

// A shared is the evaluation of a shape: whoever asks while it is under way waits for it.
type shared struct {
	once sync.Once
	e    Evaluation
	err  error
}

const (
	mostShapes = 256    // held at a time
	mostHeld   = 50_000 // draws of one shape that are held to tell a risk
)

// NewMemo makes a memo that draws as the simulation says.
func NewMemo(s Simulation) *Memo { return &Memo{simulation: s, known: map[string]*shared{}} }

// Evaluate is Budget.Evaluate with the drawing shared.
func (m *Memo) Evaluate(b *Budget) (Evaluation, error) {
	if b.Model != nil || b.correlated() {
		return b.Evaluate(m.simulation)
	}
	l, err := b.Linear()
	if err != nil {
		return Evaluation{}, fmt.Errorf("evaluate: %w", err)
	}
	shape, key := shapeOf(b, l)
	if len(shape.Inputs) == 0 {
		return b.Evaluate(m.simulation)
	}
	x := m.of(key)
	x.once.Do(func() {
		x.e, x.err = shape.Evaluate(m.simulation)
		x.e.Simulated.sorted = thinned(x.e.Simulated.sorted)
	})
	if x.err != nil {
		return Evaluation{}, x.err
	}
	return x.e.movedTo(l), nil
}

// of is what is known of a shape, or will be.
func (m *Memo) of(key string) *shared {
	m.mu.Lock()
	defer m.mu.Unlock()
	x := m.known[key]
	if x == nil {
		if len(m.known) >= mostShapes {
			clear(m.known)
		}
		x = new(shared)
		m.known[key] = x
	}
	return x
}

// movedTo is the evaluation of a shape about a budget's own value.
func (e Evaluation) movedTo(l Linear) Evaluation {
	e.Linear, e.Value = l, l.Value
	by := func(c CoverageInterval) CoverageInterval { return CoverageInterval{c.Low + l.Value, c.High + l.Value} }
	s := &e.Simulated
	s.Value, s.origin, s.Shortest, s.Symmetric = s.Value+l.Value, l.Value, by(s.Shortest), by(s.Symmetric)
	if e.Used == ByLinear {
		e.Standard, e.Interval = l.Standard, CoverageInterval{l.Low(), l.High()}
	} else {
		e.Interval = by(e.Interval)
	}
	e.Reason = e.reason(Scale{l.Unit, 1})
	return e
}

// shapeOf gives the shape and its name. Normal inputs add up to one.
func shapeOf(b *Budget, l Linear) (Budget, string) {
	shape := Budget{Quantity: b.Quantity, Unit: b.Unit, Coverage: b.Coverage, DofRounding: b.DofRounding}
	normal := 0.0
	for _, line := range l.Lines {
		in := line.Input
		c := math.Abs(line.Sensitivity)
		switch {
		case line.Contribution == 0:
		case in.Distribution == Normal && in.Dof == 0:
			normal += float64(line.Contribution * line.Contribution)
		case in.Distribution == Normal:
			shape.Add(Input{Distribution: Normal, Standard: roundUp(float64(in.Standard * c)), Dof: in.Dof, Sensitivity: 1})
		default:
			shape.Add(Input{Distribution: in.Distribution, HalfWidth: roundUp(float64(in.foot() * c)), Beta: min(1, math.Ceil(in.Beta*64)/64), Sensitivity: 1, Dof: in.Dof})
		}
	}
	if normal > 0 {
		shape.Add(Input{Distribution: Normal, Standard: roundUp(math.Sqrt(normal)), Sensitivity: 1})
	}
	slices.SortFunc(shape.Inputs, func(a, b Input) int {
		return cmp.Or(cmp.Compare(a.Distribution, b.Distribution), cmp.Compare(a.HalfWidth, b.HalfWidth),
			cmp.Compare(a.Standard, b.Standard), cmp.Compare(a.Beta, b.Beta), cmp.Compare(a.Dof, b.Dof))
	})
	var key strings.Builder
	fmt.Fprint(&key, b.coverage(), " ", b.DofRounding)
	for i := range shape.Inputs {
		in := &shape.Inputs[i]
		in.Name = fmt.Sprint(i + 1)
		fmt.Fprint(&key, "|", uint8(in.Distribution), " ", in.HalfWidth, " ", in.Standard, " ", in.Beta, " ", in.Dof)
	}
	return shape, key.String()
}

// roundUp rounds a positive width up to six binary digits after the first.
func roundUp(x float64) float64 {
	f, e := math.Frexp(x)
	return math.Ldexp(math.Ceil(f*128)/128, e)
}

// thinned keeps so many draws, evenly by their order.
func thinned(sorted []float64) []float64 {
	if len(sorted) <= mostHeld {
		return sorted
	}
	kept := make([]float64, mostHeld)
	for i := range kept {
		kept[i] = sorted[int64(2*i+1)*int64(len(sorted))/(2*mostHeld)] // an int of 32 bits would not hold the product
	}
	return kept
}
