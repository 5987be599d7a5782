package quantity

import (
	"fmt"
	"math/big"
	"regexp"
	"strings"
	"unicode"
	"unicode/utf8"

	"pintle/scenarios/yamlfile"
)

// thousands is a figure whose comma may stand before decimals or between thousands.
var thousands = regexp.MustCompile(`^[+-]?[1-9]\d{0,2},\d{3}(\D|$)`)

// mostDigits is how long a figure may be written.
const mostDigits = 18

// Parse reads one figure with its unit, such as 120ms, 12.6 V, 40 % or 0.5. The
// dimension wanted, if it is known, is only for the words of an error.
func Parse(text string, want Dimension) (Value, *yamlfile.Problem) {
	sign, rest, offset := 1, text, 0
	switch {
	case strings.HasPrefix(rest, "-"):
		sign, rest, offset = -1, rest[1:], 1
	case strings.HasPrefix(rest, "+"):
		rest, offset = rest[1:], 1
	}
	number := rest[:len(rest)-len(strings.TrimLeft(rest, "0123456789."))]
	r, ok := decimal(number)
	if len(strings.ReplaceAll(number, ".", "")) > mostDigits {
		return Value{}, &yamlfile.Problem{Text: fmt.Sprintf("%q is too long", yamlfile.Short(text)), Hint: yamlfile.Expected(fmt.Sprintf("at most %d digits", mostDigits))}
	}
	if !ok {
		return Value{}, &yamlfile.Problem{Text: fmt.Sprintf("%q is not a figure", yamlfile.Short(text)), Hint: expected(want)}
	}
	if sign < 0 {
		r.Neg(r)
	}
	name := strings.TrimLeft(rest[len(number):], " ")
	offset += utf8.RuneCountInString(rest) - utf8.RuneCountInString(name)
	if name == "" {
		return Value{Number, r}, nil
	}
	u, ok := unitNamed(name)
	if comma := strings.Replace(text, ",", ".", 1); !ok && name[0] == ',' && len(number) > 0 {
		if _, bad := Parse(comma, want); bad == nil {
			if thousands.MatchString(text) {
				bare := strings.Replace(text, ",", "", 1)
				return Value{}, &yamlfile.Problem{Offset: offset, Text: "a figure has a point before its decimals and nothing between its thousands", Hint: fmt.Sprintf("expected: %s or %s, whichever you mean", yamlfile.Short(comma), yamlfile.Short(bare))}
			}
			return Value{}, &yamlfile.Problem{Offset: offset, Text: "a figure has a point, not a comma", Hint: fmt.Sprintf("did you mean %q?", comma)}
		}
	}
	if !ok {
		return Value{}, &yamlfile.Problem{Offset: offset, Text: fmt.Sprintf("unknown unit %q", yamlfile.Short(name)), Hint: unitHint(name, want)}
	}
	return Value{u.of, r.Mul(r, ratio(u.num, u.den))}, nil
}

// decimal reads digits with at most one point among them.
func decimal(s string) (*big.Rat, bool) {
	digits := strings.ReplaceAll(s, ".", "")
	if digits == "" || len(digits) > mostDigits || len(s)-len(digits) > 1 || s[0] == '.' || s[len(s)-1] == '.' {
		return nil, false
	}
	return new(big.Rat).SetString(s)
}

// unitHint names the nearest unit, or all that would do.
func unitHint(name string, want Dimension) string {
	near := spellings(want)
	if want == Unknown {
		near = nil
		for _, u := range units {
			near = append(near, u.name)
		}
	}
	for _, n := range near {
		if strings.EqualFold(n, name) {
			return fmt.Sprintf("did you mean %q?", n)
		}
	}
	if strings.HasPrefix(name, "sec") && want <= Time {
		return `did you mean "s"?`
	}
	if strings.HasPrefix(name, "msec") && want <= Time {
		return `did you mean "ms"?`
	}
	return expected(want)
}

// expected makes the hint that names a dimension and its units.
func expected(want Dimension) string {
	switch want {
	case Unknown:
		return yamlfile.Expected("a number with its unit, such as 120ms, 15A or 40 %")
	case Number:
		return yamlfile.Expected("a bare number or a percentage, such as 0.5 or 50 %")
	}
	return yamlfile.Expected(fmt.Sprintf("%s in %s, such as %s", dimensions[want].article, yamlfile.OneOf(unitsOf(want)), examples[want]))
}

// examples holds one figure of each dimension.
var examples = [...]string{Unknown: "120ms", Number: "50 %", Time: "120ms", Current: "15A", Voltage: "12.6V", Resistance: "0.4ohm", Inductance: "1.5mH",
	Constant: "0.12Vs/rad", Inertia: "0.002kgm2", Torque: "1.5Nm", Friction: "2mNms/rad", Length: "3.2mm",
	Angle: "85deg", Mass: "120kg", Warmth: "-10degC"}

// isOperatorRune says whether a character can be an operator of its own.
func isOperatorRune(c rune) bool { return strings.ContainsRune("+-*/", c) }

// isNameRune says whether a character may stand in a claim's name.
func isNameRune(c rune) bool { return unicode.IsLower(c) || unicode.IsDigit(c) || c == '-' }
