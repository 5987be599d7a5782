package uncertainty

import (
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"pintle/rig/fold"
	"pintle/rig/share"
)

// A Scale says in which unit a budget is printed. The zero value prints it in its
// own.
type Scale struct {
	Unit string
	Per  float64 // how many of the budget's own units make one
}

// Milliseconds prints a budget that counts nanoseconds.
var Milliseconds = Scale{"ms", 1e6}

// Amperes prints a budget that counts microamperes.
var Amperes = Scale{"A", 1e6}

const tableWidth = 80

// Table prints the budget in lines of at most 80 columns, as far as words allow: for each input its name
// and source, value, distribution, half-width, standard uncertainty, degrees of
// freedom, sensitivity, contribution and share; then the result.
func (l Linear) Table(in Scale) string {
	if in.Per == 0 {
		in = Scale{l.Unit, 1}
	}
	var t table
	t.wrap("", "Budget of "+l.Quantity+", in "+in.Unit)
	t.rule('=')
	t.row(fmt.Sprintf("%-15s %11s %-6s %8s %8s %5s %7s %8s %3s",
		"input", "value", "shape", "half", "u", "dof", "c", "c·u", "%"))
	t.rule('-')
	for _, line := range l.Lines {
		l.line(&t, line, in)
	}
	t.rule('-')
	for _, c := range l.Correlations {
		t.wrap("  ", fmt.Sprintf("correlated: %s with %s, r = %.3g", c.A, c.B, c.R))
	}
	t.row(fmt.Sprintf("%-44s %s %s", "combined standard uncertainty u", figure(l.Standard/in.Per, 3), in.Unit))
	t.row(fmt.Sprintf("%-44s %s", "effective degrees of freedom", l.dofText()))
	t.row(fmt.Sprintf("%-44s %.3f", "coverage factor k for "+share.Percent(share.Of(l.Coverage)), l.Factor))
	t.row(fmt.Sprintf("%-44s %s %s", "expanded uncertainty U = k u", figure(l.Expanded/in.Per, 3), in.Unit))
	value, u := Stated(l.Value/in.Per, l.Expanded/in.Per)
	result := fmt.Sprintf("%-44s %s ± %s %s", "result", value, u, in.Unit)
	if utf8.RuneCountInString(result) > tableWidth {
		t.wrap("  ", result)
	} else {
		t.row(result)
	}
	return t.String()
}

func (l Linear) line(t *table, line Line, in Scale) {
	x := line.Input
	per, name := 1.0, x.Name
	if x.Unit == "" || x.Unit == l.Unit {
		per = in.Per
	} else {
		name += " (" + x.Unit + ")"
	}
	half, shape := "", distributions[x.Distribution].short
	if x.Distribution.bounded() {
		half = fit(x.foot()/per, 3, 8)
	} else if x.Dof != 0 {
		shape = "t"
	}
	first, more := name, ""
	if utf8.RuneCountInString(first) > 15 {
		first, more = "", name
	}
	if more != "" {
		t.wrap("", more)
	}
	t.row(fmt.Sprintf("%-15s %11s %-6s %8s %8s %5s %7s %8s %3.0f",
		first, fit(x.Value/per, 7, 11), shape, half, fit(line.Standard/per, 3, 8), dofShort(x.Dof),
		fit(line.Sensitivity*per/in.Per, 2, 7), fit(line.Contribution/in.Per, 3, 8), 100*line.Share))
	t.wrap("    ", x.Source)
}

func dofShort(dof float64) string {
	if dof == 0 {
		return "∞"
	}
	return fit(dof, 3, 5)
}

func (l Linear) dofText() string {
	switch {
	case l.Dof == 0:
		return "infinitely many"
	case l.Dof > 9999:
		return "over 9999"
	case l.DofRounding == Truncate && l.DofUsed < l.Dof:
		return figure(l.Dof, 6) + ", truncated to " + figure(l.DofUsed, 6)
	}
	return figure(l.Dof, 6)
}

// figure writes a number to so many significant digits, without trailing zeros
// and as short as may be.
func figure(x float64, digits int) string {
	text := strings.ReplaceAll(strconv.FormatFloat(x, 'g', digits, 64), "e-0", "e-")
	return strings.ReplaceAll(text, "e+0", "e")
}

// fit gives up digits until the figure goes into its column.
func fit(x float64, digits, width int) string {
	for ; digits > 1 && len(figure(x, digits)) > width; digits-- {
	}
	return figure(x, digits)
}

// Stated writes a value with its uncertainty: two significant digits of the
// uncertainty and the value to the same place (JCGM 100:2008, 7.2.6).
func Stated(value, uncertainty float64) (v, u string) {
	if !(uncertainty > 0) || math.IsInf(uncertainty, 0) {
		return figure(value, 7), figure(uncertainty, 2)
	}
	_, exponent, _ := strings.Cut(strconv.FormatFloat(uncertainty, 'e', 1, 64), "e")
	e, _ := strconv.Atoi(exponent)
	decimals := 1 - e
	if decimals >= 0 {
		return strconv.FormatFloat(value, 'f', decimals, 64), strconv.FormatFloat(uncertainty, 'f', decimals, 64)
	}
	unit := math.Pow10(-decimals)
	whole := func(x float64) string { return strconv.FormatFloat(math.Round(x/unit)*unit, 'f', 0, 64) }
	return whole(value), whole(uncertainty)
}

// A table is text under construction.
type table struct{ strings.Builder }

func (t *table) row(s string) { t.WriteString(strings.TrimRight(s, " ") + "\n") }

func (t *table) rule(c rune) { t.row(strings.Repeat(string(c), tableWidth)) }

// wrap writes words in lines of the table's width, each behind the indent; nothing
// where there are none.
func (t *table) wrap(indent, text string) {
	if text != "" {
		t.WriteString(fold.Hanging(indent, text, tableWidth))
	}
}

// Text says in lines of at most 80 columns which of the two ways is used, why, and
// what came out.
func (e Evaluation) Text(in Scale) string {
	if in.Per == 0 {
		in = Scale{e.Linear.Unit, 1}
	}
	var t table
	out := func(c CoverageInterval) string {
		low, _ := Stated(c.Low/in.Per, e.Standard/in.Per)
		high, _ := Stated(c.High/in.Per, e.Standard/in.Per)
		return fmt.Sprintf("%s to %s %s", low, high, in.Unit)
	}
	t.row(fmt.Sprintf("%-44s %s", "linear form", out(CoverageInterval{e.Linear.Low(), e.Linear.High()})))
	if e.Simulated.Draws > 0 {
		t.row(fmt.Sprintf("%-44s %s", "drawn, as much left out below as above", out(e.Simulated.Symmetric)))
		t.row(fmt.Sprintf("%-44s %s", "drawn, shortest", out(e.Simulated.Shortest)))
	}
	t.row(fmt.Sprintf("%-44s %s", "used: "+e.Used.String(), out(e.Interval)))
	t.wrap("  ", e.reason(in))
	return t.String()
}
