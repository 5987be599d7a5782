package gate

import (
	"math"
	"time"

	"pintle/rig/linear"
)

const (
	// mostNodes bounds a plan that would not end, such as a gate without friction on
	// a spring.
	mostNodes = 50_000
	// A gate that has gone less than leastHop in this time while it moved freely
	// has come to rest against its load.
	creeping = time.Second
)

// The first and the longest stretch of a motion, in bits of nanoseconds. Events
// are found by halving the stretch in which they lie, so that no result hangs on
// them; tests change them to see that.
var (
	firstBit = 12
	mostBit  = linear.Bits - 1
)

// A wall is what the gate cannot pass.
type wall struct {
	place   float64 // infinite where there is none
	rebound float64 // speed after meeting it over the speed before
}

// regime is the set of equations in force.
type regime uint8

const (
	still     regime = iota // the gate stands; current may flow
	turning                 // current flows, the gate moves
	unpowered               // no current
)

// A node is where a stretch of motion begins. The state is in the drive's
// variables. Between two nodes the gate never turns round.
type node struct {
	at     time.Duration
	s      linear.State
	u      linear.Input
	regime regime
	seg    int
}

// A mover is a drive in motion: it works out, from a state on, all that will come
// of it.
type mover struct {
	d       *Drive
	drives  float64 // +1 opening, -1 closing, 0 with the bridge open
	supply  float64 // share of the battery's voltage
	lo, hi  wall
	nodes   []node  // never empty once planned; the last one lasts for ever
	node            // the cursor
	way     float64 // +1, -1: where it moves
	against float64 // with the bridge open: the sign of the current that dies away through the diodes
	hops    int
	smooth  bool // only the load's slope has changed: the next stretch may begin as long as the last was,
	reached int  // in bits of nanoseconds
	held    bool // the last node: the motor drives, and the gate cannot move
}

// plan works out the motion from the cursor's state on.
func (p *mover) plan() {
	p.nodes, p.at, p.hops, p.smooth = p.nodes[:0], 0, 0, false
	p.arrive()
	for !p.settle() && len(p.nodes) < mostNodes {
		if !p.run() {
			break
		}
	}
	p.s[1] = 0
	if p.drives == 0 {
		p.s[0], p.against = 0, 0
	}
	p.regime, p.held = still, p.drives != 0
	p.u = linear.Input{p.voltage() / p.d.machine.Motor.Inductance, 0}
	p.push()
}

func (p *mover) push() { p.nodes = append(p.nodes, p.node) }

// voltage is what drives the current: the battery one way or the other, against
// the current while that dies away through the diodes, nothing without current.
func (p *mover) voltage() float64 {
	sign := p.drives
	if sign == 0 {
		sign = -p.against
	}
	return float64(p.d.volts * p.supply * sign)
}

// settle picks the equations for the state. It says whether the gate stands for
// good.
func (p *mover) settle() bool {
	i, w := p.s[0], p.s[1]
	p.against = 0
	if p.drives == 0 {
		p.against = linear.Sign(i)
	}
	v := p.voltage()
	p.u = linear.Input{v / p.d.machine.Motor.Inductance, 0}
	p.way = linear.Sign(w)
	if w == 0 {
		if p.stays(i) {
			p.regime = still
			end := 0.0
			if p.drives != 0 {
				end = v / p.d.ohms
			}
			return p.stays(end) && p.against == 0
		}
		p.way = linear.Sign(p.torque(i))
	}
	p.regime = turning
	if p.drives == 0 && i == 0 {
		p.regime = unpowered
	}
	p.seg = p.d.segmentAt(p.s[2], p.way)
	p.u[1] = -(p.d.segments[p.seg].c + float64(p.way*p.d.coulomb)) / p.d.inertia
	return false
}

// torque is the torque that moves the gate if nothing holds it, positive to open.
func (p *mover) torque(i float64) float64 {
	return float64(p.d.machine.Motor.Constant*i) - p.d.load(p.s[2])
}

// stays says whether a standing gate stands on under a current.
func (p *mover) stays(i float64) bool {
	t := p.torque(i)
	switch {
	case t > 0 && p.s[2] >= p.hi.place, t < 0 && p.s[2] <= p.lo.place:
		return true
	}
	return math.Abs(t) <= p.d.static
}

// table is the solution of the equations in force.
func (p *mover) table() *linear.Triples { return p.d.table(&p.node) }

func (d *Drive) table(n *node) *linear.Triples {
	switch n.regime {
	case turning:
		return d.segments[n.seg].turning
	case unpowered:
		return d.segments[n.seg].coasting
	}
	return d.held
}

// ahead is the barrier that the gate moves towards.
func (p *mover) ahead() *wall {
	if p.way > 0 {
		return &p.hi
	}
	return &p.lo
}

// holds says whether the equations in force still apply to a state.
func (p *mover) holds(s linear.State) bool {
	if p.against != 0 && float64(s[0]*p.against) <= 0 {
		return false
	}
	if p.regime == still {
		return p.stays(s[0])
	}
	if float64(s[1]*p.way) < 0 {
		return false
	}
	seg := &p.d.segments[p.seg]
	if p.way > 0 {
		return s[2] < min(seg.to, p.hi.place)
	}
	return s[2] > max(seg.from, p.lo.place)
}

// run follows the equations in force until they no longer apply, and changes the
// state over there. It says no where the gate has crept to a standstill.
func (p *mover) run() bool {
	t := p.table()
	most := min(mostBit, p.quarter())
	mark, place := p.at, p.s[2]
	p.push()
	n := firstBit
	if p.smooth {
		n = p.reached
	}
	for ; ; n += 2 {
		if n = min(n, mostBit); n > most {
			n = p.steadyFor(t, n, most)
		}
		next := t.Bit(n).Apply(p.s, p.u)
		for n > 0 && n <= most && p.dips(t, next, n) {
			n--
			next = t.Bit(n).Apply(p.s, p.u)
		}
		lasts, next := p.toZero(t, time.Duration(1)<<n, next)
		ends := !p.holds(next)
		if ends {
			lasts, next = t.First(lasts, p.s, p.u, p.holds)
		}
		if p.creeps(t, lasts, &mark, &place) {
			return false
		}
		p.s, p.at = next, p.at+lasts
		if ends {
			p.reached = n
			p.cross(t)
			return true
		}
		if len(p.nodes) >= mostNodes || p.at > longestTime {
			return false
		}
		p.push()
	}
}

// toZero shortens the stretch that lies ahead where a current that dies away through the
// diodes comes to nothing within it and, were they to let it, back again: a load that drives
// the motor does that. The stretch then ends where the current is furthest past nothing.
func (p *mover) toZero(t *linear.Triples, lasts time.Duration, next linear.State) (time.Duration, linear.State) {
	dies := func(s linear.State) bool { return float64(t.Rate(s, p.u)[0]*p.against) < 0 }
	if p.against == 0 || !dies(p.s) || dies(next) {
		return lasts, next
	}
	if least, s := t.First(lasts, p.s, p.u, dies); float64(s[0]*p.against) <= 0 {
		return least, s
	}
	return lasts, next
}

// creeps says whether, within the stretch that lies ahead, the gate is found to have crept
// to a standstill, and goes to that instant. It is looked at in every second since the mark,
// at which it was in its place, wherever stretches begin and end.
func (p *mover) creeps(t *linear.Triples, lasts time.Duration, mark *time.Duration, place *float64) bool {
	if p.regime == still {
		return false
	}
	for p.at+lasts-*mark >= creeping {
		*mark += creeping
		s := t.Over(*mark-p.at, p.s, p.u)
		if math.Abs(s[2]-*place) < leastHop {
			p.s, p.at = s, *mark
			return true
		}
		*place = s[2]
	}
	return false
}

// quarter is the longest stretch, in bits, in which a swinging speed cannot come
// through zero twice.
func (p *mover) quarter() int {
	switch p.regime {
	case turning:
		return p.d.segments[p.seg].mostTurn
	case unpowered:
		return p.d.segments[p.seg].mostCoast
	}
	return mostBit
}

// steadyFor is the longest stretch of up to 2^n nanoseconds over which the speed
// certainly does not come down to zero, however it swings; at least 2^least.
//
// L i'² + J w'² cannot grow but by the load's slope, for resistance and friction
// only take from it. So with e its root over J, q the slope over J·span, A the
// greatest acceleration there can be within h, and w + h·A the greatest speed:
// A ≤ e + q·h·(w + h·A).
func (p *mover) steadyFor(t *linear.Triples, n, least int) int {
	if p.regime == still || p.against != 0 {
		return least
	}
	rate, w := t.Rate(p.s, p.u), math.Abs(p.s[1])
	e := math.Sqrt(float64(p.d.machine.Motor.Inductance*rate[0]*rate[0])/p.d.inertia + float64(rate[1]*rate[1]))
	q := math.Abs(p.d.segments[p.seg].k) / (p.d.inertia * p.d.span)
	for ; n > least; n-- {
		h := float64(int64(1)<<n) * 1e-9
		room := 1 - float64(q*h*h)
		if room > 0 && float64(h*(e+float64(q*h*w))) < float64(w*room) {
			return n
		}
	}
	return least
}

// dips says whether the speed, above zero at both ends of a stretch of 2^n
// nanoseconds, may have been below zero within it.
func (p *mover) dips(t *linear.Triples, next linear.State, n int) bool {
	if p.regime == still || float64(next[1]*p.way) < 0 {
		return false
	}
	a := t.Rate(p.s, p.u)[1] * p.way
	if a >= 0 || t.Rate(next, p.u)[1]*p.way <= 0 {
		return false
	}
	return float64(p.s[1]*p.way)+float64(a*float64(int64(1)<<n)*1e-9) < 0
}

// cross changes the state over where the equations no longer apply. What was to
// happen did so within the nanosecond that has just gone by, and the little that
// is left of it goes by after the change.
func (p *mover) cross(t *linear.Triples) {
	p.smooth = false
	if p.against != 0 && float64(p.s[0]*p.against) <= 0 {
		p.s[0] = 0
		return
	}
	if p.regime == still {
		return
	}
	a := t.Rate(p.s, p.u)[1]
	left := 0.0
	switch {
	case float64((p.ahead().place-p.s[2])*p.way) <= 0 && float64(p.s[1]*p.way) > 0:
		left = min(float64((p.s[2]-p.ahead().place)*p.d.span)/p.s[1], 1e-9)
		p.s[1] -= float64(a * left)
		p.arrive()
	case float64(p.s[1]*p.way) < 0:
		left = min(p.s[1]/a, 1e-9)
		p.s[1] = 0
	default:
		p.smooth = true
		return
	}
	if p.settle(); p.regime == still {
		return
	}
	after := p.table().Rate(p.s, p.u)
	p.s[2] += float64(after[2] * left)
	p.s[1] += float64(after[1] * left)
	if float64(p.s[1]*p.way) < 0 {
		p.s[1] = 0
	}
}

// arrive is what happens to a gate that moves into a barrier that it is at: its
// speed turns round where it hops off it, and is gone otherwise.
func (p *mover) arrive() {
	p.way = linear.Sign(p.s[1])
	b := p.ahead()
	if p.way == 0 || float64((b.place-p.s[2])*p.way) > 0 {
		return
	}
	p.s[2] = b.place
	w := -float64(b.rebound * p.s[1])
	back := float64(p.way*p.torque(p.s[0])) + p.d.coulomb // what brings it back
	p.hops++
	if p.hops > mostHops || float64(w*w)/2*p.d.inertia <= leastHop*p.d.span*back || math.Abs(w) <= leastHop*p.d.span {
		w = 0
	}
	p.s[1] = w
}

// state is the state at a time from the base on.
func (p *mover) state(t time.Duration) linear.State {
	n := p.find(t)
	if n.regime == still && t-n.at > time.Minute {
		return p.d.held.Over(time.Minute, n.s, n.u)
	}
	return p.d.table(n).Over(t-n.at, n.s, n.u)
}

// find is the node in force at a time.
func (p *mover) find(t time.Duration) *node {
	low, high := 0, len(p.nodes)
	for high-low > 1 {
		if mid := (low + high) / 2; p.nodes[mid].at <= t {
			low = mid
		} else {
			high = mid
		}
	}
	return &p.nodes[low]
}

// passes is the first whole nanosecond at which the gate has come to a place on
// its way from a node to the next.
func (p *mover) passes(i int, place, dir float64) time.Duration {
	n, end := &p.nodes[i], p.nodes[i+1].at
	if end <= n.at+1 {
		return end
	}
	d, _ := p.d.table(n).First(end-n.at, n.s, n.u, func(s linear.State) bool { return float64((place-s[2])*dir) > 0 })
	return n.at + d
}
