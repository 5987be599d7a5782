package waveform

import (
	"sort"

	"pintle/rig/signal"
)

// A visitor takes what a trace holds, one thing at a time.
type visitor interface {
	edge(at signal.Instant, e *signal.EdgeSeen)
	sample(at signal.Instant, s *signal.Sample)
	mark(at signal.Instant, m *signal.Mark)
}

// visit gives a visitor everything in the order of time, by the instant that when
// makes of a span. At one instant marks come before edges and edges before samples,
// each kind in its own order: a remark tells what follows from it.
func visit(t *signal.Trace, when func(signal.Span) signal.Instant, v visitor) {
	edges := ordered(t.Edges, func(e *signal.EdgeSeen) signal.Instant { return when(e.Span) })
	samples := ordered(t.Samples, func(s *signal.Sample) signal.Instant { return when(signal.Span{Early: s.From, Late: s.To}) })
	marks := ordered(t.Marks, func(m *signal.Mark) signal.Instant { return m.At })
	for {
		e, eAt, anyEdge := edges.head()
		s, sAt, anySample := samples.head()
		m, mAt, anyMark := marks.head()
		switch {
		case anyMark && (!anyEdge || mAt <= eAt) && (!anySample || mAt <= sAt):
			v.mark(mAt, m)
			marks.next++
		case anyEdge && (!anySample || eAt <= sAt):
			v.edge(eAt, e)
			edges.next++
		case anySample:
			v.sample(sAt, s)
			samples.next++
		default:
			return
		}
	}
}

// A queue gives the items of a slice in the order of time.
type queue[T any] struct {
	items []T
	order []int // nil where the slice is in order already
	at    func(*T) signal.Instant
	next  int
}

// ordered makes a queue. The slice is left as it is.
func ordered[T any](items []T, at func(*T) signal.Instant) queue[T] {
	q := queue[T]{items: items, at: at}
	for i := 1; i < len(items); i++ {
		if at(&items[i]) < at(&items[i-1]) {
			q.order = make([]int, len(items))
			for j := range q.order {
				q.order[j] = j
			}
			sort.SliceStable(q.order, func(a, b int) bool { return at(&items[q.order[a]]) < at(&items[q.order[b]]) })
			break
		}
	}
	return q
}

// head gives the next item, without taking it.
func (q *queue[T]) head() (*T, signal.Instant, bool) {
	if q.next >= len(q.items) {
		return nil, 0, false
	}
	i := q.next
	if q.order != nil {
		i = q.order[i]
	}
	return &q.items[i], q.at(&q.items[i]), true
}
