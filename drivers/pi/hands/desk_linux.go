package hands

import (
	"fmt"
	"sync/atomic"
	"unsafe"

	"golang.org/x/sys/unix"

	"pintle/rig/signal"
)

// The sizes of the desk. A window is as much of a line's future as the hands have at
// once: bursts of a bouncing contact have some hundred edges.
const (
	windowEdges = 1024
	ringNotes   = 1 << 14
	deskMagic   = 0x70696e746c650006 // changes with the layout
)

// A deskEdge is an edge to come. Its number counts the edges of one plan, so that a
// window laid out anew does not repeat what has been done.
type deskEdge struct {
	at     int64 // CLOCK_MONOTONIC, nanoseconds
	number uint32
	made   uint32
}

// A window is part of one line's future. It is written by the conductor alone: seq is
// odd while that goes on. All of it is atomic, since other than those of a PC an ARM
// processor may swap what is written with the change of seq before or after it.
type window struct {
	seq   atomic.Uint64
	plan  atomic.Uint64 // which plan it is part of
	count atomic.Int64
	edges [windowEdges]sharedEdge
}

// A sharedEdge is a deskEdge in a window.
type sharedEdge struct {
	at   atomic.Int64
	what atomic.Uint64 // twice its number, and one more where it is made
}

func (s *sharedEdge) store(e deskEdge) {
	s.at.Store(e.at)
	s.what.Store(uint64(e.number)<<1 | uint64(e.made&1))
}

func (s *sharedEdge) load() deskEdge {
	what := s.what.Load()
	return deskEdge{at: s.at.Load(), number: uint32(what >> 1), made: uint32(what & 1)}
}

// noteKind says what a note is of.
type noteKind uint32

const (
	emitted noteKind = 1
	sensed  noteKind = 2
	sampled noteKind = 3
)

// A note is one thing that happened.
type note struct {
	kind    noteKind
	line    uint32
	made    uint32
	_       uint32
	planned int64 // of emitted
	early   int64
	late    int64
	value   int64 // of sampled: microamperes
	arrived int64 // of sampled
}

// A ring is notes from one thread of the hands to the conductor.
type ring struct {
	written atomic.Uint64
	taken   atomic.Uint64
	lost    loss
	notes   [ringNotes]note
}

// A loss is how many things were lost on the way to the conductor, and when the latest of
// them was seen: what was lost before a trial began is not that trial's business.
type loss struct {
	count atomic.Uint64
	at    atomic.Int64
}

// add is called by one thread, or by several that do not care whose instant stays.
func (l *loss) add(n uint64, at int64) {
	l.at.Store(at) // first: who counts it sees when it was
	l.count.Add(n)
}

// since is how many there are in all, and whether the latest was seen after an instant.
func (l *loss) since(instant int64) (count uint64, later bool) {
	count = l.count.Load()
	return count, l.at.Load() > instant
}

// put lays down a note of what was seen at an instant. Where the conductor has not taken
// any for so long that there is no room, the note is counted as lost, which makes a trial
// void that had begun by then.
func (r *ring) put(n *note, at int64) {
	w := r.written.Load()
	if w-r.taken.Load() >= ringNotes {
		r.lost.add(1, at)
		return
	}
	r.notes[w%ringNotes] = *n
	r.written.Store(w + 1)
}

// take takes the oldest note.
func (r *ring) take(n *note) bool {
	t := r.taken.Load()
	if t == r.written.Load() {
		return false
	}
	*n = r.notes[t%ringNotes]
	r.taken.Store(t + 1)
	return true
}

// forget drops all that lies there. It is the conductor who does.
func (r *ring) forget() { r.taken.Store(r.written.Load()) }

// A desk is the memory that both processes share.
type desk struct {
	magic     uint64
	beat      atomic.Int64 // when the conductor last gave a sign of life
	done      atomic.Int64 // everything due up to then has been done, and laid down
	safeAsked atomic.Uint64
	safeDone  atomic.Uint64
	quit      atomic.Uint32
	tripped   atomic.Uint32 // a Trip
	tripAt    atomic.Int64
	supply    atomic.Uint32 // is on
	heard     atomic.Int64  // when the meter last spoke
	sensed    atomic.Uint32 // lines that are sensed as made: a signal.LineSet
	pinsAsked atomic.Uint64
	pinsDone  atomic.Uint64
	pins      atomic.Uint32 // driven lines that are made as their pins were read: a signal.LineSet
	pinsShut  atomic.Uint32 // they could not be read
	wakes     wakes
	edges     loss          // sensed edges that the kernel threw away
	said      atomic.Uint64 // how much was said in words, which take their time
	unsaid    loss          // words that found no room
	windows   [signal.LineCount]window
	lines     ring
	meter     ring
}

// newDesk makes the memory, without a name that anybody else could open.
func newDesk() (*desk, int, error) {
	fd, err := unix.MemfdCreate("pintle-desk", unix.MFD_CLOEXEC)
	if err != nil {
		return nil, -1, fmt.Errorf("make the shared memory: %w", err)
	}
	if err := unix.Ftruncate(fd, int64(unsafe.Sizeof(desk{}))); err != nil {
		_ = unix.Close(fd)
		return nil, -1, fmt.Errorf("size the shared memory: %w", err)
	}
	d, err := mapDesk(fd)
	if err != nil {
		_ = unix.Close(fd)
		return nil, -1, err
	}
	d.magic = deskMagic
	return d, fd, nil
}

func mapDesk(fd int) (*desk, error) {
	b, err := unix.Mmap(fd, 0, int(unsafe.Sizeof(desk{})), unix.PROT_READ|unix.PROT_WRITE, unix.MAP_SHARED)
	if err != nil {
		return nil, fmt.Errorf("map the shared memory: %w", err)
	}
	return (*desk)(unsafe.Pointer(&b[0])), nil
}

func (d *desk) unmap() error {
	return unix.Munmap(unsafe.Slice((*byte)(unsafe.Pointer(d)), unsafe.Sizeof(desk{})))
}

// lay writes a window.
func (w *window) lay(plan uint64, edges []deskEdge) {
	s := w.seq.Load()
	w.seq.Store(s + 1)
	n := min(len(edges), windowEdges)
	w.plan.Store(plan)
	w.count.Store(int64(n))
	for i := range n {
		w.edges[i].store(edges[i])
	}
	w.seq.Store(s + 2)
}

// read copies a window that differs from the one read last. It gives up while the
// window is being written: there is another turn soon.
func (w *window) read(into *laid) bool {
	s := w.seq.Load()
	if s == into.seq || s%2 == 1 {
		return false
	}
	plan, count := w.plan.Load(), min(max(w.count.Load(), 0), windowEdges)
	for i := range count {
		into.spare[i] = w.edges[i].load()
	}
	if w.seq.Load() != s {
		return false
	}
	if plan != into.plan {
		into.plan, into.number = plan, 0
	}
	into.seq, into.count, into.next = s, int(count), 0
	into.edges, into.spare = into.spare, into.edges
	for into.next < into.count && into.edges[into.next].number < into.number {
		into.next++
	}
	return true
}

// A laid is a window as the hands have read it.
type laid struct {
	seq          uint64
	plan         uint64
	number       uint32 // of the next edge of the plan
	count, next  int
	edges, spare []deskEdge
}

func newLaid() laid {
	return laid{edges: make([]deskEdge, windowEdges), spare: make([]deskEdge, windowEdges)}
}

// due is when the next edge is; signal.Never where there is none.
func (l *laid) due() int64 {
	if l.next >= l.count {
		return int64(signal.Never)
	}
	return l.edges[l.next].at
}

// pop takes the next edge.
func (l *laid) pop() deskEdge {
	e := l.edges[l.next]
	l.next++
	l.number = e.number + 1
	return e
}

// forget drops what is still to come, until another plan is laid out.
func (l *laid) forget() { l.count, l.next = 0, 0 }
