package hands

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pintle/drivers/pi/lines"
	"pintle/rig/signal"
)

// A scripted sensor gives these edges, and reads these levels.
type scripted struct {
	edges  []lines.Edge
	levels uint64
}

func (s *scripted) Levels() (uint64, error) { return s.levels, nil }

func (s *scripted) Take(e *lines.Edge) (bool, error) {
	if len(s.edges) == 0 {
		return false, nil
	}
	*e, s.edges = s.edges[0], s.edges[1:]
	return true, nil
}

// both is the two sides of a desk, in one process.
func both(s sensor) (*hand, *Hands) {
	d := &desk{}
	return &hand{clock: newClock(), desk: d, inputs: s, notices: make(chan Notice, 1),
			c: Config{Inputs: []Wire{{Line: signal.DriveOpen}, {Line: signal.DriveClose, Rest: true}}}},
		&Hands{desk: d, notice: make(chan Notice, 1)}
}

// What a sensed line is at is known also where nobody took its edges, and where the
// kernel threw them away.
func TestSensedLevels(t *testing.T) {
	s := &scripted{levels: 0b11} // the second one is closed at rest
	h, c := both(s)
	require.NoError(t, h.lookAgain())
	require.Equal(t, signal.SetOf(signal.DriveOpen), c.Forget())

	s.edges = []lines.Edge{{Line: 0, Level: false, At: 10}, {Line: 1, Level: false, At: 20}}
	require.NoError(t, h.sense())
	require.Equal(t, signal.SetOf(signal.DriveClose), c.Forget())
	var n Note
	require.False(t, c.Line(&n), "forgotten")

	s.edges, s.levels = []lines.Edge{{Line: 0, Level: false, At: 30, Lost: 7}}, 0b11
	require.NoError(t, h.sense())
	for since, later := range map[int64]bool{29: true, 30: false} {
		lost, is := c.Unsensed(since)
		require.EqualValues(t, 7, lost)
		require.Equal(t, later, is, "lost by 30, as asked at %d", since)
	}
	require.Equal(t, signal.SetOf(signal.DriveOpen), c.Forget(), "by another look at the lines")
}

// What was lost before an edge is counted by the time that the edge can be taken: a trial
// may be over with that edge.
func TestALossIsCountedBeforeTheEdgeAfterIt(t *testing.T) {
	const n = 200_000
	s := &scripted{}
	h, c := both(s)
	ended := make(chan error)
	go func() {
		for at := range int64(n) {
			s.edges = append(s.edges[:0], lines.Edge{Level: at%2 == 0, At: at, Lost: 1})
			if err := h.sense(); err != nil {
				ended <- err
				return
			}
		}
		ended <- nil
	}()
	for {
		select {
		case err := <-ended:
			require.NoError(t, err)
			return
		default:
		}
		var note Note
		if c.Line(&note) {
			if lost, _ := c.Unsensed(0); lost <= uint64(note.Span.Early) {
				t.Fatalf("the edge at %d is there, and of what was lost before it %d only", note.Span.Early, lost)
			}
		}
	}
}

// A full ring counts what it loses, and when that was.
func TestAFullRingTellsWhenItLost(t *testing.T) {
	_, c := both(nil)
	for i := range int64(ringNotes + 2) {
		c.desk.meter.put(&note{arrived: i}, i)
	}
	for since, later := range map[int64]bool{ringNotes: true, ringNotes + 1: false} {
		lost, is := c.Lost(since)
		require.EqualValues(t, 2, lost)
		require.Equal(t, later, is)
	}
	c.Forget()
	c.desk.meter.put(&note{arrived: 1 << 20}, 1<<20)
	var n Note
	require.True(t, c.Sample(&n))
	require.EqualValues(t, 1<<20, n.Arrived, "the first one after")
	lost, _ := c.Lost(0)
	require.EqualValues(t, 2, lost)
}

// Words are on their way until they have come, or are known not to.
func TestWordsOnTheirWay(t *testing.T) {
	h, c := both(nil)
	require.False(t, c.Speaking())
	h.notice(Notice{Code: "odd", At: 5})
	require.True(t, c.Speaking())
	h.notice(Notice{Code: "odd", At: 6})
	lost, later := c.Lost(5)
	require.EqualValues(t, 1, lost, "there was no room")
	require.True(t, later)
	require.True(t, c.Speaking(), "of the first one")
	c.hears(<-h.notices)
	require.False(t, c.Speaking())
	h.notice(Notice{Code: "odd", At: 7})
	require.True(t, c.Speaking())
	c.hears(<-h.notices)
	require.False(t, c.Speaking())
	lost, _ = c.Lost(6)
	require.EqualValues(t, 2, lost, "and nobody had taken the one before")
}
