package rig

import (
	"fmt"
	"time"

	"pintle/rig/signal"
)

// An owing is which edges the bench has still to report. A bench that loses one says
// nothing of it, and a controller that was never shown a press keeps every rule on what
// a press must not do: what was planned must be seen to have come, or the trial is void.
type owing struct {
	level   [signal.LineCount]signal.Level   // of each line, by the edges reported
	planned [signal.LineCount]signal.Instant // when the latest of them was meant to come
	due     [signal.LineCount]signal.Instant // when the next has to be there; Never: none is to come
	next    signal.Instant                   // the soonest of these
	doubted bool                             // it was not there at the last look
}

func (w *owing) reset() {
	*w = owing{next: signal.Never}
	w.forget()
}

// forget makes all instants count from a new origin.
func (w *owing) forget() {
	for l := range w.due {
		w.due[l], w.planned[l] = signal.Never, -signal.Never
	}
}

// emitted takes an edge that was reported.
func (w *owing) emitted(o *Observation) {
	w.level[o.Line], w.planned[o.Line] = o.Level, o.Planned
}

// expect works out when the next edge of a line has to be there, by what the line was
// told and when: the bench drops an edge to the level that the line has by then.
func (w *owing) expect(l signal.Line, told []signal.Edge, at signal.Instant, f *Facts) {
	w.due[l], w.doubted = signal.Never, false
	for _, e := range told {
		if e.At > w.planned[l] && e.Level != w.level[l] {
			w.due[l] = max(e.At, at.Add(f.Lead)).Add(f.Late + patience)
			break
		}
	}
	w.next = signal.Never
	for _, due := range w.due {
		w.next = min(w.next, due)
	}
}

// missing says which edge has not come, once it was looked for twice: a bench may lay
// an edge down between the look at its edges and the look at the clock.
func (w *owing) missing() *BenchTrouble {
	if !w.doubted {
		w.doubted = true
		return nil
	}
	for l, due := range w.due {
		if due == w.next {
			return &BenchTrouble{"edge-missing", fmt.Sprintf("the bench never reported that %v was %v: that was to be by %v at the latest",
				signal.Line(l), w.level[l].Not(), time.Duration(due))}
		}
	}
	return nil
}

// owe brings what the bench owes of a line up to date.
func (c *Conductor) owe(l signal.Line) {
	c.owed.expect(l, c.lines.told[l], c.lines.toldAt[l], &c.facts)
}

// overdue looks for edges that should have come.
func (c *Conductor) overdue() {
	if c.trouble == nil && c.at > c.owed.next {
		c.trouble = c.owed.missing()
	}
}
