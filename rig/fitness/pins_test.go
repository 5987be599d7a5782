package fitness_test

import (
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pintle/rig"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// A mirror is a bench whose pins can be read, and are held or shorted as a test likes.
type mirror struct {
	rig.Bench
	made signal.LineSet
	held func(signal.LineSet) (signal.LineSet, error)
}

func (m *mirror) Unwrap() rig.Bench { return m.Bench }

func (m *mirror) Pins() (signal.LineSet, error) { return m.held(m.made) }

func (m *mirror) Safe() error { m.made = 0; return m.Bench.Safe() }

func (m *mirror) Next(until signal.Instant) (rig.Observation, error) {
	o, err := m.Bench.Next(until)
	if o.Kind == rig.Emitted {
		m.made &^= signal.SetOf(o.Line)
		if o.Level == signal.Made {
			m.made |= signal.SetOf(o.Line)
		}
	}
	return o, err
}

// Where a bench can read its own pins, a line that is held at either level is found, and so
// are two that touch; one that cannot be read is no pass.
func TestPinsAreReadBack(t *testing.T) {
	beam, remote := signal.SetOf(signal.Beam), signal.SetOf(signal.Remote)
	for name, c := range map[string]struct {
		held func(signal.LineSet) (signal.LineSet, error)
		want rule.Verdict
		says string
	}{
		"free":              {func(m signal.LineSet) (signal.LineSet, error) { return m, nil }, rule.Pass, "followed both ways"},
		"held broken":       {func(m signal.LineSet) (signal.LineSet, error) { return m &^ beam, nil }, rule.Fail, "to be made"},
		"held made":         {func(m signal.LineSet) (signal.LineSet, error) { return m | beam, nil }, rule.Fail, "to be broken"},
		"touching another":  {func(m signal.LineSet) (signal.LineSet, error) { return touch(m, beam, remote), nil }, rule.Fail, "pin of remote was made"},
		"not to be read":    {func(signal.LineSet) (signal.LineSet, error) { return 0, errors.New("no") }, rule.Inconclusive, "nothing reads this line back"},
		"supply seen to be": {func(m signal.LineSet) (signal.LineSet, error) { return m | signal.SetOf(signal.Supply), nil }, rule.Fail, "pin of supply"},
	} {
		t.Run(name, func(t *testing.T) {
			b, s := open(t, config())
			r := run(t, &mirror{Bench: b, held: c.held}, s)
			part, ok := r.Result("line beam")
			require.True(t, ok)
			require.Equal(t, c.want, part.Verdict, part.Reason)
			require.Contains(t, part.Reason, c.says)
			other, _ := r.Result("line open-limit")
			if !strings.HasPrefix(name, "supply") && name != "held made" {
				require.NotEqual(t, rule.Fail, other.Verdict, other.Reason)
			}
		})
	}
}

func touch(made, a, b signal.LineSet) signal.LineSet {
	if made&(a|b) != 0 {
		made |= a | b
	}
	return made
}
