package quantity

import (
	"math/big"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

// promises are the claims that the tests refer to.
func promises(name string) (Value, bool) {
	figures := map[string]string{"run-time cut-out": "15s", "dead time": "500ms", "stall current": "20A", "stall time": "800ms", "half": "0.5", "travel 2": "9s"}
	text, ok := figures[name]
	if name == "broken" {
		return Value{}, true
	}
	if !ok {
		return Value{}, false
	}
	v, _ := Parse(text, Unknown)
	return v, true
}

var promised = []string{"run-time cut-out", "dead time", "stall current", "stall time", "half", "travel 2", "broken"}

func work(t *testing.T, text string) (Value, []string, []int) {
	e, bad := ParseExpression(text, Unknown)
	if bad != nil {
		return Value{}, []string{bad.Text}, []int{bad.Offset}
	}
	v, bads := e.Evaluate(promises, promised)
	var says []string
	var at []int
	for _, b := range bads {
		says, at = append(says, b.Text), append(at, b.Offset)
	}
	return v, says, at
}

func TestExpressionGood(t *testing.T) {
	for text, want := range map[string]string{
		"120ms":                              "120ms",
		"claim run-time cut-out":             "15s",
		"claim run-time cut-out + 3s":        "18s",
		"2 * claim dead time":                "1s",
		"claim stall time * 1.5":             "1.2s",
		"claim run-time cut-out - 500 ms":    "14.5s",
		"(claim dead time + 100ms) * 2":      "1.2s",
		"claim dead time + 100ms * 2":        "700ms",
		"10s - 3s - 2s":                      "5s",
		"10s / 4 / 5":                        "500ms",
		"claim run-time cut-out / 10s":       "1.5",
		"claim stall current * 90 %":         "18A",
		"claim half * claim stall current":   "10A",
		"50 % * 2":                           "1",
		"-3s + 5s":                           "2s",
		"claim travel 2 + 1s":                "10s",
		"((claim dead time))":                "500ms",
		"1s / 3 * 3":                         "1s", // exact on the way
		"claim broken + 3s":                  "no figure",
		"claim  dead\ttime +  1s":            "1.5s",
		"12 A":                               "12A",
		"( 12 A )":                           "12A",
		"claim dead time * (2 + claim half)": "1.25s",
	} {
		v, says, _ := work(t, text)
		assert.Empty(t, says, text)
		assert.Equal(t, want, v.String(), text)
	}
}

// Each error points at the character that it is about.
func TestExpressionBad(t *testing.T) {
	for _, c := range []struct {
		text, says string
		at         string // the rest of the text from the character pointed at
	}{
		{"", "something is missing at the end", ""},
		{"   ", "something is missing at the end", ""},
		{"3s +", "something is missing at the end", ""},
		{"+ 3s", `"+" cannot stand here`, "+ 3s"},
		{"3s 4s", `"4s" cannot stand here`, "4s"},
		{"3s + 2A", "a current cannot be added to a time", "2A"},
		{"3s - 2", "a bare number cannot be taken from a time", "2"},
		{"claim dead time + claim stall current", "a current cannot be added to a time", "stall current"},
		{"3s * 2s", "a time cannot be multiplied by a time", "2s"},
		{"3s / 2A", "a time cannot be divided by a current", "2A"},
		{"3s / 0", "nothing can be divided by zero", "0"},
		{"3s / (1 - 1)", "nothing can be divided by zero", "1 - 1)"},
		{"claim", `"claim" without a name`, "claim"},
		{"claim + 3s", `"claim" without a name`, "claim + 3s"},
		{"claim dead tame + 3s", `there is no claim "dead tame"`, "dead tame + 3s"},
		{"dead time + 3s", `"dead" is not a figure`, "dead time + 3s"},
		{"(3s + 2s", `a "(" without its ")"`, "(3s + 2s"},
		{"3s + 2s)", `a ")" without its "("`, ")"},
		{"()", `")" cannot stand here`, ")"},
		{"3s+2s", `"+" needs a space on either side`, "+2s"},
		{"claim dead time claim dead time", `"claim" cannot stand here`, "claim dead time"},
		{"3s + 120 msec", `unknown unit "msec"`, "msec"},
		{"3s ** 2", `"**" cannot stand here`, "** 2"},
		{strings.Repeat("(", 40) + "1" + strings.Repeat(")", 40), "", ""},
		{strings.Repeat("1 + ", 64) + "1", "the expression is too long", ""},
	} {
		_, says, at := work(t, c.text)
		if !assert.NotEmpty(t, says, c.text) || c.says == "" {
			continue
		}
		assert.Equal(t, c.says, says[0], c.text)
		if c.at != "" {
			rest := string([]rune(c.text)[at[0]:])
			assert.Truef(t, strings.HasPrefix(rest, c.at), "%q points at %q", c.text, rest)
		}
	}
}

// Two mistakes in one expression are both told.
func TestExpressionTellsAllMistakes(t *testing.T) {
	_, says, _ := work(t, "(3s + 2A) + (claim dead tame - 2s)")
	assert.Len(t, says, 2)
}

// The value of a sum of products is that of the same sum worked out by big.Rat
// alone.
func TestExpressionAgainstRationals(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		terms := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) [3]int64 {
			return [3]int64{rapid.Int64Range(0, 999999).Draw(t, "a"), rapid.Int64Range(0, 99).Draw(t, "b"), rapid.Int64Range(1, 99).Draw(t, "c")}
		}), 1, 6).Draw(t, "terms")
		want, text := new(big.Rat), ""
		for i, x := range terms {
			part := big.NewRat(x[0], 1000)
			part.Mul(part, big.NewRat(x[1], x[2]))
			op := " + "
			if x[1]%2 == 1 {
				op = " - "
			}
			term := new(big.Rat).SetFrac64(x[0], 1000).FloatString(3) + "ms * " + big.NewRat(x[1], 1).RatString() + " / " + big.NewRat(x[2], 1).RatString()
			switch {
			case i == 0:
				text = term
				want.Add(want, part)
			case op == " + ":
				text += op + term
				want.Add(want, part)
			default:
				text += op + term
				want.Sub(want, part)
			}
		}
		e, bad := ParseExpression(text, Time)
		require.Nil(t, bad, text)
		v, bads := e.Evaluate(nil, nil)
		require.Empty(t, bads, text)
		require.Zero(t, want.Mul(want, big.NewRat(1_000_000, 1)).Cmp(v.rat), text)
	})
}
