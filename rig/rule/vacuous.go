package rule

import (
	"fmt"
	"time"

	"pintle/rig/motion"
	"pintle/rig/signal"
)

// Bounds are what a bench can see at the most.
type Bounds struct {
	Reading signal.Current // the largest that does not end the trial
	Trial   time.Duration  // the longest; 0: without an end
}

// Vacuous says why a rule cannot be found broken on a bench, whatever the controller does;
// empty where it can, or where that is not plain.
func Vacuous(r *Rule, b Bounds) string {
	sense, _ := LimitOf(r)
	switch UnitOf(r.Pattern) {
	case Microamperes:
		switch {
		case sense == AtLeast && r.Current == 0:
			return "no current's magnitude is under nothing"
		case sense == AtMost && r.Current >= b.Reading:
			return fmt.Sprintf("the bench sees no more than %v", b.Reading)
		}
	case Nanoseconds:
		if sense == AtMost && b.Trial > 0 && r.Limit > b.Trial {
			return fmt.Sprintf("no trial lasts longer than %v", b.Trial)
		}
	}
	if r.Pattern.Info().Broken == Came && !r.P.canHold(b.Reading) {
		return fmt.Sprintf("%q cannot be seen to hold", r.P.Text)
	}
	return ""
}

// canHold says that a condition does not contradict itself, nor ask for more current than
// can be read.
func (c Condition) canHold(most signal.Current) bool {
	for _, terms := range c.Any {
		if consistent(terms, most) {
			return true
		}
	}
	return false
}

// consistent says that all terms may hold at once.
func consistent(terms []Term, most signal.Current) bool {
	made, state, above := map[signal.Line]signal.Level{}, motion.Unknown, signal.Current(-1)
	for _, t := range terms {
		switch {
		case t.Kind == LineIs:
			level := t.Level
			if t.Not {
				level = level.Not()
			}
			if was, told := made[t.Line]; told && was != level {
				return false
			}
			made[t.Line] = level
		case t.Kind == MotorIs && !t.Not:
			if state != motion.Unknown && state != t.State {
				return false
			}
			state = t.State
		case t.Kind == CurrentAbove && !t.Not:
			above = max(above, t.Current)
		}
	}
	for _, t := range terms {
		if t.Not && (t.Kind == MotorIs && t.State == state || t.Kind == CurrentAbove && t.Current <= above) {
			return false
		}
	}
	return above < most
}
