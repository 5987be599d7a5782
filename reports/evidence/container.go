package evidence

import (
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"io"
)

// An entry is one file in the container, and all that is not fixed about it.
type entry struct {
	name string
	size uint32
	crc  uint32 // CRC-32 of the bytes
	at   int64  // where its header begins
}

// data is where its bytes begin.
func (e entry) data() int64 { return e.at + int64(localSize+len(e.name)) }

// end is where they end.
func (e entry) end() int64 { return e.data() + int64(e.size) }

const (
	localSize   = 30
	centralSize = 46
	localMark   = 0x04034b50
	centralMark = 0x02014b50
	endMark     = 0x06054b50
	end64Mark   = 0x06064b50
	find64Mark  = 0x07064b50

	needs   = 20         // version 2.0 of the format reads it
	needs64 = 45         // and 4.5 reads more than 65 534 entries, or 4 GiB
	madeBy  = 3<<8 | 20  // Unix, so that the permissions hold
	date    = 1<<5 | 1   // 1980-01-01, the first day that the format knows
	access  = 0o100644   // an ordinary file that everybody may read
	most16  = 0xffff     // says that the number stands in the larger end record
	most32  = 0xffffffff // likewise, or in the extra field
)

// local is the header before an entry's bytes.
func (e entry) local() []byte {
	b := make([]byte, 0, localSize+len(e.name))
	b = binary.LittleEndian.AppendUint32(b, localMark)
	b = append16(b, needs, 0, 0, 0, date)
	b = append32(b, e.crc, e.size, e.size)
	b = append16(b, uint16(len(e.name)), 0)
	return append(b, e.name...)
}

// central is the entry's line in the directory at the end. Where the entry begins
// beyond 4 GiB, an extra field says so.
func (e entry) central() []byte {
	var extra []byte
	version, at := uint16(needs), uint32(most32)
	if e.at < most32 {
		at = uint32(e.at)
	} else {
		version, extra = needs64, append64(append16(nil, 1, 8), uint64(e.at))
	}
	b := make([]byte, 0, centralSize+len(e.name)+len(extra))
	b = binary.LittleEndian.AppendUint32(b, centralMark)
	b = append16(b, madeBy, version, 0, 0, 0, date)
	b = append32(b, e.crc, e.size, e.size)
	b = append16(b, uint16(len(e.name)), uint16(len(extra)), 0, 0, 0)
	b = append32(b, access<<16, at)
	b = append(b, e.name...)
	return append(b, extra...)
}

// ending is what follows the directory: n entries, size bytes of directory at at.
func ending(n int, size, at int64) []byte {
	var b []byte
	if n >= most16 || size >= most32 || at >= most32 {
		b = binary.LittleEndian.AppendUint32(b, end64Mark)
		b = append64(b, 44)
		b = append16(b, madeBy, needs64)
		b = append32(b, 0, 0)
		b = append64(b, uint64(n), uint64(n), uint64(size), uint64(at))
		b = append32(b, find64Mark, 0)
		b = append64(b, uint64(at+size))
		b = append32(b, 1)
	}
	count := uint16(min(n, most16))
	b = binary.LittleEndian.AppendUint32(b, endMark)
	b = append16(b, 0, 0, count, count)
	b = append32(b, uint32(min(size, most32)), uint32(min(at, most32)))
	return append16(b, 0)
}

func append16(b []byte, vs ...uint16) []byte {
	for _, v := range vs {
		b = binary.LittleEndian.AppendUint16(b, v)
	}
	return b
}

func append32(b []byte, vs ...uint32) []byte {
	for _, v := range vs {
		b = binary.LittleEndian.AppendUint32(b, v)
	}
	return b
}

func append64(b []byte, vs ...uint64) []byte {
	for _, v := range vs {
		b = binary.LittleEndian.AppendUint64(b, v)
	}
	return b
}

// A packer writes a container from front to back.
type packer struct {
	w       io.Writer
	entries []entry
	at      int64
}

func (p *packer) write(b []byte) error {
	n, err := p.w.Write(b)
	p.at += int64(n)
	return err
}

// add writes an entry.
func (p *packer) add(name string, data []byte) error {
	if int64(len(data)) > most(name) {
		return fmt.Errorf("%w: %s has %d bytes, and at most %d are read", ErrTooLarge, name, len(data), most(name))
	}
	e := entry{name: name, size: uint32(len(data)), crc: crc32.ChecksumIEEE(data), at: p.at}
	p.entries = append(p.entries, e)
	if err := p.write(e.local()); err != nil {
		return err
	}
	return p.write(data)
}

// close writes the directory.
func (p *packer) close() error {
	at := p.at
	for _, e := range p.entries {
		if err := p.write(e.central()); err != nil {
			return err
		}
	}
	return p.write(ending(len(p.entries), p.at-at, at))
}
