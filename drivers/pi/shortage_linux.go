package pi

import "fmt"

// A shortage is how much has been told as lost.
type shortage struct {
	notes uint64
	edges uint64 // sensed ones, that the kernel threw away
}

// A counter counts what was lost, and knows whether the latest was after an instant.
type counter interface {
	Lost(instant int64) (all uint64, later bool)
	Unsensed(instant int64) (all uint64, later bool)
}

// of gives what there is to tell since it was last asked; nothing where the code is empty.
// What was lost before the instant is no concern of anybody's.
func (s *shortage) of(c counter, since int64) (code, text string) {
	edges, later := c.Unsensed(since)
	n := edges - s.edges
	if s.edges = edges; n > 0 && later {
		return "edges-lost", fmt.Sprintf("%d sensed edges were lost: they came faster than they were taken from the kernel's buffer", n)
	}
	notes, later := c.Lost(since)
	n = notes - s.notes
	if s.notes = notes; n > 0 && later {
		return "notes-lost", fmt.Sprintf("%d things that the hands saw were lost, as nobody took them in time", n)
	}
	return "", ""
}
