package evidence

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"errors"
	"fmt"
	"hash/crc32"
	"io"
	"slices"
)

// An unpacker reads a container from front to back. Nothing in it is taken on trust:
// the names are known before they are read, and what is fixed is compared.
type unpacker struct {
	r       io.ReaderAt
	size    int64
	at      int64
	entries []entry
	names   []string // all that has to be there, as far as it is known
	all     bool     // names are all
}

// get reads bytes that have to be there.
func (u *unpacker) get(at int64, n int) ([]byte, error) { return u.into(nil, at, n) }

// into is get with the bytes in the memory given, where that has room for them.
func (u *unpacker) into(memory []byte, at int64, n int) ([]byte, error) {
	if at < 0 || int64(n) > u.size-at {
		return nil, fmt.Errorf("%w: it ends at byte %d, within what begins at %d", ErrTruncated, u.size, at)
	}
	b := memory[:min(n, cap(memory))]
	if b == nil || len(b) < n { // what is empty is there all the same
		b = make([]byte, n)
	}
	if _, err := u.r.ReadAt(b, at); err != nil && !errors.Is(err, io.EOF) {
		return nil, fmt.Errorf("read %d bytes at %d: %w", n, at, err)
	} else if err != nil && int64(n) != u.size-at {
		return nil, fmt.Errorf("%w: read %d bytes at %d: %w", ErrTruncated, n, at, err)
	}
	return b, nil
}

// header is a local header as it is in the file, the name among it.
type header struct {
	name           string
	method         uint16
	crc, bare, raw uint32
	bytes          []byte
}

// header reads the local header at an offset; false where there is none.
func (u *unpacker) header(at int64) (header, bool, error) {
	if mark, err := u.get(at, 4); err != nil || binary.LittleEndian.Uint32(mark) != localMark {
		return header{}, false, err
	}
	b, err := u.get(at, localSize)
	if err != nil {
		return header{}, false, err
	}
	n := int(binary.LittleEndian.Uint16(b[26:]))
	b, err = u.get(at, localSize+n)
	if err != nil {
		return header{}, false, err
	}
	le := binary.LittleEndian
	return header{name: string(b[localSize:]), method: le.Uint16(b[8:]), crc: le.Uint32(b[14:]), bare: le.Uint32(b[18:]),
		raw: le.Uint32(b[22:]), bytes: b}, true, nil
}

// next finds the entry that has to come now.
func (u *unpacker) next(name string) (entry, error) {
	h, ok, err := u.header(u.at)
	if err != nil {
		return entry{}, err
	}
	if !ok || h.name != name {
		return entry{}, u.differs()
	}
	if h.method != 0 || h.bare != h.raw || int64(h.raw) > most(name) {
		return entry{}, fmt.Errorf("%s: %w: %d bytes are said to be %d", name, ErrBomb, h.bare, h.raw)
	}
	e := entry{name: name, size: h.raw, crc: h.crc, at: u.at}
	if !bytes.Equal(e.local(), h.bytes) {
		return entry{}, fmt.Errorf("%s: %w: what goes before it is another", name, ErrLayout)
	}
	if e.end() > u.size {
		return entry{}, fmt.Errorf("%s: %w: it has %d bytes, and %d are left", name, ErrTruncated, e.size, u.size-e.data())
	}
	u.entries, u.at = append(u.entries, e), e.end()
	return e, nil
}

// take reads the entry that has to come now.
func (u *unpacker) take(name string) ([]byte, error) {
	e, err := u.next(name)
	if err != nil {
		return nil, err
	}
	return u.read(e, nil)
}

// read reads the bytes of an entry, into the memory given where that has room.
func (u *unpacker) read(e entry, memory []byte) ([]byte, error) {
	b, err := u.into(memory, e.data(), int(e.size))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", e.name, err)
	}
	if crc32.ChecksumIEEE(b) != e.crc {
		return nil, fmt.Errorf("%s: %w: its CRC-32 is not the one before it", e.name, ErrChanged)
	}
	return b, nil
}

// differs says why an entry is not the one that has to come, from the names of all.
func (u *unpacker) differs() error {
	var got []string
	at := int64(0)
	for {
		h, ok, err := u.header(at)
		if err != nil {
			return err
		}
		if !ok {
			break
		}
		if !known(h.name) {
			return fmt.Errorf("%w: %q", ErrName, clip(h.name))
		}
		if h.method != 0 || h.bare != h.raw {
			return fmt.Errorf("%s: %w: it is compressed", h.name, ErrBomb)
		}
		got = append(got, h.name)
		at += int64(len(h.bytes)) + int64(h.raw)
	}
	if len(got) == 0 {
		return ErrNotRecord
	}
	return u.compare(got)
}

// compare holds the names that there are against those that have to be there.
func (u *unpacker) compare(got []string) error {
	seen := make(map[string]bool, len(got))
	for _, name := range got {
		if seen[name] {
			return fmt.Errorf("%w: %s", ErrDuplicate, name)
		}
		seen[name] = true
	}
	if !u.all && len(u.names) == 1 {
		return fmt.Errorf("%w: it does not begin with %s", ErrNotRecord, headName)
	}
	for _, name := range u.names {
		if !seen[name] {
			return fmt.Errorf("%w: %s", ErrRemoved, name)
		}
		delete(seen, name)
	}
	if u.all {
		for _, name := range got {
			if seen[name] {
				return fmt.Errorf("%w: %s", ErrAdded, name)
			}
		}
	}
	for i, name := range u.names {
		if i < len(got) && got[i] != name {
			return fmt.Errorf("%w: %s is where %s belongs", ErrReordered, got[i], name)
		}
	}
	return fmt.Errorf("%w: the entries of the file", ErrReordered)
}

// end checks all that follows the last entry.
func (u *unpacker) end() error {
	if _, ok, err := u.header(u.at); ok && err == nil {
		return u.differs()
	}
	begins := u.at
	rest := bufio.NewReaderSize(io.NewSectionReader(u.r, u.at, u.size-u.at), 1<<16)
	size := int64(0)
	for _, e := range u.entries {
		line := e.central()
		if err := same(rest, line, e.name+" in the directory"); err != nil {
			return err
		}
		size += int64(len(line))
	}
	if err := same(rest, ending(len(u.entries), size, begins), "the end"); err != nil {
		return err
	}
	if _, err := rest.ReadByte(); !errors.Is(err, io.EOF) {
		return fmt.Errorf("%w: there are bytes after its end", ErrAdded)
	}
	return nil
}

// same reads what has to come.
func same(r io.Reader, want []byte, what string) error {
	got := make([]byte, len(want))
	n, err := io.ReadFull(r, got)
	switch {
	case !bytes.Equal(got[:n], want[:n]):
		return fmt.Errorf("%w: %s", ErrLayout, what)
	case errors.Is(err, io.EOF), errors.Is(err, io.ErrUnexpectedEOF):
		return fmt.Errorf("%w: it ends within %s", ErrTruncated, what)
	case err != nil:
		return fmt.Errorf("read %s: %w", what, err)
	}
	return nil
}

// peek gives the name of what comes next; empty where no entry does.
func (u *unpacker) peek() (string, error) {
	h, _, err := u.header(u.at)
	return h.name, err
}

// expect adds names that have to be there.
func (u *unpacker) expect(names ...string) { u.names = slices.Concat(u.names, names) }
