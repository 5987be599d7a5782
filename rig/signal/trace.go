package signal

// A Mark is a remark by the conductor at an instant: a step of the script begun,
// an obstacle met, the end of the script.
type Mark struct {
	At   Instant
	Text string
}

// A Trace is all that was seen in one trial, each kind in the order of time.
type Trace struct {
	Initial [LineCount]Level // the level of each line at the origin
	Edges   []EdgeSeen
	Samples []Sample
	Marks   []Mark
	End     Instant // nothing was seen after this
}

// Reset empties the trace and keeps its memory, so that a worker can use one
// trace for trial after trial.
func (t *Trace) Reset() {
	*t = Trace{Edges: t.Edges[:0], Samples: t.Samples[:0], Marks: t.Marks[:0]}
}

// Line gives what one line did, as a timeline of the edges' middle instants.
func (t *Trace) Line(l Line) Timeline {
	line := Timeline{Initial: t.Initial[l]}
	for _, e := range t.Edges {
		if e.Line == l {
			line.Edges = append(line.Edges, Edge{e.Span.Mid(), e.Level})
		}
	}
	return line
}
