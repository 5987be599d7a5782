package rig

import (
	"slices"

	"pintle/rig/fault"
	"pintle/rig/gate"
	"pintle/rig/signal"
)

// futures keeps, for each line, what it would do (clean), what the faults make of
// that (bent), and what the bench has been told. Both timelines reach back to the
// origin: a fault bends the whole of a line's story, so that a burst or a delay
// that has begun goes on when the future changes.
type futures struct {
	clean, bent [signal.LineCount]signal.Timeline
	told        [signal.LineCount][]signal.Edge
	toldAt      [signal.LineCount]signal.Instant
	scripted    signal.LineSet // lines that the script has taken over from the gate
	scratch     []signal.Edge
}

func (f *futures) reset() {
	for l := range f.clean {
		f.clean[l] = signal.Timeline{Edges: f.clean[l].Edges[:0]}
		f.told[l] = f.told[l][:0]
		f.toldAt[l] = 0
	}
	f.scripted = 0
}

// drive replaces what is to come on a line from an instant on by edges that the
// script asks for.
func (f *futures) drive(l signal.Line, edges ...signal.Edge) {
	t := &f.clean[l]
	cut(t, edges[0].At-1)
	for _, e := range edges {
		put(t, e)
	}
}

// follow replaces what is to come on the gate's lines after an instant by what
// the gate says. Where the gate turns out to have been elsewhere than was thought,
// the line is put right at once.
func (f *futures) follow(g *gate.Model, now signal.Instant) {
	for _, l := range g.Lines() {
		if f.scripted.Has(l) {
			continue
		}
		t := &f.clean[l]
		cut(t, now)
		put(t, signal.Edge{At: now, Level: g.Level(l, now)})
		f.scratch = g.Crossings(l, now, f.scratch[:0])
		for _, e := range f.scratch {
			put(t, e)
		}
	}
}

// cut forgets the edges after an instant.
func cut(t *signal.Timeline, after signal.Instant) {
	n := len(t.Edges)
	for n > 0 && t.Edges[n-1].At > after {
		n--
	}
	t.Edges = t.Edges[:n]
}

// put appends an edge, later than the last one and only if it changes something.
func put(t *signal.Timeline, e signal.Edge) {
	level := t.Initial
	if n := len(t.Edges); n > 0 {
		level = t.Edges[n-1].Level
		e.At = max(e.At, t.Edges[n-1].At+1)
	}
	if e.Level != level {
		t.Edges = append(t.Edges, e)
	}
}

// bend lets the faults at the lines.
func (f *futures) bend(faults []fault.Fault, seed uint64) {
	fault.Bend(faults, seed, &f.clean, &f.bent)
}

// news gives what a line has to be told at an instant: the level that it should
// have, then all edges to come; nothing where that is what it was told before.
func (f *futures) news(l signal.Line, now signal.Instant) ([]signal.Edge, bool) {
	t := f.bent[l]
	i := 0
	for i < len(t.Edges) && t.Edges[i].At <= now {
		i++
	}
	level := t.Level(now)
	if level == f.toldLevel(l, now) && slices.Equal(t.Edges[i:], toCome(f.told[l], now)) {
		return nil, false
	}
	f.told[l] = append(f.told[l][:0], signal.Edge{At: now, Level: level})
	f.told[l] = append(f.told[l], t.Edges[i:]...)
	f.toldAt[l] = now
	return f.told[l], true
}

// toldLevel is the level that the line has at an instant by what it was told.
func (f *futures) toldLevel(l signal.Line, now signal.Instant) signal.Level {
	return signal.Timeline{Edges: f.told[l]}.Level(now)
}

func toCome(edges []signal.Edge, now signal.Instant) []signal.Edge {
	for len(edges) > 0 && edges[0].At <= now {
		edges = edges[1:]
	}
	return edges
}
