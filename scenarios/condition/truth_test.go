package condition

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/motion"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// A moment is the state of everything that the generated conditions speak of.
type moment struct {
	motor   motion.State
	remote  bool
	limit   bool
	current signal.Current
}

// A saying is a condition's text with its truth, worked out without the parser.
type saying struct {
	text string
	true func(moment) bool
}

var simple = []saying{
	{"motor closing", func(m moment) bool { return m.motor == motion.Closing }},
	{"motor moving", func(m moment) bool { return m.motor == motion.Closing || m.motor == motion.Opening }},
	{"motor stopped", func(m moment) bool { return m.motor == motion.Stopped }},
	{"remote pressed", func(m moment) bool { return m.remote }},
	{"open-limit broken", func(m moment) bool { return !m.limit }},
	{"current above 12A", func(m moment) bool { return m.current > 12*signal.Ampere }},
	{"current above claim stall current / 2", func(m moment) bool { return m.current > 10*signal.Ampere }},
}

func anything(t *rapid.T, depth int) saying {
	if depth == 0 {
		return rapid.SampledFrom(simple).Draw(t, "simple")
	}
	switch rapid.IntRange(0, 3).Draw(t, "kind") {
	case 0:
		a := anything(t, depth-1)
		return saying{"not (" + a.text + ")", func(m moment) bool { return !a.true(m) }}
	case 1:
		a, b := anything(t, depth-1), anything(t, depth-1)
		return saying{"(" + a.text + ") and (" + b.text + ")", func(m moment) bool { return a.true(m) && b.true(m) }}
	case 2:
		a, b := anything(t, depth-1), anything(t, depth-1)
		return saying{"(" + a.text + ") or (" + b.text + ")", func(m moment) bool { return a.true(m) || b.true(m) }}
	}
	return anything(t, 0)
}

func holds(c rule.Condition, m moment) bool {
	for _, clause := range c.Any {
		all := true
		for _, term := range clause {
			var is bool
			switch term.Kind {
			case rule.MotorIs:
				is = term.State == m.motor
			case rule.LineIs:
				made := m.remote
				if term.Line == signal.OpenLimit {
					made = m.limit
				}
				is = made == (term.Level == signal.Made)
			case rule.CurrentAbove:
				is = m.current > term.Current
			}
			all = all && is != term.Not
		}
		if all {
			return true
		}
	}
	return false
}

// Clauses mean what the words mean, at every moment.
func TestClausesMeanWhatTheWordsMean(t *testing.T) {
	var moments []moment
	for _, motor := range []motion.State{motion.Unknown, motion.Stopped, motion.Opening, motion.Closing} {
		for bits := range 4 {
			for _, amperes := range []signal.Current{0, 10, 11, 12, 13} {
				moments = append(moments, moment{motor, bits&1 > 0, bits&2 > 0, amperes * signal.Ampere})
			}
		}
	}
	rapid.Check(t, func(t *rapid.T) {
		s := anything(t, 3)
		c, bad := read(s.text)
		if len(bad) == 1 && strings.Contains(bad[0].Text, "too many cases") {
			return
		}
		require.Empty(t, bad, s.text)
		for _, m := range moments {
			require.Equal(t, s.true(m), holds(c, m), "%s at %+v", s.text, m)
		}
	})
}
