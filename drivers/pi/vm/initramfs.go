package vm

import (
	"bytes"
	"fmt"
)

// An entry is one file or folder of the guest's first file system.
type entry struct {
	name string
	mode uint32 // with the file type, as stat(2) has it
	data []byte
}

// archive writes entries in the "newc" form of cpio, as the Linux kernel's own
// Documentation/driver-api/early-userspace/buffer-format.rst describes it.
func archive(entries []entry) []byte {
	var b bytes.Buffer
	for i, e := range append(entries, entry{name: "TRAILER!!!"}) {
		fmt.Fprintf(&b, "070701%08X%08X%08X%08X%08X%08X%08X%08X%08X%08X%08X%08X%08X",
			i+1, e.mode, 0, 0, 1, 0, len(e.data), 0, 0, 0, 0, len(e.name)+1, 0)
		b.WriteString(e.name)
		b.WriteByte(0)
		pad(&b)
		b.Write(e.data)
		pad(&b)
	}
	return b.Bytes()
}

func pad(b *bytes.Buffer) {
	for b.Len()%4 != 0 {
		b.WriteByte(0)
	}
}
