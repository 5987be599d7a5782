package fault

import (
	"math/bits"
	"slices"

	"pintle/rig/signal"
)

const (
	// mostPairs is the most pairs of edges in one burst of bounce.
	mostPairs = 6
	// shrink is by how many sixteenths of itself each gap in a burst is shorter
	// than the one before, on average: a contact bounces as a ball does.
	shrink = 3
)

// bounce follows each edge by a burst.
func (f Fault) bounce(t *signal.Timeline, r random) { f.bounceAt(t, r, signal.Made, signal.Broken) }

// bounceOff follows each breaking by one.
func (f Fault) bounceOff(t *signal.Timeline, r random) { f.bounceAt(t, r, signal.Broken) }

// bounceAt follows each edge to a level by a burst. A burst that is not over when the
// next clean edge comes is cut off there; should the contact happen to be at the next
// edge's level already, that edge came with the burst's last one.
func (f Fault) bounceAt(t *signal.Timeline, r random, levels ...signal.Level) {
	w, clean := rewrite(t)
	for i, e := range clean {
		w.put(e.At, e.Level)
		if slices.Contains(levels, e.Level) {
			own := randomOf(uint64(r), uint64(i))
			f.burst(&w, e, end(clean[i+1:]), &own)
		}
	}
	w.finish(t)
}

// burst appends pairs of edges that lead away from e's level and back.
//
// Its length, from the clean edge to the last one, is For times the cube of an
// evenly drawn number: most bursts are short and few are long, with a mean of a
// quarter of For.
func (f Fault) burst(w *writer, e signal.Edge, ends signal.Instant, r *random) {
	length := uint64(f.For)
	even := r.next()
	for range 3 {
		length = share(length, even)
	}
	gaps := 2 * min(1+r.below(mostPairs), length/2)
	if gaps == 0 {
		return
	}
	var weights [2 * mostPairs]uint64
	var all, gone uint64
	for i, scale := uint64(0), uint64(1<<20); i < gaps; i++ {
		weights[i] = 1 + r.below(scale)
		all += weights[i]
		scale -= scale * shrink / 16
	}
	spare := length - gaps // a nanosecond at least for each gap, the rest by weight
	level := e.Level
	for i := range gaps {
		gone += weights[i]
		high, low := bits.Mul64(spare, gone)
		part, _ := bits.Div64(high, low, all)
		at := e.At + signal.Instant(i+1+part)
		if at >= ends {
			return
		}
		level = level.Not()
		w.put(at, level)
	}
}
