package diagnosis

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"pintle/reports"
	"pintle/rig/motion"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// required is the rule in a sentence.
func (y *story) required() string {
	text := "Required: " + cmp.Or(y.r.Name, "a rule without a name")
	var by []string
	if limit := y.f.LimitText(); limit != "" {
		by = append(by, limit)
	}
	if len(y.r.Claims) > 0 {
		by = append(by, "by the claim "+strings.Join(y.r.Claims, ", "))
	}
	if len(by) > 0 {
		text += " (" + strings.Join(by, ", ") + ")"
	}
	return text + "."
}

// measured is what was measured, how far that lies from the limit, and how sure it is.
func (y *story) measured() []string {
	f := y.f
	if !f.Measured || y.verdict == rule.Void {
		return nil
	}
	if beyond(f) {
		return []string{fmt.Sprintf("The rule was settled as soon as it had lasted longer than %s: that much is certain.", f.LimitFigure())}
	}
	text := "Measured: " + f.ValueText()
	if m := f.MarginWords(); m != "" {
		text += "; " + m
	}
	if risk := reports.Risk(*f); risk != "" {
		text += "; the probability that the limit is broken is " + risk
	}
	return []string{text + "."}
}

// A happening is something to be told of, around the deciding instant.
type happening struct {
	span signal.Span
	what string
}

// mostBefore and mostAfter are how many happenings are told on each side.
const (
	mostBefore = 5
	mostAfter  = 3
)

// around tells what the lines that matter and the motor did around the deciding
// instant.
func (y *story) around() []string {
	if y.trace == nil || len(y.f.Decided) == 0 {
		return nil
	}
	at, is := y.at, y.is
	told := []string{fmt.Sprintf("The deciding instant is %s, %s into the trial.", is, spell(at.Mid().Sub(0), at.Width()/2))}
	before, after := y.happenings(at)
	if len(before) > 0 {
		told = append(told, "Before it: "+list(before, at)+".")
	}
	if len(after) > 0 {
		told = append(told, "After it: "+list(after, at)+".")
	}
	if y.still(at) != "" {
		told = append(told, y.still(at))
	}
	return append(told, y.levels(at)...)
}

func list(all []happening, at signal.Span) string {
	var texts []string
	for _, h := range all {
		texts = append(texts, h.what+" "+relative(h.span, at))
	}
	return strings.Join(texts, "; ")
}

// happenings are what came last before the instant and first after it.
func (y *story) happenings(at signal.Span) (before, after []happening) {
	lines := append(y.lines(), signal.Remote, signal.SecondRemote, signal.Supply, signal.StallLoad, signal.Beam)
	var all []happening
	for _, e := range y.trace.Edges {
		if slices.Contains(lines, e.Line) {
			all = append(all, happening{e.Span, fmt.Sprintf("%v %s", e.Line, word(e))})
		}
	}
	for _, c := range y.motor {
		if c.Was != motion.Unknown {
			all = append(all, happening{c.Span, "motor " + c.Is.String()})
		}
	}
	slices.SortStableFunc(all, func(a, b happening) int {
		return int(max(-1, min(1, a.span.Mid()-b.span.Mid())))
	})
	split := len(all)
	for i, h := range all {
		if h.span.Mid() > at.Mid() {
			split = i
			break
		}
	}
	return all[max(0, split-mostBefore):split], all[split:min(len(all), split+mostAfter)]
}

// still says what the motor was doing at the deciding instant.
func (y *story) still(at signal.Span) string {
	switch s := y.moving(at.Mid()); s {
	case motion.Opening, motion.Closing:
		return fmt.Sprintf("At that instant the motor was %v.", s)
	case motion.Stopped:
		return "At that instant the motor stood still."
	}
	return ""
}

// levels tells of each line that matters how it stood, and when it last changed.
func (y *story) levels(at signal.Span) []string {
	var quiet []string
	supply := false
	for _, line := range y.lines() {
		supply = supply || line == signal.Supply
		if e, ok := y.last(line, at.Early); !ok {
			quiet = append(quiet, fmt.Sprintf("%v was %s from the beginning", line, word(signal.EdgeSeen{Line: line, Level: y.trace.Initial[line]})))
		} else {
			quiet = append(quiet, fmt.Sprintf("%v was %s, its last edge %s", line, word(e), relative(e.Span, at)))
		}
	}
	if e, ok := y.last(signal.Supply, at.Early); ok && e.Level == signal.Broken && !supply {
		quiet = append(quiet, "the supply was off since "+relative(e.Span, at))
	}
	if len(quiet) == 0 {
		return nil
	}
	return []string{"By then " + strings.Join(quiet, "; ") + "."}
}
