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

// motorPhrases is the table of what can be said of the motor.
var motorPhrases = []phrase{
	{"closing", false, closing},
	{"opening", false, opening},
	{"stopped", false, stopped},
	{"moving", false, moving},
	{"starts closing", true, closing},
	{"starts opening", true, opening},
	{"starts", true, moving},
	{"stops", true, stopped},
}

// A phrase of a state and one of its event share what they come to.
var (
	closing = motorIs(motion.Closing)
	opening = motorIs(motion.Opening)
	stopped = motorIs(motion.Stopped)
	moving  = &tree{op: 'o', parts: []*tree{opening, closing}}
)

// linePhrases lists what can be said of a line.
func linePhrases(l signal.Line) []phrase {
	info := l.Info()
	made, broken := lineIs(l, signal.Made), lineIs(l, signal.Broken)
	all := []phrase{{info.Made, false, made}, {info.Broken, false, broken}}
	if info.Makes != "makes" {
		all = append(all, phrase{info.Makes, true, made}, phrase{info.Breaks, true, broken})
	}
	all = append(all, phrase{"makes", true, made}, phrase{"breaks", true, broken})
	if info.Made != "made" {
		all = append(all, phrase{"made", false, made}, phrase{"broken", false, broken})
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
	for _, p := range linePhrases(l) {
		if p.event {
			happenings = append(happenings, p.words)
		} else {
			states = append(states, p.words)
		}
	}
	return states, happenings
}
