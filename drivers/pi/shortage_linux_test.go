package pi

import (
	"testing"

	"github.com/stretchr/testify/require"
)

// A tally is what was lost, and when the latest.
type tally struct {
	notes, edges     uint64
	notesAt, edgesAt int64
}

func (t tally) Lost(i int64) (uint64, bool)     { return t.notes, t.notes > 0 && t.notesAt > i }
func (t tally) Unsensed(i int64) (uint64, bool) { return t.edges, t.edges > 0 && t.edgesAt > i }

// Edges that the kernel threw away, and notes that nobody took, are told each time that
// there are more, unless they were lost before the trial.
func TestWhatIsShortIsTold(t *testing.T) {
	var s shortage
	for n, c := range []struct {
		tally
		since int64
		code  string
		says  string
	}{
		{tally{}, 0, "", ""},
		{tally{edges: 3, edgesAt: 10}, 10, "", ""},
		{tally{edges: 3, edgesAt: 10}, 0, "", ""}, // passed over before
		{tally{edges: 5, edgesAt: 20}, 19, "edges-lost", "2 sensed edges"},
		{tally{edges: 5, edgesAt: 20}, 19, "", ""},
		{tally{edges: 6, edgesAt: 30, notes: 4, notesAt: 30}, 19, "edges-lost", "1 sensed edges"},
		{tally{edges: 6, edgesAt: 30, notes: 4, notesAt: 30}, 19, "notes-lost", "4 things"},
		{tally{edges: 6, edgesAt: 30, notes: 4, notesAt: 30}, 19, "", ""},
		{tally{edges: 6, edgesAt: 30, notes: 5, notesAt: 40}, 40, "", ""},
	} {
		code, text := s.of(c.tally, c.since)
		require.Equal(t, c.code, code, "step %d", n)
		require.Contains(t, text, c.says, "step %d", n)
	}
}
