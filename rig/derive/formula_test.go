package derive_test

import (
	"bytes"
	"fmt"
	"math"
	"strconv"
	"strings"
	"unicode/utf8"

	"github.com/stretchr/testify/require"

	"pintle/rig/derive"
)

// A calculator works a formula out from its text, as somebody with a pocket
// calculator would. It shares nothing with the package.
type calculator struct{ rest string }

var prefixes = []struct {
	unit  string
	scale float64
}{{"kgm²", 1}, {"kg", 1}, {"Nm", 1}, {"N", 1}, {"rad", 1}, {"%/s²", 0.01}, {"%/s", 0.01}, {"mH", 1e-3}, {"m/s", 1}, {"/s", 1}, {"ms", 1e-3}, {"mm", 1e-3}, {"mΩ", 1e-3}, {"µs", 1e-6}, {"s", 1}, {"A", 1}, {"V", 1}, {"K", 1}, {"Ω", 1}, {"m", 1}, {"%", 0.01}}

func work(text string) (float64, error) {
	c := &calculator{text}
	x, err := c.sum()
	if err == nil && strings.TrimSpace(c.rest) != "" {
		err = fmt.Errorf("what is %q in %q", c.rest, text)
	}
	return x, err
}

func (c *calculator) take(s string) bool {
	t, ok := strings.CutPrefix(strings.TrimLeft(c.rest, " "), s)
	if ok {
		c.rest = t
	}
	return ok
}

func (c *calculator) sum() (float64, error) {
	x, err := c.product()
	for err == nil {
		var y float64
		switch {
		case c.take("+ "):
			y, err = c.product()
			x += y
		case c.take("− "):
			y, err = c.product()
			x -= y
		default:
			return x, nil
		}
	}
	return x, err
}

func (c *calculator) product() (float64, error) {
	x, err := c.factor()
	for err == nil {
		var y float64
		switch {
		case c.take("× "):
			y, err = c.factor()
			x *= y
		case c.take("/ "):
			y, err = c.factor()
			x /= y
		default:
			return x, nil
		}
	}
	return x, err
}

func (c *calculator) factor() (float64, error) {
	switch {
	case c.take("ln("):
		x, err := c.inside()
		return math.Log(x), err
	case c.take("("):
		return c.inside()
	case c.take("√"):
		x, err := c.factor()
		return math.Sqrt(x), err
	case c.take("π"):
		return math.Pi, nil
	}
	return c.figure()
}

func (c *calculator) inside() (float64, error) {
	x, err := c.sum()
	if err == nil && !c.take(")") {
		err = fmt.Errorf("no ) before %q", c.rest)
	}
	return x, err
}

func (c *calculator) figure() (float64, error) {
	s := strings.TrimLeft(c.rest, " ")
	s, negative := strings.CutPrefix(s, "−")
	n := len(s) - len(strings.TrimLeft(s, "0123456789."))
	x, err := strconv.ParseFloat(s[:n], 64)
	if err != nil {
		return 0, err
	}
	if negative {
		x = -x
	}
	c.rest = s[n:]
	if c.take("²") {
		return x * x, nil
	}
	if strings.HasPrefix(c.rest, "°") {
		c.take("°")
		return x, nil
	}
	for _, p := range prefixes {
		after, ok := strings.CutPrefix(c.rest, " "+p.unit)
		if ok && (after == "" || after[0] == ' ' || after[0] == ')') {
			c.rest = after
			return x * p.scale, nil
		}
	}
	return x, nil
}

type tester interface {
	require.TestingT
	Helper()
}

// checkStep holds a step to its own formula: one unit of the fourth digit is what
// rounding up or down may make of it.
func checkStep(t tester, s derive.Step) {
	t.Helper()
	got, err := work(s.Formula)
	require.NoError(t, err, s.Formula)
	said, err := work(s.Result)
	require.NoError(t, err, s.Result)
	require.InDelta(t, said, s.Value, 1e-9*math.Abs(said)+1e-15, "%s = %s", s.Formula, s.Result)
	lastDigit := math.Pow(10, math.Floor(math.Log10(math.Abs(said)))-3)
	if said == 0 {
		lastDigit = 1e-9
	}
	require.InDelta(t, got, said, 1.01*lastDigit, "%s: %s = %s", s.Text, s.Formula, s.Result)
}

func checkWidth(t tester, width int, g derive.Given) {
	ps := derive.Derive(g)
	t.Helper()
	var out bytes.Buffer
	require.NoError(t, derive.Sheet(&out, width, g, ps, nil))
	for line := range strings.Lines(out.String()) {
		require.LessOrEqual(t, utf8.RuneCountInString(strings.TrimSuffix(line, "\n")), width, line)
	}
}
