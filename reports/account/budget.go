package account

import (
	"fmt"
	"math"

	"pintle/rig/fold"
	"pintle/rig/rule"
	"pintle/rig/uncertainty"
)

// Figure writes a part of a budget to three digits, in one piece; what has no scale is
// counted.
func Figure(x float64, in uncertainty.Scale) string {
	if in.Per == 0 {
		in.Per = 1
	}
	return fmt.Sprintf("%.3g%s%s", x/in.Per, fold.NoBreak, in.Unit)
}

// Interval is what a value was decided by, with as many digits as its standard
// uncertainty makes worth telling.
func Interval(a *rule.Appraisal, in uncertainty.Scale) string {
	digits := int(max(0, 1-math.Floor(math.Log10(float64(max(1, a.Standard))/in.Per))))
	return fmt.Sprintf("%.*f to %.*f%s%s", digits, float64(a.Low)/in.Per, digits, float64(a.High)/in.Per, fold.NoBreak, in.Unit)
}

// How says what an interval was taken from.
func How(a *rule.Appraisal) string {
	switch a.Method {
	case "linear":
		return "the linear form, which drawing the inputs confirms"
	case "wider":
		return "the wider of the linear form and of drawing the inputs, as the drawing did not settle"
	}
	return "drawing the inputs at random, as the linear form is not good enough"
}
