package signal

import "fmt"

// An Edge is a change of one line's level at a planned instant.
type Edge struct {
	At    Instant
	Level Level
}

// A Timeline is all that one line does: the level that it begins with, then its
// edges, strictly rising in time and alternating in level.
type Timeline struct {
	Initial Level
	Edges   []Edge
}

// Level gives the level at an instant; an edge counts from its own instant on.
func (t Timeline) Level(at Instant) Level {
	v := t.Initial
	for _, e := range t.Edges {
		if e.At > at {
			break
		}
		v = e.Level
	}
	return v
}

// Check reports the first edge that is out of order or changes nothing.
func (t Timeline) Check() error {
	v, last := t.Initial, Instant(-1<<63)
	for i, e := range t.Edges {
		if e.At <= last {
			return fmt.Errorf("edge %d at %v is not after the one before it at %v", i, e.At, last)
		}
		if e.Level == v {
			return fmt.Errorf("edge %d at %v changes nothing: the line is already %v", i, e.At, v)
		}
		v, last = e.Level, e.At
	}
	return nil
}

// An EdgeSeen is an edge that happened: planned is data for the conductor, this
// is evidence.
type EdgeSeen struct {
	Line  Line
	Level Level
	Span  Span
}
