package fitness

import (
	"errors"
	"fmt"

	"pintle/rig/rule"
	"pintle/rig/signal"
)

// errLive ends a check in which a current flows with the supply off. What it came to has
// been said.
var errLive = errors.New("a current flows with the supply off")

// enoughFlows is how many readings in a row make a current, and no glitch of the meter.
const enoughFlows = 3

// live says that a current flows that drives the motor, before the supply was ever put
// on: a supply whose polarity the bench's file has wrong, or whose relay is welded, is on
// all the time, and the first press sets the motor going. Nothing more is driven then, for
// nothing that the bench can do is known to take the supply off.
func (s *session) live(c signal.Current) bool {
	if !s.dark || c.Abs() < s.Motion.Runs {
		s.flows = 0
		return false
	}
	if s.flows++; s.flows < enoughFlows {
		return false
	}
	s.add(Result{Name: "supply off", Done: "With the supply off the current was watched.",
		Figures: []Figure{{Name: "current", Value: int64(c), Unit: Microamps}}, Limits: []Figure{{Name: "less than", Value: int64(s.Motion.Runs), Unit: Microamps}},
		Verdict: rule.Fail, Reason: fmt.Sprintf("The supply was off as far as the bench knows, and a current of %v flowed.", roundly(c)),
		Advice: "Take the supply off by hand now. Then see whether the bench's file has the supply's polarity or pin wrong (active: low or high), whether its relay is welded, and what the meter reads of nothing."})
	return true
}
