package fault

import (
	"slices"

	"pintle/rig/signal"
)

// MostGaps is how many times a chattering contact opens while its line stays
// made. After that it rests: a timeline must end somewhere.
const MostGaps = 2048

// Bend gives in bent what the faults make of clean, applied in the order given: a
// line that no fault is on is copied. The slices in bent are used again; they
// must not share memory with those in clean.
//
// Bent edges up to an instant depend on nothing but the initial levels, the seed,
// the faults, and the clean edges up to that instant, so bending again with
// another future leaves what has happened as it was. Early and BreaksEarly are the
// exceptions: they look ahead, and bent edges up to an instant depend on the clean
// edges up to the By of all such faults after it. Initial levels never depend on
// edges.
//
// The faults must have passed Check.
func Bend(faults []Fault, seed uint64, clean, bent *[signal.LineCount]signal.Timeline) {
	for l := range clean {
		bent[l].Initial = clean[l].Initial
		bent[l].Edges = append(bent[l].Edges[:0], clean[l].Edges...)
	}
	for i, f := range faults {
		if bend := f.Kind.Info().bend; bend != nil {
			bend(f, &bent[f.Line], randomOf(seed, uint64(i), uint64(f.Line)))
		} else {
			bent[f.Line], bent[f.Other] = bent[f.Other], bent[f.Line]
		}
	}
}

func (f Fault) neverMake(t *signal.Timeline, _ random) {
	t.Initial, t.Edges = signal.Broken, t.Edges[:0]
}

func (f Fault) stayMade(t *signal.Timeline, _ random) {
	t.Initial, t.Edges = signal.Made, t.Edges[:0]
}

func (f Fault) stayBroken(t *signal.Timeline, _ random) {
	if i := slices.IndexFunc(t.Edges, breaks); i >= 0 {
		t.Edges = t.Edges[:i+1]
	}
}

func (f Fault) delay(t *signal.Timeline, _ random) {
	for i := range t.Edges {
		t.Edges[i].At = t.Edges[i].At.Add(f.By)
	}
}

func breaks(e signal.Edge) bool { return e.Level == signal.Broken }

// hasten moves edges to an earlier instant. An edge after the origin stays after
// it: what the line begins with is not for the future to say.
func (f Fault) hasten(t *signal.Timeline, _ random) {
	edges := t.Edges
	for i := range edges {
		at := max(edges[i].At-signal.Instant(f.By), min(edges[i].At, 1))
		if i > 0 {
			at = max(at, edges[i-1].At+1)
		}
		edges[i].At = at
	}
}

// chatter opens the contact at the end of every period that it has been made for.
func (f Fault) chatter(t *signal.Timeline, _ random) {
	w, clean := rewrite(t)
	w.stretches(clean, func(began, ends signal.Instant) {
		at := began
		for range MostGaps {
			at = at.Add(f.Every)
			if !w.open(at-signal.Instant(f.Gap), at, ends) {
				return
			}
		}
	})
	w.finish(t)
}

// dropout opens the contact once in every stretch of being made.
func (f Fault) dropout(t *signal.Timeline, _ random) {
	w, clean := rewrite(t)
	w.stretches(clean, func(began, ends signal.Instant) {
		w.open(began.Add(f.By), began.Add(f.By).Add(f.For), ends)
	})
	w.finish(t)
}

// A writer appends a line's new edges behind the old ones.
type writer struct {
	edges []signal.Edge
	old   int // how many edges are the old ones
	level signal.Level
}

// rewrite begins to write a timeline's edges anew, and gives the old ones to read
// meanwhile. They stay in place until finish.
func rewrite(t *signal.Timeline) (writer, []signal.Edge) {
	return writer{t.Edges, len(t.Edges), t.Initial}, t.Edges
}

// finish puts the new edges in the old ones' place.
func (w *writer) finish(t *signal.Timeline) {
	t.Edges = w.edges[:copy(w.edges, w.edges[w.old:])]
}

// put brings the line to a level at an instant, no earlier than its last edge.
// Levels of no duration are left out.
func (w *writer) put(at signal.Instant, level signal.Level) {
	if level == w.level {
		return
	}
	w.level = level
	if n := len(w.edges); n > w.old && w.edges[n-1].At >= at {
		w.edges = w.edges[:n-1]
		return
	}
	w.edges = append(w.edges, signal.Edge{At: at, Level: level})
}

// stretches copies the clean edges, and hands to fill each stretch in which the
// line is made: from its edge, or the origin, to the edge that ends it, or Never.
func (w *writer) stretches(clean []signal.Edge, fill func(began, ends signal.Instant)) {
	if w.level == signal.Made {
		fill(0, end(clean))
	}
	for i, e := range clean {
		w.put(e.At, e.Level)
		if e.Level == signal.Made {
			fill(e.At, end(clean[i+1:]))
		}
	}
}

// end is the instant of the next edge.
func end(rest []signal.Edge) signal.Instant {
	if len(rest) == 0 {
		return signal.Never
	}
	return rest[0].At
}

// open opens the contact from one instant to another, as far as the stretch goes,
// and says whether the stretch goes on.
func (w *writer) open(from, to, ends signal.Instant) bool {
	if from >= ends {
		return false
	}
	w.put(from, signal.Broken)
	if to >= ends {
		return false
	}
	w.put(to, signal.Made)
	return true
}
