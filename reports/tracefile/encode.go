package tracefile

import (
	"encoding/binary"
	"math/bits"

	"github.com/parquet-go/parquet-go/encoding/delta"
	"github.com/parquet-go/parquet-go/encoding/rle"
)

var (
	deltaEncoding delta.BinaryPackedEncoding
	indexEncoding rle.DictionaryEncoding
)

// appendLevels adds the definition levels of a page of data version 1: a length,
// then runs of one bit each. A level is 1 where there is a value, 0 where null.
func appendLevels(dst []byte, n int, present func(int) bool) []byte {
	at := len(dst)
	dst = append(dst, 0, 0, 0, 0)
	for i := 0; i < n; {
		j, v := i+1, present(i)
		for j < n && present(j) == v {
			j++
		}
		dst = appendRun(dst, j-i, v)
		i = j
	}
	binary.LittleEndian.PutUint32(dst[at:], uint32(len(dst)-at-4))
	return dst
}

// appendSameLevel adds the levels of a page that is all values or all nulls.
func appendSameLevel(dst []byte, n int, present bool) []byte {
	at := len(dst)
	dst = appendRun(append(dst, 0, 0, 0, 0), n, present)
	binary.LittleEndian.PutUint32(dst[at:], uint32(len(dst)-at-4))
	return dst
}

// appendRun adds a run of levels.
func appendRun(dst []byte, n int, v bool) []byte {
	dst = binary.AppendUvarint(dst, uint64(n)<<1)
	if v {
		return append(dst, 1)
	}
	return append(dst, 0)
}

// appendZeroIndexes adds n dictionary indexes that are all the first entry's.
func appendZeroIndexes(dst []byte, n int) []byte {
	return append(binary.AppendUvarint(append(dst, 1), uint64(n)<<1), 0)
}

// appendText adds a text in the PLAIN encoding.
func appendText(dst []byte, s string) []byte {
	return append(binary.LittleEndian.AppendUint32(dst, uint32(len(s))), s...)
}

// appendBits adds booleans in the PLAIN encoding: eight to a byte, lowest first.
func appendBits(dst []byte, values []bool) []byte {
	for i, v := range values {
		if i%8 == 0 {
			dst = append(dst, 0)
		}
		if v {
			dst[len(dst)-1] |= 1 << (i % 8)
		}
	}
	return dst
}

// A dictionary numbers the different values that it is given, in the order of
// their first coming. It is emptied between row groups and keeps its memory.
type dictionary struct {
	values []int64
	slots  []int32 // index+1 of the value that hashes here, or 0
	shift  int
}

// reset empties the dictionary.
func (d *dictionary) reset() {
	if d.slots == nil {
		d.slots = make([]int32, 1<<10)
		d.shift = 64 - 10
	}
	d.values = d.values[:0]
	clear(d.slots)
}

// index gives the number of a value, which it may have to take in.
func (d *dictionary) index(v int64) int32 {
	mask := uint64(len(d.slots) - 1)
	// Fibonacci hashing: the high bits of a product with 2^64 over the golden ratio.
	for at := uint64(v) * 0x9E3779B97F4A7C15 >> d.shift; ; at = (at + 1) & mask {
		i := d.slots[at]
		if i == 0 {
			return d.add(v, at)
		}
		if d.values[i-1] == v {
			return i - 1
		}
	}
}

// add takes in a new value at a free slot.
func (d *dictionary) add(v int64, at uint64) int32 {
	d.values = append(d.values, v)
	n := int32(len(d.values))
	d.slots[at] = n
	if 2*len(d.values) > len(d.slots) {
		d.grow()
	}
	return n - 1
}

// grow doubles the slots and places the values anew.
func (d *dictionary) grow() {
	d.slots = make([]int32, 2*len(d.slots))
	d.shift = 64 - bits.TrailingZeros(uint(len(d.slots)))
	mask := uint64(len(d.slots) - 1)
	for i, v := range d.values {
		at := uint64(v) * 0x9E3779B97F4A7C15 >> d.shift
		for d.slots[at] != 0 {
			at = (at + 1) & mask
		}
		d.slots[at] = int32(i + 1)
	}
}
