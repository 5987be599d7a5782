package livepage

import "sync/atomic"

// An entry is one thing for the paper.
type entry struct {
	at    int64 // nanoseconds on the paper
	value int64 // of a sample: microamperes
	line  uint8 // 0: a sample
	level uint8
}

// ringSize is how much may wait: half a minute of a meter of 1 kHz.
const ringSize = 1 << 15

// A ring is entries on their way from one goroutine to one other. Neither waits.
type ring struct {
	entries []entry
	written atomic.Uint64
	taken   atomic.Uint64
	lost    atomic.Uint64
	fill    uint64 // the writer's own: written
	limit   uint64 // the writer's own: there is room up to here at least
}

func newRing() *ring { return &ring{entries: make([]entry, ringSize)} }

// put lays an entry down, unless fewer than so many places are left. What finds no room
// is counted.
func (r *ring) put(e entry, leave uint64) {
	if r.fill+leave >= r.limit {
		r.limit = r.taken.Load() + ringSize
		if r.fill+leave >= r.limit {
			r.lost.Add(1)
			return
		}
	}
	r.entries[r.fill&(ringSize-1)] = e
	r.fill++
	r.written.Store(r.fill)
}

// take moves all that waits to the end of a list.
func (r *ring) take(into []entry) []entry {
	w, t := r.written.Load(), r.taken.Load()
	for ; t < w; t++ {
		into = append(into, r.entries[t&(ringSize-1)])
	}
	r.taken.Store(t)
	return into
}
