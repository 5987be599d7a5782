package tracefile

import (
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"sync"
	"unicode/utf8"

	"github.com/klauspost/compress/zstd"
	"github.com/parquet-go/parquet-go/encoding/thrift"
	"github.com/parquet-go/parquet-go/format"

	"pintle/rig/signal"
)

// A Writer writes traces, one file each, and keeps its buffers from one to the
// next. It works at zero and is used by one goroutine.
type Writer struct {
	dst     io.Writer
	offset  int64
	zstd    *zstd.Encoder
	protect error // the first error of dst; writing stops there

	footer  format.FileMetaData
	chunk   *format.ColumnChunk
	col     int   // whose it is
	begun   int64 // where it began
	header  bytes.Buffer
	raw     []byte
	packed  []byte
	scratch []byte

	dict    dictionary
	ints    []int64
	indexes []int32
	events  events

	cut [columnCount]int // rows of a page; 0 is pageRows
}

var writers = sync.Pool{New: func() any { return new(Writer) }}

// Write writes the trace as one file. It is safe for use by many goroutines.
func Write(w io.Writer, t *signal.Trace) error {
	tw := writers.Get().(*Writer)
	defer writers.Put(tw)
	return tw.Write(w, t)
}

// Write writes the trace as one file. The same trace gives the same bytes. A trace
// that the layout cannot hold (a line without a number, a text that is not UTF-8 or
// is over 64 KiB, more than MaxRows rows, an instant or a current beyond what is reckoned
// with) is refused before anything is written.
func (w *Writer) Write(dst io.Writer, t *signal.Trace) error {
	if err := check(t); err != nil {
		return fmt.Errorf("write trace: %w", err)
	}
	return w.write(dst, t)
}

// write writes what was checked.
func (w *Writer) write(dst io.Writer, t *signal.Trace) error {
	if w.zstd == nil {
		z, err := zstd.NewWriter(nil, zstd.WithEncoderLevel(zstd.SpeedFastest),
			zstd.WithEncoderConcurrency(1), zstd.WithEncoderCRC(false), zstd.WithZeroFrames(true))
		if err != nil {
			return fmt.Errorf("write trace: %w", err)
		}
		w.zstd = z
	}
	w.dst, w.offset, w.protect = dst, 0, nil
	w.footer = format.FileMetaData{Version: 2, Schema: schema(), KeyValueMetadata: metadata(), CreatedBy: "pintle"}
	w.put([]byte(magic))
	w.writeEvents(t)
	for at := 0; at < len(t.Samples); at += groupRows {
		w.writeSamples(t.Samples[at:min(at+groupRows, len(t.Samples))])
	}
	w.writeFooter()
	w.dst = nil
	if w.protect != nil {
		return fmt.Errorf("write trace: %w", w.protect)
	}
	return nil
}

// check collects all that keeps a trace from being written.
func check(t *signal.Trace) error {
	var errs []error
	bad := func(form string, args ...any) {
		if len(errs) < 10 {
			errs = append(errs, fmt.Errorf(form, args...))
		}
	}
	if n := eventRows(t) + len(t.Samples); n > MaxRows {
		bad("%d rows are more than the %d that a file may have", n, MaxRows)
	}
	for l, v := range t.Initial {
		if v > signal.Made || l == 0 && v != 0 {
			bad("%v begins at level %d", signal.Line(l), v)
		}
	}
	for i, e := range t.Edges {
		if e.Line == signal.NoLine || e.Line >= signal.LineCount || e.Level > signal.Made {
			bad("edge %d is of %v to level %d", i, e.Line, e.Level)
		}
		if !e.Span.Within() {
			bad("edge %d from %v to %v is beyond what is reckoned with", i, e.Span.Early, e.Span.Late)
		}
	}
	for i := range t.Samples {
		if s := &t.Samples[i]; !reckoned(s) {
			bad("sample %d of %v from %v to %v is beyond what is reckoned with", i, s.Current, s.From, s.To)
		}
	}
	if !t.End.Within() {
		bad("the end at %v is beyond what is reckoned with", t.End)
	}
	texts := 0
	for i, m := range t.Marks {
		if !m.At.Within() {
			bad("mark %d at %v is beyond what is reckoned with", i, m.At)
		}
		texts += len(m.Text)
		if !utf8.ValidString(m.Text) {
			bad("mark %d is not UTF-8: %q", i, m.Text)
		}
		if len(m.Text) > maxTextLen {
			bad("mark %d has %d bytes of text, more than %d", i, len(m.Text), maxTextLen)
		}
	}
	if texts > maxTexts {
		bad("the marks have %d bytes of text, more than %d", texts, maxTexts)
	}
	return errors.Join(errs...)
}

// put writes bytes and counts them.
func (w *Writer) put(b []byte) {
	if w.protect != nil {
		return
	}
	n, err := w.dst.Write(b)
	w.offset += int64(n)
	w.protect = err
}

// beginGroup starts a row group.
func (w *Writer) beginGroup(rows int) {
	g := format.RowGroup{
		NumRows:    int64(rows),
		FileOffset: w.offset,
		Ordinal:    int16(len(w.footer.RowGroups)),
		Columns:    make([]format.ColumnChunk, columnCount),
	}
	w.footer.NumRows += int64(rows)
	w.footer.RowGroups = append(w.footer.RowGroups, g)
}

// beginChunk starts the next column of the row group.
func (w *Writer) beginChunk(col int, encodings ...format.Encoding) {
	g := &w.footer.RowGroups[len(w.footer.RowGroups)-1]
	w.chunk, w.col = &g.Columns[col], col
	w.begun = w.offset
	w.chunk.MetaData = format.ColumnMetaData{
		Type:         columns[col].typ,
		Encoding:     append(encodings, format.RLE),
		PathInSchema: []string{columns[col].name},
		Codec:        format.Zstd,
		NumValues:    g.NumRows,
	}
}

// endChunk finishes a column.
func (w *Writer) endChunk() {
	g := &w.footer.RowGroups[len(w.footer.RowGroups)-1]
	m := &w.chunk.MetaData
	m.TotalCompressedSize = w.offset - w.begun
	g.TotalCompressedSize += m.TotalCompressedSize
	g.TotalByteSize += m.TotalUncompressedSize
}

// dictPage writes a dictionary of n entries from w.raw.
func (w *Writer) dictPage(n int) {
	w.chunk.MetaData.DictionaryPageOffset = w.offset
	w.page(format.PageHeader{
		Type: format.DictionaryPage,
		DictionaryPageHeader: thrift.New(format.DictionaryPageHeader{
			NumValues: int32(n), Encoding: format.Plain}),
	})
}

// dataPage writes a page of n rows from w.raw: levels, then encoded values.
func (w *Writer) dataPage(n int, enc format.Encoding) {
	if w.chunk.MetaData.DataPageOffset == 0 {
		w.chunk.MetaData.DataPageOffset = w.offset
	}
	w.page(format.PageHeader{
		Type: format.DataPage,
		DataPageHeader: thrift.New(format.DataPageHeader{
			NumValues: int32(n), Encoding: enc,
			DefinitionLevelEncoding: format.RLE, RepetitionLevelEncoding: format.RLE}),
	})
}

// page compresses w.raw and writes it under the header.
func (w *Writer) page(h format.PageHeader) {
	w.packed = w.zstd.EncodeAll(w.raw, w.packed[:0])
	h.UncompressedPageSize = int32(len(w.raw))
	h.CompressedPageSize = int32(len(w.packed))
	h.CRC = int32(crc32.ChecksumIEEE(w.packed))
	if len(w.raw) > maxPage {
		w.protect = errors.Join(w.protect, fmt.Errorf("a page of %d bytes is more than the %d that a file may have", len(w.raw), maxPage))
	}
	at := w.offset
	w.encode(&h)
	w.chunk.MetaData.TotalUncompressedSize += w.offset - at + int64(len(w.raw))
	w.put(w.packed)
}

// encode writes a thrift structure.
func (w *Writer) encode(v any) {
	w.header.Reset()
	var compact thrift.CompactProtocol
	if err := thrift.NewEncoder(compact.NewWriter(&w.header)).Encode(v); err != nil {
		w.protect = errors.Join(w.protect, err)
	}
	w.put(w.header.Bytes())
}

// writeFooter writes what a reader begins with.
func (w *Writer) writeFooter() {
	at := w.offset
	w.encode(&w.footer)
	w.put(append(binary.LittleEndian.AppendUint32(nil, uint32(w.offset-at)), magic...))
}
