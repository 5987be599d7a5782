package chart

import (
	"math"
	"slices"

	"pintle/rig/signal"
)

// currentRange gives the ends of the current axis: zero, all samples of the
// trial, and the limit where that is not far outside.
func (c *Chart) currentRange() (lo, hi int64) {
	for _, s := range c.trace.Samples {
		lo, hi = min(lo, int64(s.Current)), max(hi, int64(s.Current))
	}
	if c.req.level {
		limit, most := c.req.finding.Limit, max(hi, -lo)
		if limit <= 4*max(most, 1) {
			up, down := c.sides()
			if up {
				hi = max(hi, limit+limit/12)
			}
			if down {
				lo = min(lo, -limit-limit/12)
			}
		}
	}
	// The noise of a meter at rest must not look like a current.
	hi = max(hi, int64(signal.Ampere))
	if -lo > hi/20 {
		lo = min(lo, -int64(signal.Ampere))
	}
	return lo, hi
}

// sides says in which directions the motor drew current worth the name. A limit
// counts for the magnitude, so it is drawn in each of them.
func (c *Chart) sides() (up, down bool) {
	var lo, hi int64
	for _, s := range c.trace.Samples {
		lo, hi = min(lo, int64(s.Current)), max(hi, int64(s.Current))
	}
	most := max(hi, -lo)
	return hi*10 >= most, lo < 0 && -lo*10 >= most
}

// spread is the stretch in which a sample is drawn. It is that in which it may have been read,
// unless that of the next sample, or of the one before, begins so much before its end that the
// pen would be seen to go back and forth: then each ends in the middle of what they share.
func spread(samples []signal.Sample, i int, x func(signal.Instant) float64, step float64) (from, to signal.Instant) {
	s := samples[i]
	from, to = s.From, s.To
	shared := func(a, b signal.Sample) bool { return x(a.To)-x(b.From) > 4*step }
	if i > 0 && shared(samples[i-1], s) {
		from = s.From + (samples[i-1].To-s.From)/2
	}
	if i+1 < len(samples) && shared(s, samples[i+1]) {
		to = samples[i+1].From + (s.To-samples[i+1].From)/2
	}
	return from, to
}

// strokes turns samples from one instant to another into the strokes of a pen:
// each sample is a level stretch where there is room, and where there is not,
// each column shows the first, least, most and last of its samples, so that no
// peak is lost. The pen is lifted where samples are missing.
func strokes(samples []signal.Sample, from, to signal.Instant, x func(signal.Instant) float64,
	y func(signal.Current) float64, step float64) [][]Point {
	samples = within(samples, from, to)
	if len(samples) == 0 {
		return nil
	}
	gap := gapOf(samples)
	var out [][]Point
	var d columns
	for i, s := range samples {
		if i > 0 && s.From-samples[i-1].To > gap {
			out = append(out, d.finish())
		}
		d.step = step
		v := y(s.Current)
		began, ended := spread(samples, i, x, step)
		d.add(x(min(max(began, from), to)), v)
		if ended > began {
			d.add(x(min(max(ended, from), to)), v)
		}
	}
	return append(out, d.finish())
}

// within cuts off the samples outside a window.
func within(samples []signal.Sample, from, to signal.Instant) []signal.Sample {
	first, _ := slices.BinarySearchFunc(samples, from, func(s signal.Sample, t signal.Instant) int {
		if s.To < t {
			return -1
		}
		return 1
	})
	last, _ := slices.BinarySearchFunc(samples, to, func(s signal.Sample, t signal.Instant) int {
		if s.From <= t {
			return -1
		}
		return 1
	})
	return samples[first:max(first, last)]
}

// gapOf is the pause between two samples from which on some are missing: four
// times the usual distance from one to the next.
func gapOf(samples []signal.Sample) signal.Instant {
	var d []signal.Instant
	for i := 1; i < len(samples) && i <= 4096; i++ {
		d = append(d, samples[i].From-samples[i-1].From)
	}
	if len(d) == 0 {
		return signal.Never
	}
	slices.Sort(d)
	return 4 * max(d[len(d)/2], 1)
}

// columns gathers points column by column.
type columns struct {
	step   float64
	whole  bool // keep every column's shape, however small
	points []Point
	col    int
	have   int // points in the column so far
	first  Point
	least  Point
	most   Point
	last   Point
}

func (d *columns) add(x, y float64) {
	p, col := Point{x, y}, int(x/d.step)
	if d.have > 0 && col != d.col {
		d.flush()
	}
	d.col = col
	if d.have == 0 {
		d.first, d.least, d.most = p, p, p
	}
	if p.Y < d.least.Y {
		d.least = p
	}
	if p.Y > d.most.Y {
		d.most = p
	}
	d.last = p
	d.have++
}

// flush writes the column out: its points in the order in which they came. A
// column whose points lie closer than can be seen is one point, level with the
// one before it if that makes no difference to the eye.
func (d *columns) flush() {
	if d.have > 2 && !d.whole && d.most.Y-d.least.Y < d.step*0.7 {
		mid := (d.most.Y + d.least.Y) / 2
		if n := len(d.points); n > 0 && math.Abs(d.points[n-1].Y-mid) < d.step*0.35 {
			mid = d.points[n-1].Y
		}
		d.put(Point{d.first.X, mid})
		d.have = 0
		return
	}
	a, b := d.least, d.most
	if b.X < a.X {
		a, b = b, a
	}
	d.put(d.first)
	d.put(a)
	d.put(b)
	d.put(d.last)
	d.have = 0
}

func (d *columns) put(p Point) {
	if n := len(d.points); n > 0 && d.points[n-1] == p {
		return
	}
	d.points = append(d.points, p)
}

func (d *columns) finish() []Point {
	if d.have > 0 {
		d.flush()
	}
	points := d.points
	*d = columns{step: d.step, whole: d.whole}
	return points
}
