package virtual

import (
	"fmt"

	"pintle/rig"
	"pintle/rig/signal"
)

// A wire is one line: its level, and its future.
type wire struct {
	level signal.Level
	last  signal.Instant   // of its latest edge
	edges []signal.Edge    // as they will happen
	meant []signal.Instant // when each was meant to
	next  int              // the first that has not happened
}

func (w *wire) reset() {
	*w = wire{last: -1, edges: w.edges[:0], meant: w.meant[:0]}
}

// plan takes a future on. Edges that are due already happen now, one after the
// other a nanosecond apart, so that none is lost and time still rises.
func (w *wire) plan(now signal.Instant, future []signal.Edge) {
	w.edges, w.meant, w.next = w.edges[:0], w.meant[:0], 0
	level, last := w.level, w.last
	for _, e := range future {
		if e.Level == level {
			continue
		}
		at := max(e.At, now, last+1)
		w.edges = append(w.edges, signal.Edge{At: at, Level: e.Level})
		w.meant = append(w.meant, e.At)
		level, last = e.Level, at
	}
}

// due is when the next edge comes.
func (w *wire) due() signal.Instant {
	if w.next < len(w.edges) {
		return w.edges[w.next].At
	}
	return signal.Never
}

// Plan replaces the future of a line. An edge that is due already happens now.
func (b *Bench) Plan(line signal.Line, future []signal.Edge) error {
	if err := b.plannable(line, future); err != nil {
		return fmt.Errorf("virtual bench: planning %d edges on %v: %w", len(future), line, err)
	}
	w := &b.lines[line]
	w.plan(b.now, future)
	b.controller.Plan(line, b.now, signal.Timeline{Initial: w.level, Edges: w.edges})
	b.findEdge()
	return nil
}

func (b *Bench) plannable(line signal.Line, future []signal.Edge) error {
	switch {
	case b.closed:
		return errClosed
	case line == signal.NoLine || line >= signal.LineCount || !b.c.Lines.Has(line):
		return fmt.Errorf("this bench has no line %v", line)
	case !line.Info().Driven:
		return fmt.Errorf("the controller drives %v, the bench only sees it", line)
	}
	for i, e := range future {
		if e.Level > signal.Made {
			return fmt.Errorf("edge %d at %v goes to level %d, which is neither made nor broken", i, e.At, e.Level)
		}
		if i > 0 && e.At <= future[i-1].At {
			return fmt.Errorf("edge %d at %v is not after the one before it at %v", i, e.At, future[i-1].At)
		}
	}
	return nil
}

// Safe takes the supply off, releases all lines and forgets every plan.
func (b *Bench) Safe() error {
	if b.closed {
		return nil
	}
	for l := signal.NoLine + 1; l < signal.LineCount; l++ {
		if !b.c.Lines.Has(l) || !l.Info().Driven {
			continue
		}
		release := [1]signal.Edge{{At: b.now, Level: signal.Broken}}
		if err := b.Plan(l, release[:]); err != nil {
			return err
		}
	}
	return nil
}

func (b *Bench) findEdge() {
	b.edgeAt, b.edgeLine = signal.Never, signal.NoLine
	for l := range b.lines {
		if at := b.lines[l].due(); at < b.edgeAt {
			b.edgeAt, b.edgeLine = at, signal.Line(l)
		}
	}
}

// emit makes the edge that is due.
func (b *Bench) emit() rig.Observation {
	line := b.edgeLine
	w := &b.lines[line]
	e, meant := w.edges[w.next], w.meant[w.next]
	w.next++
	w.level, w.last = e.Level, e.At
	b.findEdge()
	switch line {
	case signal.Supply, signal.SupplyDip, signal.SupplySag, signal.LeadCut:
		b.bridge()
	case signal.MotorShort:
		b.motor.short(b.now, e.Level == signal.Made)
	case signal.DragLoad:
		b.motor.drag(b.now, e.Level == signal.Made)
	case signal.StallLoad:
		b.motor.lock(b.now, e.Level == signal.Made)
	}
	return rig.Observation{Kind: rig.Emitted, Line: line, Level: e.Level, Span: signal.At(e.At), Planned: meant}
}
