package rule

import (
	"fmt"

	"pintle/rig/signal"
)

// finding sums a check up.
func (c *check) finding() Finding {
	sense, limit := c.limit()
	t := &c.total
	f := Finding{Verdict: Inconclusive, Sense: sense, Limit: limit, Unit: c.info.Unit, Exercised: t.n}
	if c.blurred {
		f.Reason = c.reason(&f, whyOrder)
		return f
	}
	if !t.any {
		f.Reason = NotExercised + c.missing()
		return f
	}
	f.Verdict, f.Measured, f.Value = t.verdict, t.measured, t.value
	f.ByValue = t.why == whyValue && !t.unsure
	f.Open = append(f.Open, t.opens[:t.count]...)
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

// UnitOf is the unit of what a pattern measures.
func UnitOf(p Pattern) Unit { return p.Info().Unit }

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

// What the reasons of findings begin with whose value does not decide.
const (
	NotExercised = "not exercised: "
	OrderUnknown = "the measurement cannot tell which came first"
	EndedFirst   = "the trial ended first"
)

// reason says in words what decided.
func (c *check) reason(f *Finding, w why) string {
	p, s := c.rule.P.Text, c.rule.S.Text
	switch w {
	case whyOrder:
		return OrderUnknown
	case whyEnd:
		return EndedFirst
	case whyLate:
		return fmt.Sprintf("%q did not come within %s", s, f.LimitFigure())
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
			return fmt.Sprintf("%s, where it must be %s", f.ValueText(), f.LimitText())
		case Inconclusive:
			return fmt.Sprintf("the measurement cannot tell: %s, where it must be %s", f.ValueText(), f.LimitText())
		}
	}
	return ""
}
