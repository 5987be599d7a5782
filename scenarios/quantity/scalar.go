package quantity

import (
	"fmt"
	"regexp"
	"strings"
	"time"

	"pintle/rig/signal"
	"pintle/scenarios/yamlfile"
)

// A Duration is a time in a file, without claims.
type Duration struct {
	yamlfile.Source
	Value time.Duration
	read
}

// read says whether a figure was given that can be read and may be.
type read bool

// Read says whether the figure was given, and is one that may stand there. One that is
// not has been complained of already, and nothing more is to be said of it.
func (r read) Read() bool { return bool(r) }

// Set reads the time.
func (d *Duration) Set(src yamlfile.Source, field yamlfile.Field) []yamlfile.Problem {
	d.Source = src
	n, bad := setInt(src.Text, Time, field)
	d.Value, d.read = time.Duration(n), read(d.Given() && bad == nil)
	return bad
}

// Shape describes the text.
func (Duration) Shape(field yamlfile.Field) yamlfile.Shape { return shape(Time, field) }

// An Amperage is a current in a file, without claims.
type Amperage struct {
	yamlfile.Source
	Value signal.Current
	read
}

// Set reads the current.
func (a *Amperage) Set(src yamlfile.Source, field yamlfile.Field) []yamlfile.Problem {
	a.Source = src
	n, bad := setInt(src.Text, Current, field)
	a.Value, a.read = signal.Current(n), read(a.Given() && bad == nil)
	return bad
}

// Shape describes the text.
func (Amperage) Shape(field yamlfile.Field) yamlfile.Shape { return shape(Current, field) }

// A Measure is a figure of the dimension that the field's unit tag names, in SI
// units (a percentage as a fraction), for models.
type Measure struct {
	yamlfile.Source
	Value float64
	read
}

// Set reads the figure.
func (m *Measure) Set(src yamlfile.Source, field yamlfile.Field) []yamlfile.Problem {
	m.Source = src
	v, bad := set(src.Text, dimensionNamed(field.Unit), field)
	m.Value, m.read = v.Float(), read(m.Given() && bad == nil)
	return bad
}

// Shape describes the text.
func (Measure) Shape(field yamlfile.Field) yamlfile.Shape {
	return shape(dimensionNamed(field.Unit), field)
}

// A Formula is a figure or an expression with claims. Its value is worked out
// later, when the claims are known.
type Formula struct {
	yamlfile.Source
	Expression Expression
	Want       Dimension // Unknown: any
	limit      string
}

// Set parses the expression.
func (f *Formula) Set(src yamlfile.Source, field yamlfile.Field) []yamlfile.Problem {
	f.Source, f.limit = src, field.Limit
	if field.Unit != "" {
		f.Want = dimensionNamed(field.Unit)
	}
	e, bad := ParseExpression(src.Text, f.Want)
	if bad != nil {
		return []yamlfile.Problem{*bad}
	}
	f.Expression = e
	if len(e.Claims()) == 0 {
		_, bads := f.Work(nil, nil)
		return bads
	}
	return nil
}

// Work gives the formula's value, and what is wrong with it.
func (f Formula) Work(claims Lookup, names []string) (Value, []yamlfile.Problem) {
	v, bad := f.Expression.Evaluate(claims, names)
	if bad != nil || v.rat == nil {
		return Value{}, bad
	}
	if p := check(v, f.Want, f.limit, f.Text); p != nil {
		return Value{}, []yamlfile.Problem{*p}
	}
	return v, nil
}

// Shape describes the text: figures and words joined by operators.
func (f Formula) Shape(field yamlfile.Field) yamlfile.Shape {
	s := yamlfile.Shape{Name: "formula", What: "a figure or an expression with claims", Examples: []string{"15s", "claim run-time cut-out + 3s"}}
	d := Unknown
	if field.Unit != "" {
		d = dimensionNamed(field.Unit)
		s.Name = d.String() + " formula"
		s.What = dimensions[d].article + ", or an expression with claims"
		s.Examples = []string{examples[d]}
		switch d {
		case Time:
			s.Examples = append(s.Examples, "claim run-time cut-out + 3s")
		case Current:
			s.Examples = append(s.Examples, "claim stall current")
		}
	}
	s.Number = d == Unknown || d == Number
	s.Pattern = `^(\s*` + pattern(d, field.Limit, `\s*`) + `\s*|` + sum + `)$`
	return s
}

// sum matches whatever can only be an expression: something with a claim, a
// parenthesis or an operator in it.
const sum = `([\s\S]*[\s(])?claim\s[\s\S]*|[\s\S]*(\(|\s[-+*/]\s)[\s\S]*`

// set reads one figure and checks it.
func set(text string, want Dimension, field yamlfile.Field) (Value, []yamlfile.Problem) {
	v, bad := Parse(text, want)
	if bad == nil {
		bad = check(v, want, field.Limit, text)
	}
	if bad != nil {
		return Value{}, []yamlfile.Problem{*bad}
	}
	return v, nil
}

func setInt(text string, want Dimension, field yamlfile.Field) (int64, []yamlfile.Problem) {
	v, bad := set(text, want, field)
	if bad != nil {
		return 0, bad
	}
	n, _ := v.Int() // check has seen that it fits
	return n, nil
}

// longest is the longest time that a file may speak of. The gate and the faults
// hold no longer ones.
const longest = 24 * time.Hour

// check holds a value to its dimension and limit: positive, any sign, a range
// such as "0 to 1", or, without a limit, not negative.
func check(v Value, want Dimension, limit, text string) *yamlfile.Problem {
	fail := func(what, hint string) *yamlfile.Problem {
		return &yamlfile.Problem{Text: fmt.Sprintf("%q %s", yamlfile.Short(text), what), Hint: hint}
	}
	if want != Unknown && v.Of != want {
		if v.Of == Number {
			return fail("has no unit", expected(want))
		}
		return fail(fmt.Sprintf("is %s, not %s", dimensions[v.Of].article, dimensions[want].article), expected(want))
	}
	n, err := v.Int()
	low, high, ranged := ends(v.Of, limit)
	switch {
	case err != nil:
		return fail("is too large", yamlfile.Expected("less"))
	case v.Of == Time && (n > int64(longest) || n < -int64(longest)):
		return fail("is longer than a day", yamlfile.Expected("at most 24h"))
	case ranged:
		if v.rat.Cmp(low.rat) < 0 || v.rat.Cmp(high.rat) > 0 {
			return fail("is out of range", yamlfile.Expected(between(low, high, text)))
		}
	case limit == "positive" && v.Sign() < 0:
		return fail("is negative", yamlfile.Expected("more than zero"))
	case limit != "any" && v.Sign() < 0:
		return fail("is negative", yamlfile.Expected("zero or more"))
	case limit == "positive" && v.Sign() == 0:
		return fail("is zero", yamlfile.Expected("more than zero"))
	case limit == "positive" && n == 0 && (v.Of == Time || v.Of == Current):
		return fail("is too small", yamlfile.Expected("at least "+whole(v.Of, 1).String()))
	}
	return nil
}

// between tells a range in the way that the text which missed it is written:
// percentages in percent, anything else with its unit.
func between(low, high Value, text string) string {
	if low.Of == Number && strings.HasSuffix(text, "%") {
		percent := unit{" %", Number, 1, 100}
		return fmt.Sprintf("from %s to %s", low.in(percent), high.in(percent))
	}
	least := low.String()
	if low.Sign() == 0 {
		least = low.in(high.handy())
	}
	return fmt.Sprintf("from %s to %s", least, high)
}

// ends reads a range such as "0 to 1", which is written in SI units; angles in degrees.
func ends(d Dimension, limit string) (low, high Value, ranged bool) {
	least, most, ranged := strings.Cut(limit, " to ")
	if !ranged {
		return low, high, false
	}
	if d == Unknown {
		d = Number
	}
	return bound(d, least), bound(d, most), true
}

func bound(d Dimension, text string) Value {
	v, bad := Parse(text, Unknown)
	if bad != nil {
		panic("quantity: a limit is wrong: " + text)
	}
	return fromSI(d, v.rat)
}

// shape describes a figure of one dimension to a schema.
func shape(d Dimension, field yamlfile.Field) yamlfile.Shape {
	s := yamlfile.Shape{What: dimensions[d].article, Pattern: `^` + pattern(d, field.Limit, ` *`) + `$`, Number: d == Number, Examples: []string{examples[d]}}
	if low, high, ranged := ends(d, field.Limit); ranged {
		s.Range, s.Within = field.Limit, between(low, high, "")
		if v, bad := Parse(examples[d], d); bad != nil || v.rat.Cmp(low.rat) < 0 || v.rat.Cmp(high.rat) > 0 {
			s.Examples = []string{low.String()}
		}
	} else if field.Limit == "positive" {
		s.Within = "more than zero"
	}
	return s
}

// pattern matches figures of one dimension, or of any, with a gap before the unit.
func pattern(d Dimension, limit, gap string) string {
	var names []string
	for _, u := range units {
		if d == Unknown || u.of == d {
			names = append(names, regexp.QuoteMeta(u.name))
		}
	}
	unit := `(` + strings.Join(names, "|") + `)`
	if d == Number || d == Unknown {
		unit += "?"
	}
	sign := `\+?`
	if limit == "any" || strings.HasPrefix(limit, "-") {
		sign = `[+-]?`
	}
	return sign + `[0-9]+(\.[0-9]+)?` + gap + unit
}
