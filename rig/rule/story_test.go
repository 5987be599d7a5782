package rule_test

import (
	"sort"
	"testing"
	"time"

	"pintle/rig/motion"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

const (
	ns = time.Nanosecond
	ms = time.Millisecond
)

// ---- telling a trial in a line

// story is a trial told by hand.
type story struct {
	world
	list []seen
}

// tell gives a story's lines their pulses: each line begins broken and changes at
// each of its instants.
func tell(end time.Duration, pulses ...pulse) story {
	s := story{}
	s.motor, s.end = motion.Stopped, signal.Instant(end)
	for _, p := range pulses {
		level := s.lines[p.line]
		for _, at := range p.at {
			if at == initially {
				level = signal.Made
				s.lines[p.line] = level
				continue
			}
			level = level.Not()
			s.see(change{at: signal.Instant(at), line: p.line, level: level}, p.doubt)
		}
	}
	return s
}

func (s *story) see(c change, doubt time.Duration) {
	s.list = append(s.list, seen{change: c, span: signal.Span{Early: c.at, Late: c.at.Add(doubt)}})
	sort.SliceStable(s.list, func(i, j int) bool { return s.list[i].span.Early < s.list[j].span.Early })
}

// pulse is when a line changes, each time no later than doubt after the instant.
type pulse struct {
	line  signal.Line
	doubt time.Duration
	at    []time.Duration
}

const initially = -1 * time.Nanosecond

// Short names for the four lines that the tables play on.
const (
	p = signal.OpenLimit
	s = signal.ClosedLimit
	q = signal.Beam
	r = signal.Remote
)

func on(l signal.Line, at ...time.Duration) pulse { return pulse{l, 0, at} }

func onWithin(l signal.Line, doubt time.Duration, at ...time.Duration) pulse {
	return pulse{l, doubt, at}
}

func made(l signal.Line) rule.Condition {
	return rule.Condition{Text: l.String() + " made", Any: [][]rule.Term{{{Kind: rule.LineIs, Line: l, Level: signal.Made}}}}
}

func makes(l signal.Line) rule.Condition {
	c := made(l)
	c.Becomes = true
	return c
}

func motorIs(state motion.State) rule.Condition {
	return rule.Condition{Text: "motor " + state.String(), Any: [][]rule.Term{{{Kind: rule.MotorIs, State: state}}}}
}

func tellTo(t *testing.T, x rule.Rule, s story) rule.Finding {
	t.Helper()
	x.Name = "the rule"
	return perform(compile(t, x), s.world, s.list)[0]
}
