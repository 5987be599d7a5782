package diagnosis

import (
	"strings"

	"pintle/rig/motion"
	"pintle/rig/signal"
)

// heard is a plain condition as far as it can be followed in a trace: one state of
// the motor or of one line. Files may say more than that; of those the explanation
// keeps to what the finding says.
type heard struct {
	line  signal.Line // NoLine: the motor
	level signal.Level
	not   bool
	state motion.State // Unknown: moving either way
}

func read(text string) (heard, bool) {
	h := heard{}
	text, h.not = strings.CutPrefix(text, "not ")
	subject, rest, _ := strings.Cut(text, " ")
	if subject == "motor" {
		switch strings.TrimPrefix(rest, "starts ") {
		case "closing":
			h.state = motion.Closing
		case "opening":
			h.state = motion.Opening
		case "stopped", "stops":
			h.state = motion.Stopped
		case "moving", "starts":
		default:
			return h, false
		}
		return h, true
	}
	line, ok := signal.LineNamed(subject)
	info := line.Info()
	switch rest {
	case info.Made, info.Makes, "made", "makes":
		h.level = signal.Made
	case info.Broken, info.Breaks, "broken", "breaks":
	default:
		ok = false
	}
	h.line = line
	if h.not {
		h.level = h.level.Not()
	}
	return h, ok
}

// is says whether it holds while the motor is in a state.
func (h heard) is(s motion.State) bool {
	holds := s == h.state
	if h.state == motion.Unknown {
		holds = s.Moving()
	}
	return holds != h.not
}
