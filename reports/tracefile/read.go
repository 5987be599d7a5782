package tracefile

import (
	"encoding/binary"
	"errors"
	"fmt"
	"io"
	"reflect"
	"sync"

	"github.com/klauspost/compress/zstd"
	"github.com/parquet-go/parquet-go/format"

	"pintle/rig/signal"
)

// ErrNotTrace says that a file is not a whole trace of this layout.
var ErrNotTrace = errors.New("not a whole trace file")

// A Reader reads traces and keeps its buffers from one to the next. It works at
// zero and is used by one goroutine.
type Reader struct {
	Limit int // most rows that are read; 0 is MaxRows

	zstd   *zstd.Decoder
	raw    []byte // a row group as the file has it
	page   []byte // a page without compression
	group  group
	chunks [columnCount]chunk
	footer format.FileMetaData
}

var readers = sync.Pool{New: func() any { return new(Reader) }}

// Read reads the trace in the first size bytes. It is safe for use by many
// goroutines.
func Read(r io.ReaderAt, size int64) (*signal.Trace, error) {
	tr := readers.Get().(*Reader)
	defer readers.Put(tr)
	t := new(signal.Trace)
	if err := tr.Read(r, size, t); err != nil {
		return nil, err
	}
	return t, nil
}

// Read reads the trace in the first size bytes into t, whose memory it uses. A
// file that is no whole trace gives an error that wraps ErrNotTrace, and t is
// then empty.
func (r *Reader) Read(src io.ReaderAt, size int64, t *signal.Trace) error {
	return r.Each(src, size, t, nil)
}

// Each is Read with the samples handed over in stretches, in their order, instead of being
// put into t, which has everything else by then. A stretch is good until the function
// returns. What has been handed over counts for nothing where there is an error.
func (r *Reader) Each(src io.ReaderAt, size int64, t *signal.Trace, hand func([]signal.Sample)) error {
	t.Reset()
	if err := r.read(src, size, &builder{trace: t, hand: hand}); err != nil {
		t.Reset()
		return fmt.Errorf("read trace: %w", err)
	}
	return nil
}

func (r *Reader) read(src io.ReaderAt, size int64, b *builder) error {
	if r.zstd == nil {
		z, err := zstd.NewReader(nil, zstd.WithDecoderConcurrency(1), zstd.WithDecoderMaxMemory(maxPage))
		if err != nil {
			return err
		}
		r.zstd = z
	}
	end, err := r.readFooter(src, size)
	if err != nil {
		return err
	}
	if err := r.checkFooter(); err != nil {
		return err
	}
	limit := int64(MaxRows)
	if r.Limit > 0 {
		limit = int64(r.Limit)
	}
	if r.footer.NumRows > limit {
		return fmt.Errorf("%w: it has %d rows, more than the %d that are read", ErrNotTrace, r.footer.NumRows, limit)
	}
	place := place{at: int64(len(magic)), end: end}
	for i := range r.footer.RowGroups {
		g := &r.footer.RowGroups[i]
		if err := r.readGroup(src, &place, g, b); err != nil {
			return fmt.Errorf("%w: row group %d: %w", ErrNotTrace, i, err)
		}
	}
	if place.at != place.end {
		return fmt.Errorf("%w: there are %d bytes that belong to no column", ErrNotTrace, place.end-place.at)
	}
	if err := b.done(); err != nil {
		return fmt.Errorf("%w: %w", ErrNotTrace, err)
	}
	return nil
}

// readFooter reads and decodes the footer and gives where it begins.
func (r *Reader) readFooter(src io.ReaderAt, size int64) (int64, error) {
	var head [4]byte
	var tail [8]byte
	if size < 12 {
		return 0, fmt.Errorf("%w: %d bytes are too few", ErrNotTrace, size)
	}
	if err := readFull(src, head[:], 0); err != nil {
		return 0, err
	}
	if err := readFull(src, tail[:], size-8); err != nil {
		return 0, err
	}
	if string(head[:]) != magic || string(tail[4:]) != magic {
		return 0, fmt.Errorf("%w: it does not begin and end as a Parquet file does; was it cut short?", ErrNotTrace)
	}
	n := int64(binary.LittleEndian.Uint32(tail[:]))
	if n > maxFooter || n > size-12 {
		return 0, fmt.Errorf("%w: its footer cannot have %d bytes", ErrNotTrace, n)
	}
	footer := make([]byte, n)
	if err := readFull(src, footer, size-8-n); err != nil {
		return 0, err
	}
	r.footer = format.FileMetaData{}
	used, err := decode(footer, &r.footer)
	if err != nil {
		return 0, fmt.Errorf("%w: footer: %w", ErrNotTrace, err)
	}
	if used != len(footer) {
		return 0, fmt.Errorf("%w: footer: %w", ErrNotTrace, errLong)
	}
	return size - 8 - n, nil
}

// readFull reads exactly len(b) bytes.
func readFull(src io.ReaderAt, b []byte, at int64) error {
	n, err := src.ReadAt(b, at)
	if n == len(b) {
		return nil
	}
	if err == nil || errors.Is(err, io.EOF) {
		return fmt.Errorf("%w: it ends too early", ErrNotTrace)
	}
	return err
}

// wanted is the schema that a file must have.
var wanted = schema()

// checkFooter says whether the footer is of this layout and agrees with itself.
func (r *Reader) checkFooter() error {
	f := &r.footer
	name := ""
	for _, kv := range f.KeyValueMetadata {
		if kv.Key == formatKey {
			name = kv.Value
		}
	}
	if name != formatName {
		return fmt.Errorf("%w: its layout is %q, and %q is the one that is known", ErrNotTrace, name, formatName)
	}
	if !reflect.DeepEqual([]format.SchemaElement(f.Schema), wanted) {
		return fmt.Errorf("%w: its columns are not those of %q", ErrNotTrace, formatName)
	}
	rows := int64(0)
	for i, g := range f.RowGroups {
		if len(g.Columns) != columnCount || g.NumRows < 1 || g.NumRows > groupRows {
			return fmt.Errorf("%w: row group %d has %d columns and %d rows", ErrNotTrace, i, len(g.Columns), g.NumRows)
		}
		rows += g.NumRows
	}
	if rows != f.NumRows {
		return fmt.Errorf("%w: it has %d rows and says %d", ErrNotTrace, rows, f.NumRows)
	}
	return nil
}
