package fault

import (
	"math/bits"
	"time"

	"pintle/rig/signal"
)

// ShortestGlitch is the shortest change that a glitching line makes.
const ShortestGlitch = time.Microsecond

// glitch puts the line at its other level for a moment in each period since the
// origin, MostGaps times in all. When and for how long depends on nothing but the
// seed and the period's number, since interference knows nothing of the contact:
// a clean edge that falls into such a moment happens the other way up, and is put
// right at the moment's end.
func (f Fault) glitch(t *signal.Timeline, r random) {
	w, clean := rewrite(t)
	level, next := w.level, 0
	until := func(at signal.Instant, flip bool) {
		for ; next < len(clean) && clean[next].At <= at; next++ {
			level = clean[next].Level
			w.put(clean[next].At, turned(level, flip))
		}
	}
	for n := range uint64(MostGaps) {
		own := randomOf(uint64(r), n)
		lasts := f.width(&own)
		from := signal.Instant(1 + n*uint64(f.Every) + own.below(uint64(f.Every-lasts)))
		to := from.Add(lasts)
		until(from, false)
		w.put(from, level.Not())
		until(to, true)
		w.put(to, level)
	}
	until(signal.Never, false)
	w.finish(t)
}

func turned(v signal.Level, flip bool) signal.Level {
	if flip {
		return v.Not()
	}
	return v
}

// width draws how long a glitch lasts, from ShortestGlitch up to Gap: each doubling
// of the time is as likely as any other, and within one every time is. Integers
// alone, so the last doubling, which may be cut short, gets as much as a whole one.
func (f Fault) width(r *random) time.Duration {
	octaves := uint64(bits.Len64(uint64((f.Gap - 1) / ShortestGlitch)))
	if octaves == 0 {
		return f.Gap
	}
	from := uint64(ShortestGlitch) << r.below(octaves)
	return time.Duration(from + r.below(min(from, uint64(f.Gap)-from)+1))
}
