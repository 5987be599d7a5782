package fitness

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/rig"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// What is read back is the right line's edge to the right level, sensed no sooner than what
// it answers and no later than it may.
func TestSensedIsTheRightEdge(t *testing.T) {
	right := rig.Observation{Kind: rig.Sensed, Line: signal.DriveOpen, Level: signal.Made, Span: signal.At(1000)}
	for name, c := range map[string]struct {
		change func(o *rig.Observation)
		lag    time.Duration
		ok     bool
	}{
		"it":                       {func(*rig.Observation) {}, 100, true},
		"at once":                  {func(o *rig.Observation) { o.Span = signal.At(900) }, 0, true},
		"before":                   {func(o *rig.Observation) { o.Span = signal.At(899) }, 0, false},
		"as late as it may":        {func(o *rig.Observation) { o.Span = signal.At(1100) }, 200, true},
		"later":                    {func(o *rig.Observation) { o.Span = signal.At(1101) }, 0, false},
		"emitted":                  {func(o *rig.Observation) { o.Kind = rig.Emitted }, 0, false},
		"of another line":          {func(o *rig.Observation) { o.Line = signal.DriveClose }, 0, false},
		"to the other level":       {func(o *rig.Observation) { o.Level = signal.Broken }, 0, false},
		"of another line and late": {func(o *rig.Observation) { o.Line, o.Span = signal.DriveClose, signal.At(5000) }, 0, false},
	} {
		o := right
		c.change(&o)
		s := &session{}
		s.edges = []rig.Observation{o}
		lag, ok := s.sensed(signal.DriveOpen, signal.Made, 900, 200)
		require.Equal(t, c.ok, ok, name)
		require.Equal(t, c.lag, lag, name)
	}
}

// The longest time that a line took to be read back is told, whichever edge it was of.
func TestTheLongestReadBackIsTold(t *testing.T) {
	for _, lags := range [][2]signal.Instant{{3, 7}, {7, 3}} {
		s := &session{}
		edges := []signal.Edge{{At: 1000, Level: signal.Made}, {At: 2000, Level: signal.Broken}}
		for i, e := range edges {
			s.edges = append(s.edges, rig.Observation{Kind: rig.Emitted, Line: signal.Beam, Level: e.Level, Planned: e.At, Span: signal.At(e.At)},
				rig.Observation{Kind: rig.Sensed, Line: signal.DriveOpen, Level: e.Level, Span: signal.At(e.At + lags[i])})
		}
		var r Result
		s.readBack(&r, Pair{Output: signal.Beam, Input: signal.DriveOpen, Within: 10}, edges)
		require.Equal(t, rule.Pass, r.Verdict, r.Reason)
		require.Equal(t, int64(7), r.Figures[0].Value)
		s.edges = s.edges[:3] // the second was never read back
		s.readBack(&r, Pair{Output: signal.Beam, Input: signal.DriveOpen, Within: 10}, edges)
		require.Equal(t, rule.Fail, r.Verdict)
	}
}

// A shot of which the bench did not tell both edges measures nothing, and says so.
func TestAShotThatTheBenchDidNotTellOf(t *testing.T) {
	step := rig.Observation{Kind: rig.Emitted, Line: signal.StallLoad, Level: signal.Made, Planned: 100, Span: signal.At(100)}
	off := rig.Observation{Kind: rig.Emitted, Line: signal.Supply, Level: signal.Broken, Planned: 200, Span: signal.At(200)}
	for name, c := range map[string]struct {
		edges []rig.Observation
		told  bool
	}{
		"both": {[]rig.Observation{step, off}, true}, "no step": {[]rig.Observation{off}, false}, "never off": {[]rig.Observation{step}, false}, "neither": {nil, false},
	} {
		s, h := &session{}, &shot{step: 100, off: 200}
		s.edges = c.edges
		require.NoError(t, s.see(h, Step{Line: signal.StallLoad}))
		require.Equal(t, !c.told, h.trouble == "the bench never said that stall-load or supply had been switched", "%s: %s", name, h.trouble)
		if !c.told {
			require.Zero(t, h.edge)
			require.Zero(t, h.fell)
		}
	}
}
