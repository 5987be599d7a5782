package livepage

import (
	"encoding/binary"
	"math"
)

// A point is a reading on the paper.
type point struct {
	at uint32 // ticks
	a  float32
}

// An edge on the paper.
type edge struct {
	at    uint32
	line  uint8
	level uint8
}

// tick is the paper's unit of time, in nanoseconds: a strip of 119 hours fits in 32 bits.
const tick = 100_000

func ticksOf(ns int64) uint32 { return uint32(ns / tick) }

// A paper is what is kept for pages that come later: the last minute as it is, the hour
// before it by the least and the most of each stretch. Its memory is bounded.
type paper struct {
	fine   kept[point]
	coarse kept[point]
	edges  kept[edge]
	now    uint32
	lo, hi point // of the stretch under way
	n      int
}

const (
	fineKept   = 1 << 16
	stretch    = 64
	coarseKept = 1 << 17 // 70 minutes at 1 kHz
	edgesKept  = 1 << 15
)

// kept is the last of many.
type kept[T any] struct {
	all  []T
	most int
	next int
}

func (k *kept[T]) add(v T) {
	if len(k.all) < k.most {
		k.all = append(k.all, v)
		return
	}
	k.all[k.next] = v
	k.next = (k.next + 1) % k.most
}

// each gives them in order.
func (k *kept[T]) each(do func(T)) {
	for i := range k.all {
		do(k.all[(k.next+i)%len(k.all)])
	}
}

func newPaper() *paper {
	return &paper{fine: kept[point]{most: fineKept}, coarse: kept[point]{most: coarseKept}, edges: kept[edge]{most: edgesKept}}
}

// A batch is what is new on the paper.
type batch struct {
	points []point
	edges  []edge
	now    uint32
	lost   uint32 // readings left out since the last batch
}

// mostPoints is how many readings of one batch are passed on. What is more goes by the
// least and the most of each stretch, which looks the same.
const mostPoints = 1024

// sort makes a batch of entries.
func (b *batch) sort(all []entry) {
	b.points, b.edges = b.points[:0], b.edges[:0]
	for _, e := range all {
		at := ticksOf(e.at)
		b.now = max(b.now, at)
		if e.line == 0 {
			b.points = append(b.points, point{at, float32(float64(e.value) / 1e6)})
		} else {
			b.edges = append(b.edges, edge{at, e.line, e.level})
		}
	}
	b.points = thin(b.points, mostPoints)
}

// thin keeps of each stretch the least and the most, in their order, so that no more
// than so many are left.
func thin(all []point, most int) []point {
	if len(all) <= most {
		return all
	}
	step := (2*len(all) + most - 1) / most
	out := all[:0]
	for i := 0; i < len(all); i += step {
		lo, hi := all[i], all[i]
		for _, p := range all[i:min(i+step, len(all))] {
			if p.a < lo.a {
				lo = p
			}
			if p.a > hi.a {
				hi = p
			}
		}
		if lo.at > hi.at {
			lo, hi = hi, lo
		}
		out = append(out, lo, hi)
	}
	return out
}

// keep puts a batch on the paper.
func (p *paper) keep(b *batch) {
	for _, q := range b.points {
		p.fine.add(q)
		if p.n == 0 || q.a < p.lo.a {
			p.lo = q
		}
		if p.n == 0 || q.a > p.hi.a {
			p.hi = q
		}
		if p.n++; p.n == stretch {
			first, then := p.lo, p.hi
			if first.at > then.at {
				first, then = then, first
			}
			p.coarse.add(first)
			p.coarse.add(then)
			p.n = 0
		}
	}
	for _, e := range b.edges {
		p.edges.add(e)
	}
	p.now = max(p.now, b.now)
}

// whole is all that is kept, as one batch.
func (p *paper) whole() *batch {
	b := &batch{now: p.now}
	from := uint32(math.MaxUint32)
	if len(p.fine.all) > 0 {
		from = p.fine.all[p.fine.next%len(p.fine.all)].at
	}
	p.coarse.each(func(q point) {
		if q.at < from {
			b.points = append(b.points, q)
		}
	})
	p.fine.each(func(q point) { b.points = append(b.points, q) })
	p.edges.each(func(e edge) { b.edges = append(b.edges, e) })
	return b
}

// encode writes a batch for the page, little end first: now, how many points, how many
// edges, how many readings were left out; then a tick and amperes (32-bit float) for each
// point; then a tick and line + 256 level for each edge.
func (b *batch) encode() []byte {
	out := make([]byte, 0, 16+8*(len(b.points)+len(b.edges)))
	put := func(v uint32) { out = binary.LittleEndian.AppendUint32(out, v) }
	put(b.now)
	put(uint32(len(b.points)))
	put(uint32(len(b.edges)))
	put(b.lost)
	for _, p := range b.points {
		put(p.at)
		put(math.Float32bits(p.a))
	}
	for _, e := range b.edges {
		put(e.at)
		put(uint32(e.line) | uint32(e.level)<<8)
	}
	return out
}
