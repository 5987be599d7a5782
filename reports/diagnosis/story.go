package diagnosis

import (
	"slices"
	"strings"

	"pintle/reports"
	"pintle/rig/motion"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// A story is a trial with the finding that is to be explained.
type story struct {
	run     *reports.Run
	s       *reports.Scenario
	t       *reports.Trial // nil: there is none
	f       *rule.Finding  // nil: the trial as a whole
	r       reports.Rule
	verdict rule.Verdict
	trace   *signal.Trace // nil: unknown
	motor   []motion.Change
	end     signal.Instant // of the trial
	at      signal.Span    // the deciding instant
	is      string         // what that is
	ended   signal.Span    // when what should have ended did, or what was missing came; zero: not seen
}

func newStory(run *reports.Run, s *reports.Scenario, trial, finding int, trace *signal.Trace) *story {
	y := &story{run: run, s: s, trace: trace, verdict: s.Verdict}
	if trial < 0 || trial >= len(s.Trials) {
		return y
	}
	y.t = &s.Trials[trial]
	y.verdict = y.t.Verdict
	if trace != nil {
		y.motor, y.end = Motor(run, trace), endOf(trace)
	}
	if finding >= 0 && finding < len(y.t.Findings) {
		f := y.t.Findings[finding]
		y.f, y.verdict = &f, reports.Standing(y.t, f)
		if f.Rule >= 0 && f.Rule < len(s.Rules) {
			y.r = s.Rules[f.Rule]
		}
		y.ended = y.after()
		y.at, y.is = y.explainer().anchor(y)
	}
	return y
}

func endOf(t *signal.Trace) signal.Instant {
	end := t.End
	if n := len(t.Samples); n > 0 {
		end = max(end, t.Samples[n-1].To)
	}
	return end
}

// words are all that the rule speaks of.
func (y *story) words() string {
	return strings.Join([]string{y.r.Name, y.r.Of, y.r.Then, y.r.Scope}, " ")
}

// of is the rule's condition, from its name in a record that does not have it apart.
func (y *story) of() string {
	if y.r.Of != "" {
		return y.r.Of
	}
	for _, cut := range []string{" for at most", " for at least", " within"} {
		if text, _, ok := strings.Cut(y.r.Name, cut); ok {
			return text
		}
	}
	return y.r.Name
}

// then is the condition that must follow or go before.
func (y *story) then() string {
	if y.r.Then != "" {
		return y.r.Then
	}
	return "the answer"
}

// named says that a text speaks of a line, as a word by itself.
func named(text, line string) bool {
	return slices.Contains(strings.FieldsFunc(text, func(r rune) bool { return !(r >= 'a' && r <= 'z' || r == '-') }), line)
}

// limits are the lines that would end a movement that the rule speaks of.
func (y *story) limits() []signal.Line {
	var all []signal.Line
	text := y.words()
	if named(text, "closing") || named(text, "moving") {
		all = append(all, signal.ClosedLimit)
	}
	if named(text, "opening") || named(text, "moving") {
		all = append(all, signal.OpenLimit)
	}
	return all
}

// lines are those that concern the finding: that the rule names, that end the
// movement it speaks of, and that something was wrong with on purpose.
func (y *story) lines() []signal.Line {
	set := signal.SetOf(y.limits()...)
	for _, info := range signal.Lines {
		bent := slices.ContainsFunc(y.s.Faults, func(f reports.Fault) bool { return f.Line == info.Name })
		if bent || named(y.words(), info.Name) {
			set |= signal.SetOf(info.Line)
		}
	}
	var all []signal.Line
	for _, info := range signal.Lines {
		if set.Has(info.Line) && info.Line != signal.Heartbeat {
			all = append(all, info.Line)
		}
	}
	return all
}

// last is the last edge of a line that had certainly come by an instant.
func (y *story) last(line signal.Line, by signal.Instant) (signal.EdgeSeen, bool) {
	if y.trace == nil {
		return signal.EdgeSeen{}, false
	}
	found, ok := signal.EdgeSeen{}, false
	for _, e := range y.trace.Edges {
		if e.Line == line && e.Span.Early <= by {
			found, ok = e, true
		}
	}
	return found, ok
}

// moving is what the motor was taken to do at an instant.
func (y *story) moving(at signal.Instant) motion.State {
	state := motion.Unknown
	for i, c := range y.motor {
		if i == 0 {
			state = c.Was
		}
		if c.Span.Late > at {
			break
		}
		state = c.Is
	}
	return state
}

// after is when what the rule waited for came in the end: the end of a state that
// lasted too long, or the answer that came too late.
func (y *story) after() signal.Span {
	if len(y.f.Decided) == 0 || y.trace == nil {
		return signal.Span{}
	}
	from := y.f.Decided[0].Late
	if end := y.explainer().end; end != nil {
		text, to := end(y)
		return y.turn(text, to, from)
	}
	return signal.Span{}
}

// turn finds the first time after an instant that a state comes to hold, or ceases to.
// Of a text that it cannot read it finds nothing.
func (y *story) turn(text string, to bool, after signal.Instant) signal.Span {
	h, ok := read(text)
	if !ok {
		return signal.Span{}
	}
	if h.line == signal.NoLine {
		for _, c := range y.motor {
			if c.Span.Late > after && h.is(c.Is) == to && c.Is != motion.Unknown {
				return c.Span
			}
		}
		return signal.Span{}
	}
	for _, e := range y.trace.Edges {
		if e.Line == h.line && e.Span.Late > after && (e.Level == h.level) == to {
			return e.Span
		}
	}
	return signal.Span{}
}

// pattern is that of the broken rule.
func (y *story) pattern() *rule.PatternInfo {
	p, _ := rule.PatternNamed(y.r.Pattern)
	return p.Info()
}
