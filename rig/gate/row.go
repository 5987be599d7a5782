package gate

import (
	"math"

	"pintle/rig/signal"
)

// A contact is a sensor and what it will do.
type contact struct {
	Sensor
	made bool // by where the gate is at the base, whatever the line shows yet
	edging
}

// A row is one line and what it will do: it is made while any of its contacts is.
type row struct {
	line     signal.Line
	contacts []contact
	edging
	spare []signal.Edge
}

// An edging is a level at the model's base and the edges that come after it.
type edging struct {
	first signal.Level
	edges []signal.Edge
}

// past counts the edges up to and at an instant.
func (e *edging) past(at signal.Instant) int {
	low, high := 0, len(e.edges)
	for low < high {
		if mid := (low + high) / 2; e.edges[mid].At <= at {
			low = mid + 1
		} else {
			high = mid
		}
	}
	return low
}

func (e *edging) level(at signal.Instant) signal.Level {
	if n := e.past(at); n > 0 {
		return e.edges[n-1].Level
	}
	return e.first
}

// last is the level after all edges.
func (e *edging) last() signal.Level { return e.level(signal.Never) }

// add appends an edge to the other level. One that would come within the same
// nanosecond as the one before makes a pulse of no length: both go.
func (e *edging) add(at signal.Instant) {
	if n := len(e.edges); n > 0 && e.edges[n-1].At >= at {
		e.edges = e.edges[:n-1]
		return
	}
	e.edges = append(e.edges, signal.Edge{At: at, Level: e.last().Not()})
}

// rowsOf makes the rows of the sensors' lines, in the order of their numbers.
func rowsOf(sensors []Sensor) []row {
	var rows []row
	for line := signal.Line(1); line < signal.LineCount; line++ {
		r := row{line: line}
		for _, s := range sensors {
			if s.Line == line {
				r.contacts = append(r.contacts, contact{Sensor: s})
			}
		}
		if r.contacts != nil {
			rows = append(rows, r)
		}
	}
	return rows
}

// row finds a line's row, or nil.
func (m *Model) row(line signal.Line) *row {
	if line == signal.StallLoad {
		return &m.stall
	}
	for i := range m.rows {
		if m.rows[i].line == line {
			return &m.rows[i]
		}
	}
	return nil
}

// begin sets the levels of a gate that starts at a place.
func (r *row) begin(x float64) {
	for i := range r.contacts {
		c := &r.contacts[i]
		c.first, c.edges = signal.Broken, c.edges[:0]
		if x >= c.From && x <= c.To {
			c.first = signal.Made
		}
		c.made = c.first == signal.Made
	}
}

// come makes an instant the base. The row's own level is laid out anew. What the
// gate has done already and the line has yet to show stays on the list.
func (r *row) come(at signal.Instant) {
	for i := range r.contacts {
		c := &r.contacts[i]
		first, seen, done := c.level(at), c.past(at), c.past(at.Add(c.Delay))
		c.made = c.level(at.Add(c.Delay)) == signal.Made
		c.first, c.edges = first, append(c.edges[:0], c.edges[seen:done]...)
	}
}

// lay works out the edges that the planned phases make.
func (m *Model) lay() {
	for i := range m.rows {
		r := &m.rows[i]
		r.first, r.edges = signal.Broken, r.edges[:0]
		for k := range r.contacts {
			m.cross(&r.contacts[k])
			r.join(&r.contacts[k].edging)
		}
	}
	m.stall.first, m.stall.edges = signal.Broken, m.stall.edges[:0]
	switch t, stalls := m.stalls(); {
	case stalls && t <= m.base:
		m.stall.first = signal.Made
	case stalls:
		m.stall.add(t)
	}
}

// stalls says whether the motor will drive against a gate that cannot move, and
// from when on.
func (m *Model) stalls() (signal.Instant, bool) {
	if m.mover != nil {
		return m.base.Add(m.mover.nodes[len(m.mover.nodes)-1].at), m.mover.held
	}
	end := m.phases[len(m.phases)-1]
	if end.t <= rounding {
		return m.base, end.kind == held
	}
	return m.tick(end.t), end.kind == held
}

// cross works out one contact's edges. Going in it makes at the near end of its
// stretch, going out it breaks past the far end by the hysteresis. What the gate
// does before the line shows it, by the contact's delay, is on the list already
// from the plan before.
func (m *Model) cross(c *contact) {
	made := c.made
	for i := range m.stretches() {
		a, b := m.ends(i)
		in, out, dir := c.From, c.To+c.Hysteresis, 1.0
		if b < a {
			in, out, dir = c.To, c.From-c.Hysteresis, -1
		}
		if !made && a != b && touches(c, a, b) {
			c.add(m.passes(i, in, dir).Add(c.Delay))
			made = true
		}
		if made && (b-out)*dir > 0 {
			c.add(m.passes(i, out, dir).Add(c.Delay))
			made = false
		}
	}
}

// stretches is how many stretches of motion are planned before the gate rests.
func (m *Model) stretches() int {
	if m.mover != nil {
		return len(m.mover.nodes) - 1
	}
	return len(m.phases) - 1
}

// ends are the places between which the gate moves in a stretch.
func (m *Model) ends(i int) (from, to float64) {
	if m.mover != nil {
		return m.mover.nodes[i].s[2], m.mover.nodes[i+1].s[2]
	}
	return m.phases[i].x, m.phases[i+1].x
}

// passes is the first nanosecond, after the base, at which the gate has come to a
// place in a stretch.
func (m *Model) passes(i int, place, dir float64) signal.Instant {
	if m.mover != nil {
		return m.base.Add(max(1, m.mover.passes(i, place, dir)))
	}
	return m.tick(m.phases[i].passes(place, m.phases[i+1]))
}

// touches says whether the stretch from a to b has part of the contact's in it.
func touches(c *contact, a, b float64) bool {
	return max(a, b) >= c.From && min(a, b) <= c.To
}

// tick is the first nanosecond, after the base, at which t seconds from the base
// have passed.
func (m *Model) tick(t float64) signal.Instant {
	return m.base + max(1, signal.Instant(math.Ceil(float64((t-rounding)*1e9))))
}

// join makes the row made wherever it or the contact is.
func (r *row) join(c *edging) {
	if len(r.edges) == 0 && r.first == signal.Broken {
		r.first, r.edges = c.first, append(r.edges, c.edges...)
		return
	}
	was := edging{r.first, r.edges}
	all := edging{r.first | c.first, r.spare[:0]}
	for i, k := 0, 0; i < len(was.edges) || k < len(c.edges); {
		at := signal.Never
		if i < len(was.edges) {
			at = was.edges[i].At
		}
		if k < len(c.edges) {
			at = min(at, c.edges[k].At)
		}
		i, k = was.past(at), c.past(at)
		if was.level(at)|c.level(at) != all.last() {
			all.add(at)
		}
	}
	r.spare, r.edging = was.edges, all
}
