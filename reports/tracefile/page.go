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

// readGroup reads one row group into a trace. The columns of samples are read side by side,
// a page of each at a time, so that they stay in fast memory until they are put together.
func (r *Reader) readGroup(src io.ReaderAt, p *place, g *format.RowGroup, b *builder) error {
	r.group.reset(int(g.NumRows))
	if err := r.openChunks(src, p, g); err != nil {
		return err
	}
	if err := r.nextPages(); err != nil {
		return err
	}
	for allSamples(&r.group) && r.chunks[colKind].left > 0 {
		if err := r.takeSamples(b); err != nil {
			return err
		}
		if err := r.nextPages(); err != nil {
			return err
		}
	}
	for col := range r.chunks {
		for c := &r.chunks[col]; len(c.rest) > 0 || c.left > 0; {
			if err := r.nextPage(col); err != nil {
				return err
			}
		}
	}
	if allSamples(&r.group) {
		return r.takeSamples(b)
	}
	return b.take(&r.group)
}

// openChunks reads the columns of a row group as the file has them. They follow upon each
// other without a gap, so no byte of a file is read twice.
func (r *Reader) openChunks(src io.ReaderAt, p *place, g *format.RowGroup) error {
	all := int64(0)
	for col := range columns {
		m := &g.Columns[col].MetaData
		if m.TotalCompressedSize < 0 || m.TotalCompressedSize > p.end-p.at-all {
			return fmt.Errorf("column %s: it cannot have %d bytes", columns[col].name, m.TotalCompressedSize)
		}
		if m.Type != columns[col].typ || m.Codec != format.Zstd {
			return fmt.Errorf("column %s: it is %v in %v", columns[col].name, m.Type, m.Codec)
		}
		all += m.TotalCompressedSize
	}
	r.raw = extend(r.raw[:0], int(all))
	if err := readFull(src, r.raw, p.at); err != nil {
		return err
	}
	p.at += all
	rest := r.raw
	for col := range columns {
		size := g.Columns[col].MetaData.TotalCompressedSize
		r.chunks[col] = chunk{group: &r.group, col: col, left: r.group.rows, rest: rest[:size]}
		rest = rest[size:]
	}
	return nil
}

// nextPages reads on in the columns of which no row is at hand.
func (r *Reader) nextPages() error {
	for col := range r.chunks {
		for c := &r.chunks[col]; c.rows == 0 && c.left > 0; {
			if err := r.nextPage(col); err != nil {
				return err
			}
		}
	}
	return nil
}

// nextPage reads one page of a column.
func (r *Reader) nextPage(col int) error {
	c := &r.chunks[col]
	if len(c.rest) == 0 {
		return fmt.Errorf("column %s: it lacks %d rows", columns[col].name, c.left)
	}
	h, rest, err := r.readPage(c.rest)
	if err == nil {
		c.rest, err = rest, c.page(h, r.page)
	}
	if err != nil {
		return fmt.Errorf("column %s: %w", columns[col].name, err)
	}
	return nil
}

// takeSamples takes the samples of which all columns are at hand.
func (r *Reader) takeSamples(b *builder) error {
	n := r.group.rows
	for _, c := range r.chunks {
		n = min(n, c.rows)
	}
	if err := b.samples(&r.group, n, r.chunks[colCurrent].rows); err != nil {
		return err
	}
	for col := range r.chunks {
		r.chunks[col].rows -= n
	}
	r.group.drop(n)
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
	rest  []byte // of it, as the file has it
	left  int    // rows to come
	rows  int    // rows in the group that have not been taken
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
		c.left, c.rows = c.left-int(d.NumValues), c.rows+int(d.NumValues)
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
