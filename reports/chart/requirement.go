package chart

import (
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// A requirement is a finding in the terms of a drawing.
type requirement struct {
	finding *rule.Finding
	timed   bool           // the limit is an instant, at trigger + limit
	level   bool           // the limit is a current
	trigger signal.Instant // from here the time counts, or where the current was decided
	limit   signal.Instant
	answer  signal.Span // when it was answered
	hasEnd  bool        // answer is known
	broken  bool
}

func requirementOf(f *rule.Finding) requirement {
	r := requirement{finding: f}
	if f == nil {
		return r
	}
	r.broken = f.Verdict == rule.Fail
	if len(f.Decided) == 0 {
		r.level = f.Unit == rule.Microamperes && f.Sense != rule.NoSense
		return r
	}
	r.trigger = f.Decided[0].Mid()
	switch {
	case f.Unit == rule.Nanoseconds && f.Sense != rule.NoSense:
		r.timed = true
		r.limit = r.trigger + signal.Instant(f.Limit)
		r.answer, r.hasEnd = answerOf(f, r.trigger)
	case f.Unit == rule.Microamperes && f.Sense != rule.NoSense:
		r.level = true
	}
	return r
}

// answerOf is where the measured stretch ended: the trigger and the measured
// duration together, so that the drawing agrees with the figures to the pixel.
func answerOf(f *rule.Finding, trigger signal.Instant) (signal.Span, bool) {
	if f.Measured {
		return signal.Span{Early: trigger + signal.Instant(f.Value.Least), Late: trigger + signal.Instant(f.Value.Most)}, true
	}
	if len(f.Decided) > 1 {
		return f.Decided[1], true
	}
	return signal.Span{}, false
}

// extent is the part of the trial that must be seen to understand it.
func (r requirement) extent() (lo, hi signal.Instant, ok bool) {
	if !r.timed {
		return 0, 0, false
	}
	hi = r.limit
	if r.hasEnd {
		hi = max(hi, r.answer.Late)
	}
	return r.trigger, hi, hi > r.trigger
}

// over says that a mark at the instant lies on the forbidden side of the limit.
func (r requirement) over() bool {
	return r.broken && r.timed && r.hasEnd
}

func (r requirement) valueText() string { return r.finding.ValueText() }

func (r requirement) limitText() string { return r.finding.LimitText() }

func (r requirement) marginText() string { return r.finding.MarginWords() }
