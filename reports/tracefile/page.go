package tracefile

import (
	"errors"
	"fmt"
	"hash/crc32"
	"io"

	"github.com/parquet-go/parquet-go/format"
)

// A place is how far a file has been read, and where the columns end.
type place struct{ at, end int64 }

// readGroup reads one row group into r.group.
func (r *Reader) readGroup(src io.ReaderAt, p *place, g *format.RowGroup) error {
	r.group.reset(int(g.NumRows))
	for col := range columns {
		if err := r.readChunk(src, p, &g.Columns[col].MetaData, col); err != nil {
			return fmt.Errorf("column %s: %w", columns[col].name, err)
		}
	}
	return nil
}

// readChunk reads one column of a row group. Chunks follow upon each other without
// a gap, so no byte of a file is read twice.
func (r *Reader) readChunk(src io.ReaderAt, p *place, m *format.ColumnMetaData, col int) error {
	size := m.TotalCompressedSize
	if size < 0 || size > p.end-p.at {
		return fmt.Errorf("it cannot have %d bytes", size)
	}
	if m.Type != columns[col].typ || m.Codec != format.Zstd {
		return fmt.Errorf("it is %v in %v", m.Type, m.Codec)
	}
	r.raw = extend(r.raw[:0], int(size))
	if err := readFull(src, r.raw, p.at); err != nil {
		return err
	}
	p.at += size
	c := chunk{group: &r.group, col: col, left: r.group.rows}
	for b := r.raw; len(b) > 0; {
		h, rest, err := r.readPage(b)
		if err != nil {
			return err
		}
		if err := c.page(h, r.page); err != nil {
			return err
		}
		b = rest
	}
	if c.left != 0 {
		return fmt.Errorf("it lacks %d rows", c.left)
	}
	return nil
}

// readPage reads a page from the front, decompresses it into r.page, and gives
// its header and what follows.
func (r *Reader) readPage(b []byte) (*format.PageHeader, []byte, error) {
	h := new(format.PageHeader)
	n, err := decode(b, h)
	if err != nil {
		return nil, nil, err
	}
	b = b[n:]
	size := int64(h.CompressedPageSize)
	if size < 0 || size > int64(len(b)) {
		return nil, nil, errShort
	}
	if h.UncompressedPageSize < 0 || h.UncompressedPageSize > maxPage {
		return nil, nil, errLong
	}
	packed := b[:size]
	if h.CRC != 0 && crc32.ChecksumIEEE(packed) != uint32(h.CRC) {
		return nil, nil, errors.New("a page does not have the checksum that it was written with")
	}
	if r.page, err = r.zstd.DecodeAll(packed, r.page[:0]); err != nil {
		return nil, nil, fmt.Errorf("decompress a page: %w", err)
	}
	if len(r.page) != int(h.UncompressedPageSize) {
		return nil, nil, errBroken
	}
	return h, b[size:], nil
}

// A chunk is a column of a row group on its way into the group.
type chunk struct {
	group *group
	col   int
	left  int // rows to come
	dict  bool
}

// page takes in a page.
func (c *chunk) page(h *format.PageHeader, b []byte) error {
	switch {
	case h.Type == format.DictionaryPage && h.DictionaryPageHeader.Valid:
		d := &h.DictionaryPageHeader.V
		if c.dict || c.left != c.group.rows || d.Encoding != format.Plain || d.NumValues < 0 || d.NumValues > maxDict {
			return errBroken
		}
		c.dict = true
		return c.group.dictionary(c.col, b, int(d.NumValues))
	case h.Type == format.DataPage && h.DataPageHeader.Valid:
		d := &h.DataPageHeader.V
		if d.NumValues < 1 || int(d.NumValues) > c.left || d.NumValues > pageRows {
			return errBroken
		}
		c.left -= int(d.NumValues)
		return c.data(b, int(d.NumValues), d.Encoding)
	}
	return fmt.Errorf("a page of type %v has no place here", h.Type)
}

// data takes in a page of n rows.
func (c *chunk) data(b []byte, n int, enc format.Encoding) (err error) {
	g, values := c.group, n
	if levels := g.levels(c.col); levels != nil {
		if *levels, values, b, err = decodeLevels(*levels, b, n); err != nil {
			return err
		}
	}
	if values == 0 {
		return nil // what else the page may hold stands for nothing
	}
	switch {
	case enc == format.RLEDictionary && c.dict:
		return g.indexed(c.col, b, values)
	case enc == format.DeltaBinaryPacked && columns[c.col].typ == format.Int64:
		return g.deltas(c.col, b, values)
	case enc == format.Plain && c.col == colMade:
		return g.bits(b, values)
	case enc == format.Plain && c.col == colText:
		return g.plainTexts(b, values)
	}
	return fmt.Errorf("a page in %v has no place here", enc)
}
