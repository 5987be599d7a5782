package diagnosis

import (
	"cmp"
	"fmt"
	"strings"
	"time"

	"pintle/rig/rule"
	"pintle/rig/signal"
)

// An explainer tells what a rule comes to that is broken in one manner.
type explainer struct {
	fail   func(y *story) string                      // the headline
	anchor func(y *story) (at signal.Span, is string) // the deciding instant, and what it is
	end    func(y *story) (text string, to bool)      // what ended it after that, and whether by coming to hold; nil: nothing
}

// explainers is the table of all, by the manner.
var explainers = map[rule.Breach]explainer{
	rule.Came:       {came, decided("the instant at which it came"), nil},
	rule.Ceased:     {ceased, decided("the instant at which it ceased"), nil},
	rule.Never:      {never, decided("the instant from which it was awaited"), coming},
	rule.TooOften:   {tooOften, decided("the instant at which it came once too often"), nil},
	rule.TooSoon:    {tooSoon, decided("the instant at which it came"), nil},
	rule.Unanswered: {unanswered, decided("the instant that asked for it"), answering},
	rule.TooShort:   {tooShort, ending("its end"), nil},
	rule.TooLong:    {tooLong, allowed("the end of the time allowed"), ceasing},
	rule.TooRare:    {tooRare, allowed("the end of the time allowed"), coming},
	rule.TooLate:    {tooLate, allowed("the end of the time allowed"), answering},
	rule.TooMuch:    {tooMuch, figure, nil},
	rule.TooLittle:  {tooLittle, figure, nil},
}

func (y *story) explainer() explainer {
	if e, ok := explainers[y.pattern().Broken]; ok {
		return e
	}
	return explainer{func(y *story) string { return cmp.Or(y.f.Reason, "the requirement was not kept") }, decided("the deciding instant"), nil}
}

func coming(y *story) (string, bool)    { return y.of(), true }
func ceasing(y *story) (string, bool)   { return y.of(), false }
func answering(y *story) (string, bool) { return y.r.Then, true }

// figure is the first instant that the finding gives, of a rule on a figure.
func figure(y *story) (signal.Span, string) { return decided(y.pattern().Decided)(y) }

// decided is the first instant that the finding gives.
func decided(is string) func(*story) (signal.Span, string) {
	return func(y *story) (signal.Span, string) {
		if len(y.f.Decided) == 0 {
			return signal.Span{}, is
		}
		return y.f.Decided[0], is
	}
}

// ending is the last instant that the finding gives.
func ending(is string) func(*story) (signal.Span, string) {
	return func(y *story) (signal.Span, string) {
		if len(y.f.Decided) == 0 {
			return signal.Span{}, is
		}
		return y.f.Decided[len(y.f.Decided)-1], is
	}
}

// allowed is the end of the time that the rule allows, counted from the first instant.
func allowed(is string) func(*story) (signal.Span, string) {
	return func(y *story) (signal.Span, string) {
		if len(y.f.Decided) == 0 {
			return signal.Span{}, is
		}
		s := y.f.Decided[0]
		return signal.Span{Early: s.Early + signal.Instant(y.f.Limit), Late: s.Late + signal.Instant(y.f.Limit)}, is
	}
}

// subject is a condition as the subject of a sentence: the motor's states as they are
// spoken, anything else in quotes.
func subject(text, verb string) string {
	switch text {
	case "motor closing", "motor opening", "motor moving", "motor stopped":
		return strings.Replace(text, "motor ", "motor "+verb, 1)
	}
	if verb == "still " {
		return quoted(text) + " still so"
	}
	return quoted(text)
}

func tooLong(y *story) string {
	limit := y.at
	head := subject(y.of(), "still ")
	switch {
	case y.ended != (signal.Span{}) && y.ended.Late > limit.Early:
		d, half := gap(limit, y.ended)
		head += " " + spell(d, half) + " after " + y.limit()
	case y.trace != nil && y.end > limit.Late && beyond(y.f):
		d, half := gap(limit, signal.At(y.end))
		head += " " + spell(d, half) + " after " + y.limit() + ", as the trial ended"
	case y.f.Measured && !beyond(y.f):
		head += " " + y.over() + " after " + y.limit()
		if y.atEnd() {
			head += ", as the trial ended"
		}
	default:
		head += " after " + y.limit()
	}
	return head + y.lastEdge(limit.Late)
}

// atEnd says that the trial ended before what lasted too long did.
func (y *story) atEnd() bool {
	n := len(y.f.Decided)
	return y.trace != nil && n > 1 && y.ended == (signal.Span{}) && y.end.Sub(y.f.Decided[n-1].Late) < 50*time.Millisecond
}

func tooLate(y *story) string {
	limit := y.at
	then, of := quoted(y.then()), quoted(y.of())
	switch {
	case y.f.Measured && !beyond(y.f):
		return fmt.Sprintf("%s came %s after %s, %s later than %s", then, y.value(), of, y.over(), y.limit()) + y.lastEdge(limit.Late)
	case y.ended != (signal.Span{}):
		d, half := gap(limit, y.ended)
		return fmt.Sprintf("%s came %s later than %s from %s on", then, spell(d, half), y.limit(), of) + y.lastEdge(limit.Late)
	}
	return fmt.Sprintf("%s did not come within %s from %s on", then, y.limit(), of) + y.lastEdge(limit.Late)
}

func tooShort(y *story) string {
	what := y.of()
	if y.pattern().Has(rule.PartS) {
		what = y.then()
	}
	if !y.f.Measured {
		return subject(what, "not ") + " as long as " + y.limit()
	}
	return fmt.Sprintf("%s for %s only, %s less than %s", subject(what, ""), y.value(), y.over(), y.limit())
}

func tooRare(y *story) string {
	if !y.f.Measured || beyond(y.f) {
		return fmt.Sprintf("no %s within %s", quoted(y.of()), y.limit())
	}
	return fmt.Sprintf("no %s for %s, %s longer than %s", quoted(y.of()), y.value(), y.over(), y.limit())
}

func came(y *story) string { return quoted(y.of()) + " came to be, which it must not" + y.since() }

func ceased(y *story) string { return quoted(y.of()) + " ceased to be so" + y.since() }

func never(y *story) string {
	text := quoted(y.of()) + " never came"
	if y.r.Scope != "" {
		text += " " + y.r.Scope
	}
	if y.end > 0 {
		text += fmt.Sprintf(" in a trial of %s", spell(y.end.Sub(0), 0))
	}
	return text
}

func tooOften(y *story) string {
	n := y.value()
	if n == "" {
		return quoted(y.of()) + " came too often" + y.since()
	}
	return fmt.Sprintf("%s came %s where %s is allowed", quoted(y.of()), n, allowance(y.f.Limit)) + y.since()
}

func allowance(n int64) string {
	switch n {
	case 0:
		return "not once"
	case 1:
		return "once"
	case 2:
		return "twice"
	}
	return fmt.Sprintf("%d times", n)
}

func tooSoon(y *story) string {
	return fmt.Sprintf("%s came without %s before it", quoted(y.of()), quoted(y.then())) + y.since()
}

func unanswered(y *story) string {
	text := fmt.Sprintf("%s did not come after %s", quoted(y.then()), quoted(y.of()))
	if len(y.f.Decided) > 0 && y.end > y.f.Decided[0].Late {
		d, half := gap(y.f.Decided[0], signal.At(y.end))
		text += fmt.Sprintf(", in the %s until the trial ended", spell(d, half))
	}
	return text
}

func tooMuch(y *story) string { return y.aside("above", "rose to") }

func tooLittle(y *story) string { return y.aside("below", "fell to") }

// aside tells of a figure that is on the wrong side of its limit.
func (y *story) aside(side, went string) string {
	what := y.pattern().Figure
	if !y.f.Measured {
		return what + " was " + side + " " + y.limit()
	}
	return fmt.Sprintf("%s %s %s, %s %s %s", what, went, y.value(), y.over(), side, y.limit()) + y.since()
}

// lastEdge tells of the limit at the end of the movement what came of it last.
func (y *story) lastEdge(by signal.Instant) string {
	limits := y.limits()
	if y.trace == nil || len(limits) != 1 {
		return ""
	}
	line := limits[0]
	e, ok := y.last(line, by)
	if !ok {
		return fmt.Sprintf("; last edge on %v: none", line)
	}
	at := y.at
	return fmt.Sprintf("; last edge on %v: %s, %s", line, word(e), relative(e.Span, at))
}

// word is what became of a line at an edge, such as pressed.
func word(e signal.EdgeSeen) string {
	if e.Level == signal.Made {
		return e.Line.Info().Made
	}
	return e.Line.Info().Broken
}

// since tells how long after the step of the script before it the deciding instant
// was.
func (y *story) since() string {
	at := y.at
	if y.trace == nil || len(y.f.Decided) == 0 {
		return ""
	}
	for i := len(y.trace.Marks) - 1; i >= 0; i-- {
		m := y.trace.Marks[i]
		if m.At > at.Mid() {
			continue
		}
		d, half := gap(signal.At(m.At), at)
		if d <= half {
			return fmt.Sprintf(", at the step %s", quoted(m.Text))
		}
		return fmt.Sprintf(", %s into the step %s", spell(d, half), quoted(m.Text))
	}
	return ""
}
