package tracefile

import (
	"encoding/binary"
	"errors"
	"fmt"

	"github.com/parquet-go/parquet-go/encoding/thrift"
)

// The decoder of thrift structures makes room for a list before it has read it.
// So the bytes are walked first, and only what is modest in itself is decoded.
const (
	maxThriftDepth = 12
	maxThriftItems = 1 << 16 // of all lists together
)

var errThrift = errors.New("a structure is broken")

// decode reads one thrift structure from the beginning of b and gives its length.
func decode(b []byte, v any) (int, error) {
	w := walker{b: b}
	if err := w.structure(0); err != nil {
		return 0, err
	}
	n := len(b) - len(w.b)
	var compact thrift.CompactProtocol
	if err := thrift.Unmarshal(&compact, b[:n], v); err != nil {
		return 0, fmt.Errorf("%w: %w", errThrift, err)
	}
	return n, nil
}

// A walker goes through a structure of the thrift compact protocol.
type walker struct {
	b     []byte
	items int
}

// byte takes one byte.
func (w *walker) byte() (byte, error) {
	if len(w.b) == 0 {
		return 0, errThrift
	}
	c := w.b[0]
	w.b = w.b[1:]
	return c, nil
}

// number takes a variable-length number.
func (w *walker) number() (uint64, error) {
	v, n := binary.Uvarint(w.b)
	if n <= 0 {
		return 0, errThrift
	}
	w.b = w.b[n:]
	return v, nil
}

// skip takes n bytes.
func (w *walker) skip(n uint64) error {
	if n > uint64(len(w.b)) {
		return errThrift
	}
	w.b = w.b[n:]
	return nil
}

// structure walks the fields of a structure up to its stop.
func (w *walker) structure(depth int) error {
	if depth > maxThriftDepth {
		return errThrift
	}
	for {
		c, err := w.byte()
		if err != nil || c == 0 {
			return err
		}
		if c>>4 == 0 { // the field's number follows in full
			if _, err := w.number(); err != nil {
				return err
			}
		}
		if err := w.value(thrift.Type(c&0xF), depth, false); err != nil {
			return err
		}
	}
}

// value walks one value. A boolean field's value is in its type; in a list it has
// a byte of its own.
func (w *walker) value(t thrift.Type, depth int, inList bool) error {
	switch t {
	case thrift.TRUE, thrift.FALSE:
		if inList {
			return w.skip(1)
		}
		return nil
	case thrift.I8:
		return w.skip(1)
	case thrift.I16, thrift.I32, thrift.I64:
		_, err := w.number()
		return err
	case thrift.DOUBLE:
		return w.skip(8)
	case thrift.BINARY:
		n, err := w.number()
		if err != nil {
			return err
		}
		return w.skip(n)
	case thrift.LIST, thrift.SET:
		return w.list(depth)
	case thrift.STRUCT:
		return w.structure(depth + 1)
	}
	return errThrift // maps among them: Parquet has none
}

// list walks a list.
func (w *walker) list(depth int) error {
	c, err := w.byte()
	if err != nil {
		return err
	}
	n := uint64(c >> 4)
	if n == 15 {
		if n, err = w.number(); err != nil {
			return err
		}
	}
	// Every item is at least a byte.
	if n > uint64(len(w.b)) || n > uint64(maxThriftItems-w.items) {
		return errThrift
	}
	w.items += int(n)
	for range n {
		if err := w.value(thrift.Type(c&0xF), depth+1, true); err != nil {
			return err
		}
	}
	return nil
}
