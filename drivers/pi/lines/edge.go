package lines

// An Edge is a change of a sensed line.
type Edge struct {
	Line  int    // index into the inputs that were asked for
	Level bool   // logical, after the edge
	At    int64  // nanoseconds on CLOCK_MONOTONIC, by the kernel's interrupt
	Seq   uint32 // among all edges of the request, from 1
	Own   uint32 // among the edges of this line, from 1
	// Lost is how many edges of any line the kernel threw away between the one before
	// and this one. If it is not 0, what the lines did is not known: that is a trouble.
	Lost uint32
}

// A counter finds gaps in sequence numbers, which may run over.
type counter struct{ last uint32 }

func (c *counter) lost(seq uint32) uint32 {
	n := seq - c.last - 1
	c.last = seq
	return n
}
