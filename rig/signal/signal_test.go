package signal_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig/signal"
)

func TestLinesStandInTheOrderOfTheirNumbers(t *testing.T) {
	require.Len(t, signal.Lines, signal.LineCount-1)
	for i, info := range signal.Lines {
		assert.Equal(t, signal.Line(i+1), info.Line, info.Name)
		found, ok := signal.LineNamed(info.Name)
		assert.True(t, ok, info.Name)
		assert.Equal(t, info.Line, found, info.Name)
		assert.Equal(t, info.Name, info.Line.String())
	}
	_, ok := signal.LineNamed("no such line")
	assert.False(t, ok)
	assert.Equal(t, "line 99", signal.Line(99).String(), "a number from a newer record is still printed")
}

func TestTimelineLevelCountsAnEdgeFromItsOwnInstant(t *testing.T) {
	line := signal.Timeline{Edges: []signal.Edge{{At: 10, Level: signal.Made}, {At: 20, Level: signal.Broken}}}
	for at, want := range map[signal.Instant]signal.Level{
		9: signal.Broken, 10: signal.Made, 19: signal.Made, 20: signal.Broken,
	} {
		assert.Equal(t, want, line.Level(at), "at %d ns", at)
	}
}

func TestTimelineCheck(t *testing.T) {
	good := signal.Timeline{Edges: []signal.Edge{{At: 1, Level: signal.Made}, {At: 2, Level: signal.Broken}}}
	require.NoError(t, good.Check())
	for name, bad := range map[string]signal.Timeline{
		"same instant twice": {Edges: []signal.Edge{{At: 1, Level: signal.Made}, {At: 1, Level: signal.Broken}}},
		"back in time":       {Edges: []signal.Edge{{At: 2, Level: signal.Made}, {At: 1, Level: signal.Broken}}},
		"no change at first": {Initial: signal.Made, Edges: []signal.Edge{{At: 1, Level: signal.Made}}},
		"no change later":    {Edges: []signal.Edge{{At: 1, Level: signal.Made}, {At: 2, Level: signal.Made}}},
	} {
		require.Error(t, bad.Check(), name)
	}
}

func TestSpan(t *testing.T) {
	s := signal.Span{Early: 10, Late: 14}
	assert.Equal(t, signal.Instant(12), s.Mid())
	assert.Equal(t, 4*time.Nanosecond, s.Width())
	assert.True(t, s.Before(signal.At(14)), "the same instant still counts as before")
	assert.False(t, s.Before(signal.At(13)))
	assert.Equal(t, signal.Never, signal.Never.Add(time.Hour), "never stays never")
}

func TestTraceLineTellsOneLineApart(t *testing.T) {
	trace := &signal.Trace{Edges: []signal.EdgeSeen{
		{Line: signal.Remote, Level: signal.Made, Span: signal.At(5)},
		{Line: signal.OpenLimit, Level: signal.Made, Span: signal.Span{Early: 6, Late: 8}},
		{Line: signal.Remote, Level: signal.Broken, Span: signal.At(9)},
	}}
	assert.Equal(t, []signal.Edge{{At: 7, Level: signal.Made}}, trace.Line(signal.OpenLimit).Edges)
	assert.Len(t, trace.Line(signal.Remote).Edges, 2)
	trace.Reset()
	assert.Empty(t, trace.Edges)
}
