package compare

import (
	"fmt"
	"io"
	"math"
	"strings"

	"pintle/rig/fold"
	"pintle/rig/rule"
)

// Text writes the comparison in lines of so many columns at most, as far as words allow.
// Rules that are the same are counted, unless all are asked for.
func (c *Comparison) Text(w io.Writer, all bool, columns int) error {
	p := &page{columns: columns}
	p.wrapped("A  ", "run "+c.A.text())
	p.wrapped("B  ", "run "+c.B.text())
	p.line("")
	p.list("claims that changed", claimTexts(c.Claims))
	p.list("scenarios that are new in B", c.New)
	p.list("scenarios that B lost: what they tested is not tested any more", c.Lost)
	p.list("rules that are new in B", c.NewRules)
	p.list("rules that B lost", c.LostRules)
	var verdicts []string
	for _, s := range c.Scenarios {
		if s.Change != Same {
			verdicts = append(verdicts, fmt.Sprintf("%s: %s, was %s", s.Name, s.Is, s.Was))
		}
	}
	p.list("scenarios whose verdict changed", verdicts)
	same := 0
	for i := range c.Rules {
		r := &c.Rules[i]
		if r.Change == Same && !all {
			same++
			continue
		}
		p.rule(r)
	}
	if same > 0 {
		p.wrapped(fmt.Sprintf("%-12s ", "same"), fmt.Sprintf("%d rules: no change that chance alone would not make", same))
		p.line("")
	}
	for _, n := range c.Notes {
		p.wrapped("note: ", n)
	}
	p.wrapped("", c.Conclusion())
	_, err := io.WriteString(w, p.String())
	return err
}

// Conclusion is the whole in a sentence.
func (c *Comparison) Conclusion() string {
	n := map[Change]int{}
	for i := range c.Rules {
		n[c.Rules[i].Change]++
	}
	tested := fmt.Sprintf("%d rules compared by verdict, %d of them by value; a false alarm among all of them in at most %.3g %% of comparisons", len(c.Rules), c.Tested, 100*c.Alpha)
	switch {
	case c.Regression && n[Worse]+n[Eroded] == 0:
		return "REGRESSION: a scenario's verdict is worse; " + tested
	case c.Regression:
		return fmt.Sprintf("REGRESSION: %d worse, %d eroded; %s", n[Worse], n[Eroded], tested)
	case c.Undetermined:
		return "no regression found, but not everything of A could be compared; " + tested
	}
	return "no regression; " + tested
}

func (s Side) text() string {
	text := s.Run + ": " + s.Board
	if s.Firmware != "" {
		text += ", firmware " + s.Firmware
	}
	return fmt.Sprintf("%s; %s, trials of each scenario: %d", text, s.Verdict, s.Trials)
}

func claimTexts(claims []Claim) []string {
	var all []string
	for _, c := range claims {
		switch {
		case c.Was == "":
			all = append(all, fmt.Sprintf("%s: %s, is new", c.Name, c.Is))
		case c.Is == "":
			all = append(all, fmt.Sprintf("%s: was %s, is gone", c.Name, c.Was))
		default:
			all = append(all, fmt.Sprintf("%s: %s, was %s", c.Name, c.Is, c.Was))
		}
	}
	return all
}

type page struct {
	strings.Builder
	columns int
}

func (p *page) line(format string, a ...any) {
	p.WriteString(strings.TrimRight(fmt.Sprintf(format, a...), " ") + "\n")
}

func (p *page) list(what string, items []string) {
	if len(items) == 0 {
		return
	}
	p.wrapped("", what+":")
	for _, i := range items {
		p.wrapped("  ", i)
	}
	p.line("")
}

func (p *page) wrapped(head, text string) { p.WriteString(fold.Hanging(head, text, p.columns)) }

// rule tells what became of one rule.
func (p *page) rule(r *Rule) {
	p.wrapped(fmt.Sprintf("%-12s ", r.Change), r.Scenario+": "+r.Name)
	head := strings.Repeat(" ", 13)
	verdict := r.Is
	if r.Was != r.Is {
		verdict = fmt.Sprintf("%s, was %s", r.Is, r.Was)
	}
	if !r.Compared {
		p.wrapped(head, verdict+"; "+r.Why)
		p.line("")
		return
	}
	p.wrapped(head, verdict+"; "+r.Values())
	p.wrapped(head, r.Chance())
	if r.Why != "" {
		p.wrapped(head, r.Why)
	}
	p.line("")
}

// Values tells the medians, the limit and the shift.
func (r *Rule) Values() string {
	text := fmt.Sprintf("median %s, was %s; limit %s", r.figure(r.round(r.MedianB)), r.figure(r.round(r.MedianA)), r.limitText())
	if r.LimitWas != 0 {
		text += fmt.Sprintf(" (was %s)", r.figure(r.LimitWas))
	}
	text += "; shifted by " + r.signed(r.Shift)
	if r.Covered {
		text += fmt.Sprintf(" (%s to %s at 95\u00a0%%)", r.signed(r.Low), r.signed(r.High))
	}
	switch e := math.Round(100 * r.Eroded); {
	case r.LimitWas != 0:
	case e >= 100:
		text += "; all of the margin gone"
	case e > 0:
		text += fmt.Sprintf("; %.0f\u00a0%% of the margin gone", e)
	case e < 0:
		text += fmt.Sprintf("; %.0f\u00a0%% more margin", -e)
	}
	return text
}

// Chance tells how often chance alone would do as much.
func (r *Rule) Chance() string {
	how := "normal approximation"
	if r.Exact {
		how = "exact"
	}
	return fmt.Sprintf("p %s, %s over all rules (%s, %d against %d trials)", probability(r.P), probability(r.Adjusted), how, r.TrialsA, r.TrialsB)
}

func probability(p float64) string {
	if p < 1e-4 {
		return "under 0.0001"
	}
	return fmt.Sprintf("%.2g", p)
}

func (r *Rule) figure(x int64) string {
	return fold.Held(rule.Finding{Unit: r.unit, Limit: x}.LimitFigure())
}

// round leaves a figure the digits that matter beside the limit.
func (r *Rule) round(x int64) int64 {
	step := int64(1)
	for size := max(r.Limit, -r.Limit); size/step >= 10_000; {
		step *= 10
	}
	half := step / 2
	if x < 0 {
		return -((-x + half) / step * step)
	}
	return (x + half) / step * step
}

func (r *Rule) signed(x int64) string {
	x = r.round(x)
	if x == 0 {
		return "0"
	}
	if x < 0 {
		return "−" + r.figure(-x)
	}
	return "+" + r.figure(x)
}

func (r *Rule) limitText() string {
	return fold.Held(rule.Finding{Unit: r.unit, Sense: r.sense, Limit: r.Limit}.LimitText())
}
