package rule

import (
	"fmt"
	"math"
	"strconv"
	"time"

	"pintle/rig/signal"
)

// finding sums a check up.
func (c *check) finding() Finding {
	sense, limit := c.limit()
	t := &c.total
	f := Finding{Verdict: Inconclusive, Sense: sense, Limit: limit, Unit: unitOf(c.rule.Pattern), Exercised: t.n}
	if !t.any {
		f.Reason = "not exercised: " + c.missing()
		return f
	}
	f.Verdict, f.Measured, f.Value = t.verdict, t.measured, t.value
	if !f.Measured {
		f.Value = Interval{}
	}
	for _, s := range t.spans {
		if s != (signal.Span{}) {
			f.Decided = append(f.Decided, s)
		}
	}
	f.Reason = c.reason(&f, t.why)
	return f
}

func unitOf(p Pattern) Unit {
	switch p {
	case BoundedExistence:
		return Times
	case MinimumDuration, MaximumDuration, BoundedRecurrence, BoundedResponse, BoundedInvariance:
		return Nanoseconds
	case CurrentUnder, CurrentOver, AverageUnder, AverageOver:
		return Microamperes
	}
	return NoUnit
}

// missing says what would have put the rule to the test.
func (c *check) missing() string {
	scope := c.rule.Scope
	switch {
	case scope.Kind == Before && !c.spent:
		return fmt.Sprintf("%q never came", scope.R.Text)
	case scope.Kind == Before && !c.closed.known:
		return fmt.Sprintf("%q was so from the beginning", scope.R.Text)
	case scope.Kind >= After && !c.opened.known:
		return fmt.Sprintf("%q never came", scope.Q.Text)
	case scope.Kind == Between && !c.closed.known:
		return fmt.Sprintf("%q never came", scope.R.Text)
	}
	if c.p != nil {
		return fmt.Sprintf("%q never came", c.rule.P.Text)
	}
	return "there was no reading in its scope"
}

// reason says in words what decided.
func (c *check) reason(f *Finding, w why) string {
	p, s := c.rule.P.Text, c.rule.S.Text
	switch w {
	case whyOrder:
		return "the measurement cannot tell which came first"
	case whyEnd:
		return "the trial ended first"
	case whyLate:
		return fmt.Sprintf("%q did not come within %s", s, quantity(f.Limit, f.Unit))
	case whyHeld:
		return fmt.Sprintf("%q came to be", p)
	case whyNot:
		return fmt.Sprintf("%q was not so throughout", p)
	case whyNever:
		return fmt.Sprintf("%q never came", p)
	case whyFirst:
		return fmt.Sprintf("%q came without %q before it", p, s)
	case whyUnmet:
		return fmt.Sprintf("%q did not come", s)
	case whyValue:
		switch f.Verdict {
		case Fail:
			return fmt.Sprintf("%s, and the limit is %s", f.ValueText(), f.LimitText())
		case Inconclusive:
			return fmt.Sprintf("the measurement cannot tell: %s, and the limit is %s", f.ValueText(), f.LimitText())
		}
	}
	return ""
}

// ValueText is the value with the half-width of its interval, such as
// "96.2 ms ± 1.6 ms"; empty where nothing was measured.
func (f Finding) ValueText() string {
	if !f.Measured {
		return ""
	}
	half := (f.Value.Most - f.Value.Least + 1) / 2
	if half == 0 || f.Unit == Times {
		return quantity(f.Value.Mid(), f.Unit)
	}
	if f.Unit == Nanoseconds && half < int64(time.Microsecond) {
		half = int64(time.Microsecond)
	}
	return quantity(f.Value.Mid(), f.Unit) + " ± " + quantity(half, f.Unit)
}

// LimitText is the limit with its sense, such as "at most 150 ms".
func (f Finding) LimitText() string {
	switch f.Sense {
	case AtMost:
		return "at most " + quantity(f.Limit, f.Unit)
	case AtLeast:
		return "at least " + quantity(f.Limit, f.Unit)
	}
	return ""
}

// MarginText is the room left to the limit in the worst case, such as "52.2 ms";
// empty where nothing was measured.
func (f Finding) MarginText() string {
	if !f.Measured {
		return ""
	}
	return quantity(f.Margin(), f.Unit)
}

// quantity prints a number in a unit with digits that a reader can use: four of
// them at most, the exact value where that is shorter.
func quantity(n int64, u Unit) string {
	switch u {
	case Nanoseconds:
		return scaled(float64(n), []step{{"s", 1e9}, {"ms", 1e6}, {"µs", 1e3}, {"ns", 1}})
	case Microamperes:
		return scaled(float64(n), []step{{"A", 1e6}, {"mA", 1e3}, {"µA", 1}})
	case Times:
		if n == 1 || n == -1 {
			return fmt.Sprintf("%d time", n)
		}
		return fmt.Sprintf("%d times", n)
	}
	return strconv.FormatInt(n, 10)
}

type step struct {
	unit string
	size float64
}

func scaled(v float64, steps []step) string {
	for _, s := range steps {
		if math.Abs(v) < s.size && s.size > 1 && v != 0 {
			continue
		}
		x := v / s.size
		digits := 3
		for limit := 1.0; digits > 0 && math.Abs(x) >= 10*limit; limit *= 10 {
			digits--
		}
		return trimmed(strconv.FormatFloat(x, 'f', digits, 64)) + " " + s.unit
	}
	return ""
}

func trimmed(s string) string {
	for i := range s {
		if s[i] == '.' {
			end := len(s)
			for s[end-1] == '0' {
				end--
			}
			if s[end-1] == '.' {
				end--
			}
			return s[:end]
		}
	}
	return s
}
