package gate

import (
	"fmt"
	"math"
	"time"

	"pintle/rig/linear"
	"pintle/rig/motion"
	"pintle/rig/signal"
)

// A Model is one gate. It is told what happens to it, in the order of time, and
// works out at each telling all that will come of it. An instant before the last
// thing told is taken as the instant of that.
//
// It moves like this. Driven, it runs up at a constant acceleration to full speed
// and keeps it until a stop or an obstacle holds it; there it stays without a
// hop. Without the motor it slows down at a constant rate. Driven against its
// motion it slows down at that rate or at the rate of the run-up, whichever is
// more, and then runs up the other way. Coasting into a stop it hops off it, and
// the motor may catch it in a hop. An obstacle takes all speed from it. A motor of
// which nothing is known does not drive.
//
// A gate with a Machine moves by its equations instead, between events that are
// found to the nanosecond: where the load changes its slope, where it stands or
// breaks away, where the current of an open bridge has died away, where it meets a
// stop, driven or not, or an obstacle.
//
// Everything is worked out in float64 seconds from the last thing told, so it is
// exact to about a picosecond; edges are at whole nanoseconds, each the first at
// which the gate has come past the sensor's place. A Model is used by one
// goroutine, and allocates nothing once its lists have grown.
type Model struct {
	opening, closing way
	motor            motion.State
	obstacle         obstacle
	base             signal.Instant // of the last thing told
	phases           []phase        // from the base on; never empty
	rows             []row          // the sensors' lines, in the order of their numbers
	stall            row
	lines            []signal.Line
	drawn            [3]signal.Current // opening, closing, stalled; for a gate without a machine

	// The cursor: where planning has come to.
	t, x, v float64
	kind    kind
	mover   *mover // moves a gate that has a machine; without one nil
}

// An obstacle stands on one side of the gate and is never passed. On neither
// side, it jams the gate where it is.
type obstacle struct {
	there bool
	place float64
	side  float64 // +1 where it keeps the gate from opening further, -1 from closing, 0 from both
}

// StartAt is the start of a gate at a place with nothing in its way.
func StartAt(position float64) Start { return Start{Position: position, Obstacle: -1} }

// New makes the model of a gate at its start, or reports every mistake.
func New(spec *Spec, start Start) (*Model, error) {
	if err := spec.Check(); err != nil {
		return nil, fmt.Errorf("gate: %w", err)
	}
	if err := start.Check(); err != nil {
		return nil, fmt.Errorf("start of the gate: %w", err)
	}
	m := &Model{
		opening: newWay(spec.Opening, 1, spec.Open, hopsOffOpen),
		closing: newWay(spec.Closing, -1, spec.Closed, hopsOffClosed),
		rows:    rowsOf(spec.Sensors),
		drawn:   [3]signal.Current{spec.OpeningCurrent, spec.ClosingCurrent, spec.StallCurrent},
	}
	for i := range m.rows {
		m.lines = append(m.lines, m.rows[i].line)
	}
	m.lines = append(m.lines, signal.StallLoad)
	if spec.Machine != nil {
		d, err := spec.compiled()
		if err != nil {
			return nil, fmt.Errorf("gate: %w", err)
		}
		m.mover = &mover{d: d}
	}
	m.Reset(start)
	return m, nil
}

// Reset puts the gate back to a start, at the origin, with the motor standing.
func (m *Model) Reset(start Start) {
	m.base, m.motor, m.kind = 0, motion.Stopped, resting
	m.x, m.v = min(max(start.Position, 0), 1), 0
	m.obstacle = obstacle{}
	if m.mover != nil {
		m.mover.node, m.mover.supply = node{s: linear.State{0, 0, m.x}}, 1
	}
	if start.Obstacle >= 0 {
		m.put(start.Obstacle)
	}
	for i := range m.rows {
		m.rows[i].begin(m.x)
	}
	m.plan()
}

// Motor tells that the motor went over into a state. Being told again of the
// state that it is in changes nothing.
func (m *Model) Motor(state motion.State, at signal.Instant) {
	if state == motion.Unknown {
		state = motion.Stopped
	}
	if state == m.motor {
		return
	}
	m.come(at)
	m.motor, m.kind = state, coasting
	m.plan()
}

// Obstruct puts an obstacle at a place in the gate's way, in place of any other,
// or where the gate is if the place is negative. A gate at a distance from it is
// held when it comes to it. A gate at that very place is stopped at once: if it
// was moving, the obstacle is in front of it, and it can back off; if it stood
// still, it is jammed and can move neither way.
func (m *Model) Obstruct(place float64, at signal.Instant) {
	if m.obstacle.there && m.obstacle.place == place {
		return
	}
	m.come(at)
	m.put(place)
	m.plan()
}

// Clear takes the obstacle away.
func (m *Model) Clear(at signal.Instant) {
	if !m.obstacle.there {
		return
	}
	m.come(at)
	m.obstacle = obstacle{}
	m.plan()
}

// Lines are the lines that the gate decides on: its sensors' lines and the load
// that stalls the motor. The slice is the model's own.
func (m *Model) Lines() []signal.Line { return m.lines }

// Level is the level of one of the gate's lines at an instant; an edge counts
// from its own instant on. Any other line is broken.
//
// What is told of the motor or an obstacle may change the stall load's level at
// that very instant.
func (m *Model) Level(line signal.Line, at signal.Instant) signal.Level {
	if r := m.row(line); r != nil {
		return r.level(at)
	}
	return signal.Broken
}

// Crossings appends to buf the edges of a line that come strictly after an
// instant if nothing else changes. They alternate, and the first is to the
// opposite of the level at that instant.
func (m *Model) Crossings(line signal.Line, after signal.Instant, buf []signal.Edge) []signal.Edge {
	if r := m.row(line); r != nil {
		return append(buf, r.edges[r.past(after):]...)
	}
	return buf
}

// Position is where the gate is at an instant: 0 closed, 1 open.
func (m *Model) Position(at signal.Instant) float64 {
	if m.mover != nil {
		return min(max(m.mover.state(m.since(at))[2], 0), 1)
	}
	p, t := m.phase(at)
	return p.position(t)
}

// Speed is how fast the gate moves at an instant, in travels per second, positive
// opening.
func (m *Model) Speed(at signal.Instant) float64 {
	if m.mover != nil {
		return m.mover.state(m.since(at))[1] / m.mover.d.span
	}
	p, t := m.phase(at)
	return p.speed(t)
}

// Current is what the motor draws at an instant, positive opening. Without a
// machine it is the Spec's: of the way that the motor drives, or of a stall.
func (m *Model) Current(at signal.Instant) signal.Current {
	if m.mover != nil {
		return signal.Current(math.Round(float64(m.mover.state(m.since(at))[0] * 1e6)))
	}
	drawn := m.drawn[0]
	switch {
	case m.Level(signal.StallLoad, at) == signal.Made:
		drawn = m.drawn[2]
	case m.motor == motion.Closing:
		drawn = m.drawn[1]
	}
	switch m.motor {
	case motion.Opening:
		return drawn
	case motion.Closing:
		return -drawn
	}
	return 0
}

// Supply tells that the battery gives a fraction of its voltage from now on: 1 is
// all of it, and a negative one counts as 0. While the bridge is open this matters
// only to current that dies away. A gate without a machine does not care.
func (m *Model) Supply(fraction float64, at signal.Instant) {
	if m.mover == nil || m.mover.supply == fraction {
		return
	}
	m.come(at)
	m.mover.supply = max(fraction, 0)
	m.plan()
}

// since is how long an instant is after the base; one before it counts as the base.
func (m *Model) since(at signal.Instant) time.Duration { return max(at, m.base).Sub(m.base) }

// phase gives the phase at an instant, and the instant in seconds from the base.
func (m *Model) phase(at signal.Instant) (phase, float64) {
	t := float64(max(at, m.base)-m.base) / 1e9
	low, high := 0, len(m.phases)
	for high-low > 1 {
		if mid := (low + high) / 2; m.phases[mid].t <= t+rounding {
			low = mid
		} else {
			high = mid
		}
	}
	return m.phases[low], t
}

// come moves the base, with the cursor and all levels, to an instant.
func (m *Model) come(at signal.Instant) {
	at = max(at, m.base)
	if m.mover != nil {
		m.mover.s = m.mover.state(m.since(at))
		m.x, m.v = m.mover.s[2], m.mover.s[1]/m.mover.d.span
	} else {
		p, t := m.phase(at)
		m.x, m.v, m.kind = p.position(t), p.speed(t), p.kind
	}
	for i := range m.rows {
		m.rows[i].come(at)
	}
	m.base = at
}

// put places an obstacle.
func (m *Model) put(place float64) {
	if !(place >= 0) { // not a number counts as here
		place = m.x
	}
	o := obstacle{there: true, place: min(place, 1)}
	side := o.place - m.x
	if side == 0 {
		side = m.v
	}
	switch {
	case side > 0:
		o.side = 1
	case side < 0:
		o.side = -1
	}
	m.obstacle = o
}

// barrier is the place at which the gate cannot go further along w, and whether
// it is the stop.
func (m *Model) barrier(w *way) (float64, bool) {
	if m.obstacle.there && m.obstacle.side*w.dir >= 0 {
		return m.obstacle.place, false
	}
	if w.dir > 0 {
		return 1, true
	}
	return 0, true
}

// going is the way that the gate moves.
func (m *Model) going() *way {
	if m.v < 0 {
		return &m.closing
	}
	return &m.opening
}

func (m *Model) other(w *way) *way {
	if w == &m.opening {
		return &m.closing
	}
	return &m.opening
}
