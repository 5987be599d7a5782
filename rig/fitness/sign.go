package fitness

import (
	"pintle/rig"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// A sign counts how often the meter's sign was that of the way the motor was driven, and
// how often the other.
type sign struct{ right, wrong int }

// take takes a current while the motor was driven a way: 1 opening, -1 closing, 0 not known.
func (g *sign) take(way, current signal.Current) {
	switch product := way * current; {
	case product > 0:
		g.right++
	case product < 0:
		g.wrong++
	}
}

// way is which way the controller drove at an instant, as its own outputs say where the
// bench sees them.
func (s *session) way(at signal.Instant) (way signal.Current) {
	for _, d := range []struct {
		line signal.Line
		way  signal.Current
	}{{signal.DriveOpen, 1}, {signal.DriveClose, -1}} {
		if s.looped(d.line) {
			continue
		}
		level := signal.Broken
		for _, o := range s.edges {
			if o.Kind == rig.Sensed && o.Line == d.line && o.Span.Late <= at {
				level = o.Level
			}
		}
		if level == signal.Made {
			way += d.way
		}
	}
	return way
}

// looped says that an input reads an output of the bench back, for the check.
func (s *session) looped(l signal.Line) bool {
	for _, p := range s.Pairs {
		if p.Input == l {
			return true
		}
	}
	return false
}

// judgeSign tells a meter that is wired the wrong way round: the gate would close when the
// motor opens.
func (s *session) judgeSign() Result {
	r := Result{Name: "meter: sign", Done: "While the motor ran, the sign of the current was held against the controller's own drive outputs.",
		Figures: []Figure{{Name: "right", Value: int64(s.sign.right), Unit: Count}, {Name: "wrong", Value: int64(s.sign.wrong), Unit: Count}}}
	switch {
	case s.sign.wrong > 0:
		r.Verdict, r.Reason = rule.Fail, "The meter reads negative while the motor opens, or positive while it closes."
		r.Advice = "Swap the meter's leads, or change what the bench's file says of the meter under invert; or see whether drive-open and drive-close are swapped."
	case s.sign.right > 0:
		r.Verdict, r.Reason = rule.Pass, "The meter reads positive while the motor opens, and negative while it closes."
	default:
		r.Verdict, r.Reason = rule.Inconclusive, "Nothing told the bench which way the motor was driven."
		r.Advice = "Run the motor and see that the meter reads positive while it opens; or let the bench see the controller's outputs by the lines drive-open and drive-close."
	}
	return r
}
