package tracefile

import (
	"cmp"
	"encoding/binary"

	"github.com/parquet-go/parquet-go/format"

	"pintle/rig/signal"
)

// writeSamples writes a row group of samples.
func (w *Writer) writeSamples(s []signal.Sample) {
	w.beginGroup(len(s))

	w.beginChunk(colKind, format.Plain, format.RLEDictionary)
	w.raw = appendText(w.raw[:0], kindNames[kindSample])
	w.dictPage(1)
	w.pages(len(s), format.RLEDictionary, func(from, to int) { w.raw = appendZeroIndexes(w.raw, to-from) })
	w.endChunk()

	w.deltas(colEarly, len(s), func(i int) int64 { return int64(s[i].From) })
	w.deltas(colWidth, len(s), func(i int) int64 { return int64(s[i].To - s[i].From) })
	w.nulls(colLine, len(s))
	w.nulls(colMade, len(s))
	w.currents(s)
	w.nulls(colText, len(s))
}

// pages writes n rows in pages; fill adds the rows of one page to w.raw.
func (w *Writer) pages(n int, enc format.Encoding, fill func(from, to int)) {
	size := cmp.Or(w.cut[w.col], pageRows)
	for from := 0; from < n; from += size {
		to := min(from+size, n)
		w.raw = w.raw[:0]
		fill(from, to)
		w.dataPage(to-from, enc)
	}
}

// nulls writes a column that has no value in this row group.
func (w *Writer) nulls(col, n int) {
	w.beginChunk(col, format.Plain)
	w.pages(n, format.Plain, func(from, to int) { w.raw = appendSameLevel(w.raw, to-from, false) })
	w.endChunk()
}

// deltas writes a column of integers that has no nulls.
func (w *Writer) deltas(col, n int, at func(int) int64) {
	w.beginChunk(col, format.DeltaBinaryPacked)
	w.pages(n, format.DeltaBinaryPacked, func(from, to int) { w.deltaPage(from, to, at) })
	w.endChunk()
}

// deltaPage adds integers to the page.
func (w *Writer) deltaPage(from, to int, at func(int) int64) {
	w.ints = w.ints[:0]
	for i := from; i < to; i++ {
		w.ints = append(w.ints, at(i))
	}
	w.scratch, _ = deltaEncoding.EncodeInt64(w.scratch, w.ints)
	w.raw = append(w.raw, w.scratch...)
}

// currents writes the column of currents. A meter has few different readings, so
// a dictionary serves best; where it does not, differences do.
func (w *Writer) currents(s []signal.Sample) {
	if !w.number(s) {
		w.beginChunk(colCurrent, format.DeltaBinaryPacked)
		w.pages(len(s), format.DeltaBinaryPacked, func(from, to int) {
			w.raw = appendSameLevel(w.raw, to-from, true)
			w.deltaPage(from, to, func(i int) int64 { return int64(s[i].Current) })
		})
		w.endChunk()
		return
	}
	w.beginChunk(colCurrent, format.Plain, format.RLEDictionary)
	w.raw = w.raw[:0]
	for _, v := range w.dict.values {
		w.raw = binary.LittleEndian.AppendUint64(w.raw, uint64(v))
	}
	w.dictPage(len(w.dict.values))
	w.pages(len(s), format.RLEDictionary, func(from, to int) {
		w.raw = appendSameLevel(w.raw, to-from, true)
		w.scratch, _ = indexEncoding.EncodeInt32(w.scratch, w.indexes[from:to])
		w.raw = append(w.raw, w.scratch...)
	})
	w.endChunk()
}

// number fills w.dict and w.indexes, unless there are too many different values.
func (w *Writer) number(s []signal.Sample) bool {
	w.dict.reset()
	w.indexes = w.indexes[:0]
	for i := range s {
		w.indexes = append(w.indexes, w.dict.index(int64(s[i].Current)))
		if len(w.dict.values) > maxDict {
			return false
		}
	}
	return true
}
