package tracefile

import (
	"encoding/binary"
	"errors"
	"math/bits"
	"slices"
)

// The decoders here take bytes that anybody may have written. Each is told how
// many values there must be, and makes room for no more than that.

var (
	errShort  = errors.New("a page ends too early")
	errLong   = errors.New("a page has bytes or values to spare")
	errBroken = errors.New("a page is broken")
)

// uvarint takes a variable-length number from the front.
func uvarint(b []byte) (uint64, []byte, error) {
	v, n := binary.Uvarint(b)
	if n <= 0 {
		return 0, nil, errShort
	}
	return v, b[n:], nil
}

// zigzag takes a signed variable-length number from the front.
func zigzag(b []byte) (int64, []byte, error) {
	v, b, err := uvarint(b)
	return int64(v>>1) ^ -int64(v&1), b, err
}

// decodeDeltas appends n integers in DELTA_BINARY_PACKED.
func decodeDeltas(dst []int64, b []byte, n int) ([]int64, error) {
	var head [3]uint64
	var err error
	for i := range head {
		if head[i], b, err = uvarint(b); err != nil {
			return dst, err
		}
	}
	block, minis := head[0], head[1]
	if head[2] != uint64(n) || block == 0 || block%128 != 0 || block > 1<<16 ||
		minis == 0 || minis > block/32 || block%minis != 0 || block/minis%32 != 0 {
		return dst, errBroken
	}
	last, b, err := zigzag(b)
	if err != nil || n == 0 {
		return dst, err
	}
	dst = append(dst, last)
	for left := n - 1; left > 0; {
		if dst, b, err = deltaBlock(dst, b, &left, int(minis), int(block/minis)); err != nil {
			return dst, err
		}
	}
	if len(b) != 0 {
		return dst, errLong
	}
	return dst, nil
}

// deltaBlock appends what one block holds, up to *left values.
func deltaBlock(dst []int64, b []byte, left *int, minis, size int) ([]int64, []byte, error) {
	least, b, err := zigzag(b)
	if err != nil {
		return dst, b, err
	}
	if len(b) < minis {
		return dst, b, errShort
	}
	widths, b := b[:minis], b[minis:]
	for _, width := range widths {
		if *left == 0 {
			break
		}
		if width > 64 {
			return dst, b, errBroken
		}
		n := min(size, *left)
		packed := size / 8 * int(width)
		if packed > len(b) {
			// The last miniblock may be cut after the last value that counts.
			if packed = (n*int(width) + 7) / 8; packed > len(b) || n < *left {
				return dst, b, errShort
			}
		}
		dst = unpackDeltas(dst, b[:packed], n, uint(width), least)
		b = b[packed:]
		*left -= n
	}
	return dst, b, nil
}

// unpackDeltas appends n values, each the one before it and least and the next
// width bits of b, lowest first.
func unpackDeltas(dst []int64, b []byte, n int, width uint, least int64) []int64 {
	last := dst[len(dst)-1]
	if width == 0 {
		for range n {
			last += least
			dst = append(dst, last)
		}
		return dst
	}
	at := len(dst)
	dst = extend(dst, n)
	out, i := dst[at:], 0
	if width <= widest {
		// Whole words, as long as there is one: what bitsAt does, without the calls.
		mask, bit := uint64(1)<<width-1, uint(0)
		for ; i < len(out) && bit/8+8 <= uint(len(b)); i++ {
			word := binary.LittleEndian.Uint64(b[bit/8:])
			last += least + int64(word>>(bit%8)&mask)
			out[i] = last
			bit += width
		}
	}
	for ; i < len(out); i++ {
		last += least + int64(bitsAt(b, uint(i)*width, width))
		out[i] = last
	}
	return dst
}

// widest is the widest number of bits that a word holds wherever in a byte they begin.
const widest = 57

// bitsAt reads up to 64 bits from a bit position.
func bitsAt(b []byte, at, width uint) uint64 {
	from, shift := at/8, at%8
	if int(from)+8 <= len(b) && shift+width <= 64 {
		return binary.LittleEndian.Uint64(b[from:]) >> shift & (1<<width - 1)
	}
	var v uint64
	for got := uint(0); got < width; {
		part := uint64(b[from]) >> shift
		v |= part << got
		got += 8 - shift
		from, shift = from+1, 0
	}
	if width == 64 {
		return v
	}
	return v & (1<<width - 1)
}

// decodeRuns appends n numbers of the given width below limit, in the hybrid of
// runs and packed bits that levels and dictionary indexes share.
func decodeRuns[T uint8 | uint32](dst []T, b []byte, n int, width uint, limit uint64) ([]T, error) {
	for n > 0 {
		head, rest, err := uvarint(b)
		if err != nil {
			return dst, err
		}
		b = rest
		if head&1 == 0 {
			dst, b, err = repeat(dst, b, head>>1, &n, width, limit)
		} else {
			dst, b, err = unpack(dst, b, head>>1, &n, width, limit)
		}
		if err != nil {
			return dst, err
		}
	}
	if len(b) != 0 {
		return dst, errLong
	}
	return dst, nil
}

// repeat appends one number count times.
func repeat[T uint8 | uint32](dst []T, b []byte, count uint64, n *int, width uint, limit uint64) ([]T, []byte, error) {
	size := int(width+7) / 8
	if count == 0 || count > uint64(*n) {
		return dst, b, errBroken
	}
	if len(b) < size {
		return dst, b, errShort
	}
	var v uint64
	for i := range size {
		v |= uint64(b[i]) << (8 * i)
	}
	if v >= limit {
		return dst, b, errBroken
	}
	at := len(dst)
	dst = extend(dst, int(count))
	fill(dst[at:], T(v))
	*n -= int(count)
	return dst, b[size:], nil
}

// fill makes all of a slice one value.
func fill[T uint8 | uint32](s []T, v T) {
	if len(s) == 0 {
		return
	}
	if v == 0 {
		clear(s)
		return
	}
	s[0] = v
	for done := 1; done < len(s); done *= 2 {
		copy(s[done:], s[:done])
	}
}

// unpack appends groups of eight numbers; the last may stand for fewer.
func unpack[T uint8 | uint32](dst []T, b []byte, groups uint64, n *int, width uint, limit uint64) ([]T, []byte, error) {
	if groups == 0 || groups > uint64(*n+7)/8 {
		return dst, b, errBroken
	}
	size := int(groups) * int(width)
	if len(b) < size {
		return dst, b, errShort
	}
	count := min(int(groups)*8, *n)
	at := len(dst)
	dst = extend(dst, count)
	packed := b[:size]
	if width == 0 {
		clear(dst[at:])
		packed, count = nil, 0
	}
	i := 0
	if width <= 32 {
		mask, bit, most := uint64(1)<<width-1, uint(0), uint64(0)
		for out := dst[at : at+count]; i < len(out) && bit/8+8 <= uint(len(packed)); i++ {
			v := binary.LittleEndian.Uint64(packed[bit/8:]) >> (bit % 8) & mask
			most = max(most, v)
			out[i] = T(v)
			bit += width
		}
		if most >= limit {
			return dst, b, errBroken
		}
	}
	for ; i < count; i++ {
		v := bitsAt(packed, uint(i)*width, width)
		if v >= limit {
			return dst, b, errBroken
		}
		dst[at+i] = T(v)
	}
	*n -= len(dst) - at
	return dst, b[size:], nil
}

// extend makes a slice n longer. What comes in is not cleared. It grows by doubling: by
// less, a trace of an hour would be copied twenty times over.
func extend[T any](s []T, n int) []T {
	if len(s)+n <= cap(s) {
		return s[:len(s)+n]
	}
	return slices.Grow(s, max(n, len(s)))[:len(s)+n]
}

// decodeIndexes appends n dictionary indexes below limit.
func decodeIndexes(dst []uint32, b []byte, n, limit int) ([]uint32, error) {
	if len(b) == 0 {
		if n == 0 {
			return dst, nil
		}
		return dst, errShort
	}
	if b[0] > 32 {
		return dst, errBroken
	}
	if n == 0 {
		return dst, nil // a page of nulls may have anything here
	}
	return decodeRuns(dst, b[1:], n, uint(b[0]), uint64(limit))
}

// decodeLevels appends n levels of a page of data version 1, gives the number of
// values that are there, and what follows the levels.
func decodeLevels(dst []uint8, b []byte, n int) ([]uint8, int, []byte, error) {
	if len(b) < 4 {
		return dst, 0, nil, errShort
	}
	size := binary.LittleEndian.Uint32(b)
	b = b[4:]
	if uint64(size) > uint64(len(b)) {
		return dst, 0, nil, errShort
	}
	at := len(dst)
	dst, err := decodeRuns(dst, b[:size], n, 1, 2)
	if err != nil {
		return dst, 0, nil, err
	}
	return dst, ones(dst[at:]), b[size:], nil
}

// ones counts the levels that are 1; none is more than that.
func ones(levels []uint8) int {
	n := 0
	for len(levels) >= 8 {
		n += bits.OnesCount64(binary.LittleEndian.Uint64(levels))
		levels = levels[8:]
	}
	for _, v := range levels {
		n += int(v)
	}
	return n
}

// decodeText takes a text in the PLAIN encoding from the front.
func decodeText(b []byte) (string, []byte, error) {
	if len(b) < 4 {
		return "", nil, errShort
	}
	n := uint64(binary.LittleEndian.Uint32(b))
	b = b[4:]
	if n > uint64(len(b)) {
		return "", nil, errShort
	}
	return string(b[:n]), b[n:], nil
}
