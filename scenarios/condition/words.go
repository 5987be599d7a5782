package condition

import (
	"pintle/rig/motion"
	"pintle/rig/signal"
)

// A phrase is what may follow a subject, and what it comes to.
type phrase struct {
	words string
	event bool
	is    *tree
}

// motorPhrases lists what can be said of the motor.
func motorPhrases() (all []phrase) {
	for _, p := range motion.Phrases {
		is := motorIs(p.State)
		if p.State == motion.Unknown {
			is = &tree{op: 'o', parts: []*tree{motorIs(motion.Opening), motorIs(motion.Closing)}}
		}
		all = append(all, phrase{p.Words, p.Event, is})
	}
	return all
}

// linePhrases lists what can be said of a line.
func linePhrases(l signal.Line) (all []phrase) {
	for _, p := range l.Phrases() {
		all = append(all, phrase{p.Words, p.Event, lineIs(l, p.Level)})
	}
	return all
}

// subjects lists the words that a condition can begin with.
func subjects() []string {
	all := []string{"motor", "current"}
	for _, info := range signal.Lines {
		all = append(all, info.Name)
	}
	return all
}

// States lists all that can be said of a line as a state, and as an event, for
// tables of words.
func States(l signal.Line) (states, happenings []string) {
	for _, p := range l.Phrases() {
		if p.Event {
			happenings = append(happenings, p.Words)
		} else {
			states = append(states, p.Words)
		}
	}
	return states, happenings
}
