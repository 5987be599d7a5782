package diagnosis

import (
	"slices"
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
		i := slices.IndexFunc(motion.Phrases, func(p motion.Phrase) bool { return p.Words == rest })
		if i < 0 {
			return h, false
		}
		h.state = motion.Phrases[i].State
		return h, true
	}
	line, ok := signal.LineNamed(subject)
	all := line.Phrases()
	i := slices.IndexFunc(all, func(p signal.Phrase) bool { return p.Words == rest })
	if !ok || i < 0 {
		return h, false
	}
	h.line, h.level = line, all[i].Level
	if h.not {
		h.level = h.level.Not()
	}
	return h, true
}

// is says whether it holds while the motor is in a state.
func (h heard) is(s motion.State) bool {
	holds := s == h.state
	if h.state == motion.Unknown {
		holds = s.Moving()
	}
	return holds != h.not
}
