package tracefile

import (
	"github.com/parquet-go/parquet-go/format"

	"pintle/rig/signal"
)

// events are the rows of a trace besides its samples, column by column. The
// indexes of lines count from the first line.
type events struct {
	kinds        []int32
	early, width []int64
	lines        []int32 // of the rows that have one
	made         []bool  // likewise
	texts        []string
}

// add takes in one row.
func (e *events) add(k kind, span signal.Span) {
	e.kinds = append(e.kinds, int32(k))
	e.early = append(e.early, int64(span.Early))
	e.width = append(e.width, int64(span.Late-span.Early))
}

// fill takes in a trace.
func (e *events) fill(t *signal.Trace) {
	*e = events{e.kinds[:0], e.early[:0], e.width[:0], e.lines[:0], e.made[:0], e.texts[:0]}
	for l := signal.Line(1); l < signal.LineCount; l++ {
		e.add(kindLevel, signal.Span{})
		e.lines = append(e.lines, int32(l-1))
		e.made = append(e.made, t.Initial[l] == signal.Made)
	}
	for _, edge := range t.Edges {
		e.add(kindEdge, edge.Span)
		e.lines = append(e.lines, int32(edge.Line-1))
		e.made = append(e.made, edge.Level == signal.Made)
	}
	for _, m := range t.Marks {
		e.add(kindMark, signal.At(m.At))
		e.texts = append(e.texts, m.Text)
	}
	e.add(kindEnd, signal.At(t.End))
}

// hasLine and hasText say which rows have a value in the optional columns.
func (e *events) hasLine(i int) bool { return kind(e.kinds[i]) <= kindEdge }
func (e *events) hasText(i int) bool { return kind(e.kinds[i]) == kindMark }

// writeEvents writes all rows but the samples.
func (w *Writer) writeEvents(t *signal.Trace) {
	w.events.fill(t)
	all := &w.events
	firstLine, firstText := 0, 0
	for from := 0; from < len(all.kinds); from += groupRows {
		to := min(from+groupRows, len(all.kinds))
		lines, texts := 0, 0
		for i := from; i < to; i++ {
			if all.hasLine(i) {
				lines++
			}
			if all.hasText(i) {
				texts++
			}
		}
		w.writeEventGroup(&events{
			all.kinds[from:to], all.early[from:to], all.width[from:to],
			all.lines[firstLine : firstLine+lines], all.made[firstLine : firstLine+lines],
			all.texts[firstText : firstText+texts],
		})
		firstLine, firstText = firstLine+lines, firstText+texts
	}
	clear(w.events.texts) // the texts belong to the trace
}

// writeEventGroup writes one row group of events.
func (w *Writer) writeEventGroup(e *events) {
	n := len(e.kinds)
	w.beginGroup(n)

	w.beginChunk(colKind, format.Plain, format.RLEDictionary)
	w.names(len(kindNames), func(i int) string { return kindNames[i] })
	w.pages(n, format.RLEDictionary, func(from, to int) { w.indexPage(e.kinds[from:to]) })
	w.endChunk()

	w.deltas(colEarly, n, func(i int) int64 { return e.early[i] })
	w.deltas(colWidth, n, func(i int) int64 { return e.width[i] })

	w.beginChunk(colLine, format.Plain, format.RLEDictionary)
	w.names(len(signal.Lines), func(i int) string { return signal.Lines[i].Name })
	w.optional(n, format.RLEDictionary, e.hasLine, func(first, last int) { w.indexPage(e.lines[first:last]) })
	w.endChunk()

	w.beginChunk(colMade, format.Plain)
	w.optional(n, format.Plain, e.hasLine, func(first, last int) { w.raw = appendBits(w.raw, e.made[first:last]) })
	w.endChunk()

	w.nulls(colCurrent, n)

	w.beginChunk(colText, format.Plain)
	w.optional(n, format.Plain, e.hasText, func(first, last int) {
		for _, s := range e.texts[first:last] {
			w.raw = appendText(w.raw, s)
		}
	})
	w.endChunk()
}

// names writes a dictionary of names.
func (w *Writer) names(n int, name func(int) string) {
	w.raw = w.raw[:0]
	for i := range n {
		w.raw = appendText(w.raw, name(i))
	}
	w.dictPage(n)
}

// indexPage adds dictionary indexes to the page.
func (w *Writer) indexPage(indexes []int32) {
	w.scratch, _ = indexEncoding.EncodeInt32(w.scratch, indexes)
	w.raw = append(w.raw, w.scratch...)
}

// optional writes pages of a column with nulls; fill adds the values from first to
// last, counted among those that are not null.
func (w *Writer) optional(n int, enc format.Encoding, present func(int) bool, fill func(first, last int)) {
	first := 0
	w.pages(n, enc, func(from, to int) {
		last := first
		for i := from; i < to; i++ {
			if present(i) {
				last++
			}
		}
		w.raw = appendLevels(w.raw, to-from, func(i int) bool { return present(from + i) })
		fill(first, last)
		first = last
	})
}
