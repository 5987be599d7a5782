package tracefile

import (
	"errors"
	"fmt"

	"pintle/rig/signal"
)

// A builder puts the rows of a file together to a trace. It holds the writer to
// the order of the layout, so that reading and writing again gives the same file.
type builder struct {
	trace *signal.Trace
	hand  func([]signal.Sample) // takes the samples instead of the trace; nil: the trace has them
	seen  kind
	level signal.Line // of the last level row
	ended bool
}

// take takes in a row group that is none of samples.
func (b *builder) take(g *group) error {
	line, text := 0, 0
	for i := range g.rows {
		k := g.kindDict[g.kinds[i]]
		r := row{kind: k, span: signal.Span{Early: signal.Instant(g.early[i]), Late: signal.Instant(g.early[i] + g.width[i])}}
		onLine, marked := k <= kindEdge, k == kindMark
		if g.hasCurrent[i] != 0 || (g.hasLine[i] != 0) != onLine || (g.hasMade[i] != 0) != onLine || (g.hasText[i] != 0) != marked {
			return fmt.Errorf("row %d: a %s has other columns than it must", i, kindNames[k])
		}
		if onLine {
			r.line = g.lineDict[g.lines[line]]
			if g.made[line] {
				r.level = signal.Made
			}
			line++
		}
		if marked {
			r.text = g.texts[text]
			text++
		}
		if err := b.row(r); err != nil {
			return fmt.Errorf("row %d: %w", i, err)
		}
	}
	return nil
}

// allSamples says whether a row group is one of samples.
func allSamples(g *group) bool {
	return len(g.kindDict) == 1 && g.kindDict[0] == kindSample
}

// samples takes in the first n samples of a group, of as many as have a current.
func (b *builder) samples(g *group, n, currents int) error {
	if !b.ended {
		return errors.New("samples come before the end of the other rows")
	}
	if len(g.lines)+len(g.made)+len(g.texts) != 0 || len(g.current) != currents {
		return errors.New("a sample has other columns than it must")
	}
	t := b.trace
	at := len(t.Samples)
	t.Samples = extend(t.Samples, n)
	s := t.Samples[at:]
	early, width, current := g.early[:len(s)], g.width[:len(s)], g.current[:len(s)] // one look at the bounds
	for i := range s {
		p := &s[i]
		p.From = signal.Instant(early[i])
		p.To = signal.Instant(early[i] + width[i])
		p.Current = signal.Current(current[i])
		if !reckoned(p) {
			return fmt.Errorf("a sample of %d µA from %d to %d ns is none that is reckoned with", current[i], early[i], p.To)
		}
	}
	if b.hand != nil {
		b.hand(s)
		t.Samples = t.Samples[:0]
	}
	return nil
}

// reckoned says that nothing can be made of a sample that has no room in an int64.
func reckoned(s *signal.Sample) bool {
	return s.Current.Within() && signal.Span{Early: s.From, Late: s.To}.Within()
}

// A row is one row that is not a sample.
type row struct {
	kind  kind
	span  signal.Span
	line  signal.Line
	level signal.Level
	text  string
}

// row takes in one row.
func (b *builder) row(r row) error {
	if r.kind < b.seen || b.ended || r.kind == kindSample {
		return fmt.Errorf("a %s is out of order", kindNames[r.kind])
	}
	if !r.span.Within() {
		return fmt.Errorf("a %s from %d to %d ns is none that is reckoned with", kindNames[r.kind], r.span.Early, r.span.Late)
	}
	b.seen = r.kind
	t := b.trace
	switch r.kind {
	case kindLevel:
		if r.line != b.level+1 || r.span != (signal.Span{}) {
			return fmt.Errorf("the level of %v is out of order", r.line)
		}
		b.level = r.line
		t.Initial[r.line] = r.level
	case kindEdge:
		t.Edges = append(t.Edges, signal.EdgeSeen{Line: r.line, Level: r.level, Span: r.span})
	case kindMark:
		if r.span.Early != r.span.Late {
			return errors.New("a mark has a width")
		}
		t.Marks = append(t.Marks, signal.Mark{At: r.span.Early, Text: r.text})
	case kindEnd:
		if r.span.Early != r.span.Late {
			return errors.New("the end has a width")
		}
		t.End = r.span.Early
		b.ended = true
	}
	return nil
}

// done says whether anything is missing.
func (b *builder) done() error {
	if !b.ended {
		return errors.New("the end is missing")
	}
	return nil
}
