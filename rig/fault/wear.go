package fault

import (
	"time"

	"pintle/rig/signal"
)

// hastenBreaks moves each breaking to an earlier instant, as hasten does.
func (f Fault) hastenBreaks(t *signal.Timeline, _ random) {
	for i := range t.Edges {
		e := &t.Edges[i]
		if e.Level == signal.Made {
			continue
		}
		at := max(e.At-signal.Instant(f.By), min(e.At, 1))
		if i > 0 {
			at = max(at, t.Edges[i-1].At+1)
		}
		e.At = at
	}
}

// breakLate holds the contact for a while after it should have broken. A contact
// that is made again by then has never broken.
func (f Fault) breakLate(t *signal.Timeline, _ random) {
	w, clean := rewrite(t)
	for i, e := range clean {
		switch {
		case e.Level == signal.Made:
			w.put(e.At, signal.Made)
		case e.At.Add(f.By) < end(clean[i+1:]):
			w.put(e.At.Add(f.By), signal.Broken)
		}
	}
	w.finish(t)
}

// pulse makes the contact for a while only. One that is made from the start has
// pulsed before that.
func (f Fault) pulse(t *signal.Timeline, _ random) {
	w, clean := rewrite(t)
	t.Initial, w.level = signal.Broken, signal.Broken
	for i, e := range clean {
		if e.Level == signal.Made {
			w.put(e.At, signal.Made)
			w.put(min(e.At.Add(f.By), end(clean[i+1:])), signal.Broken)
		}
	}
	w.finish(t)
}

// drift makes the contact later each time, by no more than the longest time that
// a fault can have. Where it should have broken by then it does not make at all.
func (f Fault) drift(t *signal.Timeline, _ random) {
	w, clean := rewrite(t)
	var late time.Duration
	for i, e := range clean {
		if e.Level == signal.Broken {
			w.put(e.At, signal.Broken)
			continue
		}
		if at := e.At.Add(late); at < end(clean[i+1:]) {
			w.put(at, signal.Made)
		}
		late = min(late+f.By, longest)
	}
	w.finish(t)
}
