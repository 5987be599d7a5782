package rule

import (
	"pintle/rig/motion"
	"pintle/rig/signal"
)

// A Watch tells when a condition comes to hold. It is fed like a Monitor and
// follows one condition at a time, the one last armed.
type Watch struct {
	stream
	armed int // -1: none
	met   bool
	when  signal.Span
}

// NewWatch compiles the conditions that can be armed.
func NewWatch(conditions []Condition) (*Watch, error) {
	w := &Watch{armed: -1}
	w.changed = w.look
	for _, c := range conditions {
		if _, err := w.add(c, false); err != nil {
			return nil, err
		}
	}
	w.lo, w.hi = 1, 0
	return w, nil
}

// Begin starts anew, with nothing armed.
func (w *Watch) Begin(_ signal.Instant, lines [signal.LineCount]signal.Level, motor motion.State) {
	w.armed, w.met = -1, false
	w.begin(lines, motor)
	w.lo, w.hi = 1, 0
}

// Arm makes condition i the one that is followed. A state that holds already is
// met at once, at the span of its coming to be; an event must come from now on.
func (w *Watch) Arm(i int) {
	w.flush()
	w.armed, w.met = i, false
	if c := w.conds[i]; c.is {
		w.met, w.when = true, c.last.span
	}
}

// Met says whether the armed condition has come to hold, and when.
func (w *Watch) Met() (signal.Span, bool) {
	if w.armed >= 0 && w.stream.at.known {
		w.flush()
	}
	return w.when, w.met
}

func (w *Watch) look(at stamp) {
	if w.armed < 0 || w.met {
		return
	}
	if c := w.conds[w.armed]; c.rose || c.point {
		w.met, w.when = true, at.span
	}
}

// Edge takes a change of a line.
func (w *Watch) Edge(e signal.EdgeSeen) { w.edge(e) }

// Motor takes a change of the motor.
func (w *Watch) Motor(c motion.Change) { w.motor(c) }

// Sample takes a reading of the current.
func (w *Watch) Sample(s signal.Sample) {
	if size := s.Current.Abs(); size < w.lo || size > w.hi {
		w.current(s, size)
		w.lo, w.hi = w.band()
	}
	w.prev, w.sampled = s, true
}
