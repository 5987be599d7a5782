package hands

import (
	"sync/atomic"
	"time"
)

// As many wakes as there is room for: those of some ten seconds.
const mostWakes = 1 << 14

// A wakes is by how much the thread of the lines was woken late, each time that it slept:
// the machine's own share of an edge that is late. What finds no room is dropped, as
// nothing hangs on it.
type wakes struct {
	written atomic.Uint64
	taken   atomic.Uint64
	late    [mostWakes]atomic.Int64
}

func (w *wakes) put(late int64) {
	n := w.written.Load()
	if late < 0 || n-w.taken.Load() >= mostWakes { // woken by a signal
		return
	}
	w.late[n%mostWakes].Store(late)
	w.written.Store(n + 1)
}

func (w *wakes) take() (late []time.Duration) {
	n := w.written.Load()
	for t := w.taken.Load(); t < n; t++ {
		late = append(late, time.Duration(w.late[t%mostWakes].Load()))
	}
	w.taken.Store(n)
	return late
}

// Woke gives by how much later than it asked to the thread of the lines was woken, each
// time since it was last asked for.
func (h *Hands) Woke() []time.Duration { return h.desk.wakes.take() }
