package fitness

import (
	"fmt"
	"time"

	"pintle/rig"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// toggleRead is how long a line stays at a level while its own pin is read.
const toggleRead = 100 * time.Millisecond

// A look is what the pins were at while one line was to be at a level.
type look struct {
	want signal.Level
	made signal.LineSet
	late bool // the line had been told to change again by then
	err  error
}

func (s *session) look(pins rig.Mirror, want signal.Level, until signal.Instant) look {
	made, err := pins.Pins()
	return look{want, made, s.bench.Now() >= until, err}
}

// judgePins judges what a line's own pin was at, made and broken, and whether another one
// was made with it. It says whether that tells anything; where it does not, the reason why
// is left to whoever can tell by other means.
func judgePins(r *Result, l signal.Line, seen []look) (told bool) {
	for _, k := range seen {
		if k.err != nil || k.late {
			return false
		}
	}
	for _, k := range seen {
		if k.made.Has(l) != (k.want == signal.Made) {
			r.Verdict, r.Reason = rule.Fail, fmt.Sprintf("While it was to be %v, its own pin was at the other level: something holds the pin.", k.want)
			r.Advice = fmt.Sprintf("Take the wire of %v off its pin and check again. If it passes then, look for a short along the wire; if not, the pin is damaged, or not the one that is meant.", l)
			return true
		}
		if others := k.made &^ signal.SetOf(l); others != 0 {
			r.Verdict, r.Reason = rule.Fail, fmt.Sprintf("While it was %v and all else at rest, the pin of %v was made: two pins touch, or something holds that one.", k.want, first(others))
			r.Advice = fmt.Sprintf("Look at the wires of %v and %v where they come to the connector.", l, first(others))
			return true
		}
	}
	if len(seen) > 0 {
		r.Verdict, r.Reason = rule.Pass, "Its own pin followed both ways; what stands between pin and controller was not read back."
	}
	return len(seen) > 0
}

// first is the first line of a set.
func first(set signal.LineSet) signal.Line {
	for l := signal.Line(1); l < signal.LineCount; l++ {
		if set.Has(l) {
			return l
		}
	}
	return signal.NoLine
}
