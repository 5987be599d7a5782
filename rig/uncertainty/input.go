package uncertainty

import (
	"errors"
	"fmt"
	"math"
)

// An Input is one line of a budget: a quantity that the result hangs on.
//
// Its uncertainty is given either as Standard or, for a bounded distribution, as
// HalfWidth; both are zero for a quantity known exactly. The numbers are in Unit,
// or in the budget's own unit where that is empty.
type Input struct {
	Name         string       `json:"name"`
	Unit         string       `json:"unit,omitempty"`
	Value        float64      `json:"value"`
	Distribution Distribution `json:"distribution"`
	Standard     float64      `json:"standard,omitempty"`   // one standard uncertainty
	HalfWidth    float64      `json:"half_width,omitempty"` // half of the foot of a bounded distribution
	Beta         float64      `json:"beta,omitempty"`       // of a trapezoid: top over foot, 0 to 1
	Dof          float64      `json:"dof,omitempty"`        // degrees of freedom; 0 is infinitely many
	// Sensitivity is by how much the result changes for each unit of the input.
	// With a model, 0 has it worked out; without one, 0 is a mistake.
	Sensitivity float64 `json:"sensitivity,omitempty"`
	Source      string  `json:"source"` // where the figure comes from, for whoever reads the budget
}

// StandardUncertainty is the input's standard uncertainty in its own unit.
func (in Input) StandardUncertainty() float64 {
	if in.Standard != 0 {
		return in.Standard
	}
	return in.HalfWidth / in.Distribution.Divisor(in.Beta)
}

// foot is the half-width of a bounded distribution, whichever way it was given.
func (in Input) foot() float64 {
	if in.HalfWidth != 0 {
		return in.HalfWidth
	}
	return float64(in.Standard * in.Distribution.Divisor(in.Beta))
}

// check collects all that is wrong with the input.
func (in Input) check() error {
	var all []error
	bad := func(format string, args ...any) {
		all = append(all, fmt.Errorf("input %q: "+format, append([]any{in.Name}, args...)...))
	}
	if in.Name == "" {
		bad("has no name")
	}
	if !in.Distribution.known() {
		bad("its distribution is %v; state one", in.Distribution)
	}
	for _, x := range []struct {
		what  string
		value float64
		signs bool
	}{
		{"value", in.Value, true}, {"sensitivity", in.Sensitivity, true}, {"standard uncertainty", in.Standard, false},
		{"half-width", in.HalfWidth, false}, {"degrees of freedom", in.Dof, false}, {"beta", in.Beta, false},
	} {
		if math.IsNaN(x.value) || math.IsInf(x.value, 0) || x.value < 0 && !x.signs {
			bad("its %s is %v, which is no such thing", x.what, x.value)
		}
	}
	switch {
	case in.Standard != 0 && in.HalfWidth != 0:
		bad("has a standard uncertainty and a half-width; state one of them")
	case in.HalfWidth != 0 && !in.Distribution.bounded():
		bad("a %v distribution has no half-width; state its standard uncertainty", in.Distribution)
	}
	if in.Beta != 0 && in.Distribution != Trapezoid || in.Beta > 1 {
		bad("beta is %v; it belongs to a trapezoid and lies from 0 to 1", in.Beta)
	}
	if in.Dof != 0 && in.Dof < 1 {
		bad("has %v degrees of freedom; there is no fewer than 1", in.Dof)
	}
	return errors.Join(all...)
}

// Expanded is an input taken from a certificate that states an expanded
// uncertainty and its coverage factor (JCGM 100:2008, 4.3.3). A factor of zero or
// less gives an input that no budget takes.
func Expanded(name string, value, expanded, factor float64, source string) Input {
	in := Input{Name: name, Value: value, Distribution: Normal, Standard: expanded / factor, Source: source}
	if factor <= 0 {
		in.Standard = math.NaN()
	}
	return in
}

// DofOf is the number of degrees of freedom of a standard uncertainty that is
// itself trusted to within a fraction: 0.25 for a quarter gives 8 (JCGM 100:2008,
// G.4.2). Zero or less, full trust, gives 0: infinitely many.
func DofOf(fraction float64) float64 {
	if fraction <= 0 {
		return 0
	}
	return 0.5 / float64(fraction*fraction)
}
