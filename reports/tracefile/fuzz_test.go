package tracefile

import (
	"bytes"
	"errors"
	"testing"

	"github.com/klauspost/compress/zstd"
	"github.com/parquet-go/parquet-go/format"
	"github.com/stretchr/testify/require"

	"pintle/rig/signal"
)

// FuzzRead holds the reader to giving a trace that it would write, or an error
// that says that there is none.
func FuzzRead(f *testing.F) {
	for _, tr := range []*signal.Trace{{}, ramp(1), ramp(300)} {
		b := encode(f, tr)
		f.Add(b)
		f.Add(b[:len(b)/2])
		f.Add(append([]byte("PAR1"), b[len(b)/2:]...))
	}
	var r Reader
	f.Fuzz(func(t *testing.T, b []byte) {
		r.Limit = 1 << 20
		var got signal.Trace
		if err := r.Read(bytes.NewReader(b), int64(len(b)), &got); err != nil {
			if !errors.Is(err, ErrNotTrace) {
				t.Fatalf("an error that does not say what is wrong: %v", err)
			}
			return
		}
		roundTrip(t, &got)
	})
}

// FuzzPages goes past the compression and the checksums, which shield the decoders
// of pages from nearly all that FuzzRead tries.
func FuzzPages(f *testing.F) {
	for col := range columnCount {
		f.Add(uint8(col), uint16(9), []byte("\x03\x00\x00\x00\x12\x01\x02\x09\x03\x01\x80\x01\x04\x81\x02"), []byte("\x04\x00\x00\x00edge"))
	}
	deltas, _ := deltaEncoding.EncodeInt64(nil, []int64{5, 9, 1 << 62, -4, 8, 8, 8})
	f.Add(uint8(colEarly), uint16(7), deltas, []byte(nil))
	f.Add(uint8(colCurrent), uint16(7), append([]byte("\x02\x00\x00\x00\x0e\x01"), deltas...), []byte(nil))
	f.Fuzz(func(t *testing.T, col uint8, rows uint16, page, dict []byte) {
		var g group
		c := int(col) % columnCount
		for n := range 3 {
			g.reset(int(rows))
			_ = g.dictionary(c, dict, n)
			for _, enc := range []format.Encoding{format.Plain, format.RLEDictionary, format.DeltaBinaryPacked} {
				ch := chunk{group: &g, col: c, left: int(rows), dict: true}
				_ = ch.data(page, int(rows), enc)
			}
		}
		if v, err := decodeDeltas(nil, page, int(rows)); err == nil && len(v) != int(rows) {
			t.Fatalf("%d values of %d", len(v), rows)
		}
	})
}

// FuzzStructure holds the walk to what it is for: what passes it can be decoded in
// little memory.
func FuzzStructure(f *testing.F) {
	b := encode(f, ramp(10))
	f.Add(b[len(b)-900 : len(b)-8])
	f.Add([]byte{0x19, 0xFC, 0xFF, 0xFF, 0xFF, 0xFF, 0x07})
	f.Fuzz(func(t *testing.T, b []byte) {
		w := walker{b: b}
		if w.structure(0) == nil && w.items > maxThriftItems {
			t.Fatalf("%d items", w.items)
		}
	})
}

// A list that claims two thousand million row groups must not be made room for.
func TestAListLongerThanItsBytes(t *testing.T) {
	footer := []byte{0x15, 0x04, 0x19, 0xFC, 0xFF, 0xFF, 0xFF, 0xFF, 0x07, 0x00}
	var v struct{}
	_, err := decode(footer, &v)
	require.ErrorIs(t, err, errThrift)
}

// A page that unpacks to more than it says, or to more than any page may.
func TestACompressedBomb(t *testing.T) {
	z, err := zstd.NewWriter(nil)
	require.NoError(t, err)
	bomb := z.EncodeAll(make([]byte, maxPage+1), nil)
	var r Reader
	var got signal.Trace
	require.Error(t, r.Read(bytes.NewReader(nil), 0, &got)) // makes the decoder
	_, err = r.zstd.DecodeAll(bomb, nil)
	require.Error(t, err)
}

func TestDecoders(t *testing.T) {
	// The examples of the Apache Parquet project's Encodings.md: a run of 8 values
	// of 3 bits, 0 to 7, packed as 10001000 11000110 11111010; and the deltas of
	// 1, 2, 3, 4, 5 and of 7, 5, 3, 1, 2, 3, 4, 5.
	got, err := decodeRuns([]uint32(nil), []byte{0x03, 0b10001000, 0b11000110, 0b11111010}, 8, 3, 8)
	require.NoError(t, err)
	require.Equal(t, []uint32{0, 1, 2, 3, 4, 5, 6, 7}, got)

	// Header: block of 128, 4 miniblocks, count, first value zigzag; then the block:
	// least delta zigzag, four widths, and the packed rest in a miniblock of 32.
	ints, err := decodeDeltas(nil, []byte{0x80, 0x01, 4, 5, 2, 2, 0, 0, 0, 0}, 5)
	require.NoError(t, err)
	require.Equal(t, []int64{1, 2, 3, 4, 5}, ints)
	ints, err = decodeDeltas(nil, append([]byte{0x80, 0x01, 4, 8, 14, 3, 2, 0, 0, 0}, 0b11_00_00_00, 0b00_11_11_11, 0, 0, 0, 0, 0, 0), 8)
	require.NoError(t, err)
	require.Equal(t, []int64{7, 5, 3, 1, 2, 3, 4, 5}, ints)

	for _, c := range []struct {
		name string
		b    []byte
		n    int
		want error
	}{
		{"cut in the head", []byte{0x80, 0x01, 4}, 5, errShort},
		{"other count", []byte{0x80, 0x01, 4, 5, 2, 2, 0, 0, 0, 0}, 6, errBroken},
		{"odd block", []byte{0x7F, 4, 5, 2, 2, 0, 0, 0, 0}, 5, errBroken},
		{"no miniblocks", []byte{0x80, 0x01, 0, 5, 2, 2, 0, 0, 0, 0}, 5, errBroken},
		{"too wide", []byte{0x80, 0x01, 4, 5, 2, 2, 65, 0, 0, 0}, 5, errBroken},
		{"cut in a miniblock", []byte{0x80, 0x01, 4, 8, 14, 3, 2, 0, 0, 0, 0xC0}, 8, errShort},
		{"more to come", []byte{0x80, 0x01, 4, 5, 2, 2, 0, 0, 0, 0, 1}, 5, errLong},
	} {
		_, err := decodeDeltas(nil, c.b, c.n)
		require.ErrorIs(t, err, c.want, c.name)
	}
	for _, c := range []struct {
		name string
		b    []byte
		want error
	}{
		{"nothing", nil, errShort},
		{"a run longer than the page", []byte{9 << 1, 1}, errBroken},
		{"an empty run", []byte{0, 1}, errBroken},
		{"an index out of range", []byte{8 << 1, 5}, errBroken},
		{"a packed index out of range", []byte{0x03, 0xFF, 0xFF, 0xFF}, errBroken},
		{"cut groups", []byte{0x03, 0}, errShort},
		{"runs to spare", []byte{8 << 1, 1, 8 << 1, 1}, errLong},
	} {
		_, err := decodeRuns([]uint32(nil), c.b, 8, 3, 5)
		require.ErrorIs(t, err, c.want, c.name)
	}
}
