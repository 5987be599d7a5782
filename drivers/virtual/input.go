package virtual

import "pintle/rig/signal"

// An input is one input pin as firmware sees it: read at each look, and believed
// once it has read alike often enough.
type input struct {
	edges    []signal.Edge
	next     int          // the first edge that no look has seen
	raw      signal.Level // as last read
	heard    signal.Level // as last told by an interrupt, where there are any
	believed signal.Level
	differs  int // looks in a row at which raw was not what is believed
	needed   int // of these until it is believed
}

// plan takes a new future on. The level now counts as read.
func (in *input) plan(future signal.Timeline) {
	in.raw, in.edges, in.next = future.Initial, future.Edges, 0
}

// read brings the raw level up to an instant.
func (in *input) read(at signal.Instant) {
	for in.next < len(in.edges) && in.edges[in.next].At <= at {
		in.raw = in.edges[in.next].Level
		in.next++
	}
}

// look reads the pin, and says whether what is believed has changed by that.
func (in *input) look(at signal.Instant) (changed bool) {
	in.read(at)
	if in.raw == in.believed {
		in.differs = 0
		return false
	}
	in.differs++
	if in.differs < in.needed {
		return false
	}
	in.believe(in.raw)
	return true
}

// believe takes a level for granted.
func (in *input) believe(v signal.Level) { in.believed, in.differs = v, 0 }

// settled says that the pin needs no look before its next edge.
func (in *input) settled() bool { return in.differs == 0 && in.raw == in.believed }

// due is when the next edge comes.
func (in *input) due() signal.Instant {
	if in.next < len(in.edges) {
		return in.edges[in.next].At
	}
	return signal.Never
}

func (in *input) made() bool { return in.believed == signal.Made }
