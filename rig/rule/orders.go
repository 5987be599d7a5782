package rule

import (
	"math/bits"

	"pintle/rig/signal"
)

// A manifold body is one that can be copied, so that several orders are played.
type manifold interface {
	body
	take(from body)    // become a copy
	same(as body) bool // whether the two go on in the same way
}

// Orders play one rule in every order in which the changes that it looks at can
// have happened, each on a check of its own, so that the rule is decided only
// where all of them agree. A change waits until the clock has passed its span.
// Then all that may have come before it is known, and each check that has not put
// it in its place yet goes on as one check for each place it can have. Checks that
// have come to the same again are made one. Within one order, what was measured
// between two changes is still any value that their spans allow.
//
// With rules on readings there is one check, which the monitor tells of changes
// itself; the order is only watched, and where it cannot be told the rule is given
// up as inconclusive. So is any rule that becomes too much to follow: with more
// than maxOrders checks, more than maxHeard changes that wait, or more than maxFront
// sources any of which can be the next.
type orders struct {
	looks  uint64 // the facts that the rule looks at
	direct bool   // on readings
	all    []*check
	spare  []*check
	heard  []heard        // that wait: not in their place in every check
	wake   signal.Instant // nothing is to be done until the clock has passed it
	lost   bool           // the verdict is what it is
	over   signal.Instant // on readings: all that matters has come by then
}

// The bounds of what is followed.
const (
	maxOrders = 128
	maxHeard  = 64
	maxFront  = 6
)

func newOrders(c *check, ordered bool) *orders {
	o := &orders{direct: !ordered, all: []*check{c}}
	for _, x := range c.conds() {
		if x != nil {
			o.looks |= x.looks
		}
	}
	return o
}

func (o *orders) begin(at signal.Instant, word uint64) {
	o.drop(1)
	o.heard, o.lost, o.over = o.heard[:0], false, quiet
	o.all[0].begin(at, word)
	o.plan()
}

// drop keeps the first n checks.
func (o *orders) drop(n int) {
	o.spare = append(o.spare, o.all[n:]...)
	o.all = o.all[:n]
}

// hear takes a change in and says whether there is something to wait for.
func (o *orders) hear(h heard) bool {
	if h.flip &= o.looks; h.flip == 0 || o.lost {
		return false
	}
	if o.direct {
		o.overhear(h)
		return false
	}
	for i := len(o.heard) - 1; i >= 0; i-- {
		k := &o.heard[i]
		if k.one(h) {
			k.flip, k.of, k.at.meter = k.flip^h.flip, k.of|h.of, k.at.meter && h.at.meter
			o.relate(i)
			return false
		}
		if k.of&h.of != 0 {
			break
		}
	}
	if len(o.heard) == maxHeard {
		o.giveUp()
		return false
	}
	o.heard = append(o.heard, h)
	o.relate(len(o.heard) - 1)
	o.wake = min(o.wake, h.at.span.Late)
	return true
}

// relate works out what is known to have come before each change from i on.
func (o *orders) relate(i int) {
	for ; i < len(o.heard); i++ {
		h := &o.heard[i]
		h.after, h.with = 0, 0
		for k, before := range o.heard[:i] {
			switch before.to(*h) {
			case surely:
				h.after |= 1 << k
			case weakly:
				h.with |= 1 << k
			}
		}
	}
}

// overhear gives a rule on readings up where the order of two changes cannot be
// told, unless it was settled before. A rule that was settled by the end of its
// scope is given up all the same where that end is what is in doubt.
func (o *orders) overhear(h heard) {
	c, doubt := o.all[0], false
	kept := o.heard[:0]
	for _, k := range o.heard {
		if k.at.span.Late >= h.at.span.Early {
			kept = append(kept, k)
			doubt = doubt || k.to(h) == free && !k.one(h)
		}
	}
	o.heard = append(kept, h)
	if _, settled := c.settled(); settled && !(c.closed.known && c.closed.span.Late >= h.at.span.Early) {
		return
	}
	o.over = max(o.over, h.at.span.Late)
	if doubt {
		c.blurred, o.lost = true, true
	}
}

// giveUp ends the rule: with what all checks have settled, or as inconclusive.
func (o *orders) giveUp() {
	first, decided := o.all[0].settled()
	for _, c := range o.all[1:] {
		v, is := c.settled()
		decided = decided && is && v == first
	}
	o.all[0].blurred = !decided
	o.drop(1)
	o.lost, o.heard, o.wake = true, o.heard[:0], signal.Never
}

// clock says that nothing to come has a span that begins before t.
func (o *orders) clock(t signal.Instant) {
	o.play(t)
	for _, c := range o.all {
		c.expire(min(t, o.next(c)))
	}
	if !o.lost {
		o.agree()
		o.plan()
	}
}

// play puts all that ended before t in its place, in every check and in every
// order, with what can have come before it.
func (o *orders) play(t signal.Instant) {
	due := uint64(0)
	for k, h := range o.heard {
		if h.at.span.Late < t {
			due |= 1 << k
		}
	}
	if due == 0 {
		return
	}
	for i := 0; i < len(o.all); {
		if due&^o.all[i].placed == 0 {
			i++
			continue
		}
		if o.branch(i, false, signal.Never); o.lost {
			return
		}
	}
	o.forget(t)
}

// waiting are the changes that a check has not put in their place.
func (o *orders) waiting(c *check) uint64 { return (uint64(1)<<len(o.heard) - 1) &^ c.placed }

// next gives an instant before which nothing lies that a check has not put in its
// place.
func (o *orders) next(c *check) signal.Instant {
	next := signal.Never
	for w := o.waiting(c); w != 0; w &= w - 1 {
		next = min(next, max(c.latest, o.heard[bits.TrailingZeros64(w)].at.span.Early))
	}
	return next
}

// branch replaces a check by one for each group of changes that can come next, all
// at one instant and no later than upTo. Where stay is set it is kept as well.
func (o *orders) branch(i int, stay bool, upTo signal.Instant) {
	c := o.all[i]
	waiting := o.waiting(c)
	front := uint64(0)
	for w := waiting; w != 0; w &= w - 1 {
		if k := bits.TrailingZeros64(w); o.heard[k].after&waiting == 0 {
			front |= 1 << k
		}
	}
	if bits.OnesCount64(front) > maxFront {
		o.giveUp()
		return
	}
	first, found := group{}, stay
	for g := front; g != 0; g = (g - 1) & front {
		next, ok := o.group(c, g, waiting)
		switch {
		case !ok || max(next.at.span.Early, c.latest) > upTo:
		case !found:
			first, found = next, true // for the check itself, once it is not needed any more
		case !o.add(c, next):
			return
		}
	}
	switch {
	case stay:
	case !found:
		o.giveUp() // what was seen cannot have been
	default:
		c.put(first)
		o.unite(i)
	}
}

// A group is changes that come at one instant.
type group struct {
	of   uint64 // one bit each
	flip uint64
	at   stamp
}

// group says whether the changes g can be the next of those that wait: their spans
// share an instant after the latest so far, nothing that waits must come before
// them, and all the rest can still come after them.
func (o *orders) group(c *check, g, waiting uint64) (group, bool) {
	rest := waiting &^ g
	all := group{of: g, at: stamp{span: signal.Span{Early: quiet, Late: signal.Never}, known: true, meter: true}}
	for w := g; w != 0; w &= w - 1 {
		h := &o.heard[bits.TrailingZeros64(w)]
		if h.with&rest != 0 {
			return all, false
		}
		all.flip ^= h.flip
		all.at.span.Early, all.at.span.Late = max(all.at.span.Early, h.at.span.Early), min(all.at.span.Late, h.at.span.Late)
		all.at.meter = all.at.meter && h.at.meter
	}
	if s := all.at.span; s.Late < s.Early || s.Late <= c.latest {
		return all, false
	}
	for w := rest; w != 0; w &= w - 1 {
		if o.heard[bits.TrailingZeros64(w)].at.span.Late <= max(c.latest, all.at.span.Early) {
			return all, false
		}
	}
	return all, true
}

// put lets a group of changes be the next.
func (c *check) put(g group) {
	c.placed |= g.of
	c.latest = max(c.latest, g.at.span.Early)
	c.expire(c.latest)
	c.turn(g.flip, g.at)
}

// add adds a check that goes on from another with a group of changes. It says
// whether it is not too much.
func (o *orders) add(from *check, g group) bool {
	if len(o.spare) == 0 {
		o.spare = append(o.spare, from.twin())
	}
	c := o.spare[len(o.spare)-1]
	o.spare = o.spare[:len(o.spare)-1]
	c.take(from)
	c.put(g)
	o.all = append(o.all, c)
	if !o.unite(len(o.all)-1) && len(o.all) > maxOrders {
		o.giveUp()
		return false
	}
	return true
}

// unite takes check i away if another goes on in the same way, and says whether.
func (o *orders) unite(i int) bool {
	c := o.all[i]
	for _, other := range o.all {
		if other != c && other.same(c) {
			other.blend(c)
			copy(o.all[i:], o.all[i+1:])
			o.all[len(o.all)-1] = c
			o.drop(len(o.all) - 1)
			return true
		}
	}
	return false
}

// forget drops the changes that are in their place in every check. Nothing that
// begins before t is still to come.
func (o *orders) forget(t signal.Instant) {
	everywhere := ^uint64(0)
	for _, c := range o.all {
		everywhere &= c.placed
	}
	for k := len(o.heard) - 1; k >= 0; k-- {
		if everywhere&(1<<k) == 0 {
			continue
		}
		o.heard = o.heard[:k+copy(o.heard[k:], o.heard[k+1:])]
		for _, c := range o.all {
			c.placed = without(c.placed, k)
		}
		for i := range o.heard {
			h := &o.heard[i]
			h.after, h.with = without(h.after, k), without(h.with, k)
		}
	}
	for _, c := range o.all {
		if c.latest < min(t, o.earliest(c)) {
			c.latest = quiet // it says nothing about what comes
		}
	}
	for i := len(o.all) - 1; i > 0; i-- {
		o.unite(i)
	}
}

// earliest gives the earliest beginning of what a check has not put in its place.
func (o *orders) earliest(c *check) signal.Instant {
	earliest := signal.Never
	for w := o.waiting(c); w != 0; w &= w - 1 {
		earliest = min(earliest, o.heard[bits.TrailingZeros64(w)].at.span.Early)
	}
	return earliest
}

// without takes bit k out of a set, and moves those above it down.
func without(set uint64, k int) uint64 {
	below := uint64(1)<<k - 1
	return set&below | set>>1&^below
}

// agree gives the rule up once two checks have settled on different verdicts.
func (o *orders) agree() {
	if len(o.all) == 1 {
		return
	}
	var said Verdict
	for _, c := range o.all {
		v, is := c.settled()
		if is && said != Unsettled && said != v {
			o.giveUp()
			return
		}
		if is {
			said = v
		}
	}
}

// plan works out when there is next something to do.
func (o *orders) plan() {
	o.wake = signal.Never
	for _, h := range o.heard {
		o.wake = min(o.wake, h.at.span.Late)
	}
	for _, c := range o.all {
		if c.deadline < o.next(c) {
			o.wake = min(o.wake, c.deadline)
		}
	}
}

// settled says that nothing to come can change the verdict.
func (o *orders) settled() bool {
	for _, c := range o.all {
		if _, is := c.settled(); !is {
			return false
		}
	}
	return true
}

// pending is as Monitor.Pending has it.
func (o *orders) pending() signal.Instant {
	latest := signal.Instant(quiet)
	if o.lost || o.settled() {
		return latest
	}
	for _, c := range o.all {
		if _, is := c.settled(); c.open && !is {
			latest = max(latest, c.pending)
		}
	}
	for _, h := range o.heard {
		if !o.direct {
			latest = max(latest, h.at.span.Late)
		}
	}
	return latest
}
