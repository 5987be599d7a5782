package chart

import (
	"fmt"
	"math"
	"slices"
	"time"

	"pintle/rig/motion"
	"pintle/rig/signal"
)

// Height says how much room the chart takes with a pen at a width.
func (c *Chart) Height(p Pen, width float64) float64 {
	return c.layout(p, Area{W: width}).height
}

// Draw draws the chart from the upper left corner of an area, as wide as the
// area. With a height of zero it takes what it needs, else it makes itself lower
// to fit as far as it can be read. It gives the height taken.
func (c *Chart) Draw(p Pen, a Area) float64 {
	p, write := ground(p)
	defer write()
	l := c.layout(p, a)
	p.Rect(Paper, Area{a.X, a.Y, a.W, l.height})
	l.band()
	l.grid()
	l.heading()
	l.flags()
	for i, line := range c.lanes {
		l.line(line, l.yLanes+float64(i)*l.lane)
	}
	l.motor()
	l.currentLane()
	l.requirement()
	l.axis()
	l.overview()
	l.footnote()
	return l.height
}

func (l *layout) heading() {
	y := l.area.Y + l.m.Margin
	x, right := l.area.X+l.m.Margin, l.area.X+l.area.W-l.m.Margin
	if l.c.opts.Title != "" || l.c.opts.Note != "" {
		y += l.m.TitleRow
		base := y - l.descent(l.m.TitleRow)
		l.p.Text(Title, Point{x, base}, Start, l.c.opts.Title)
		if l.p.Width(Title, l.c.opts.Title)+l.p.Width(Small, l.c.opts.Note)+2*l.m.Pad < right-x {
			l.p.Text(Small, Point{right, base}, End, l.c.opts.Note)
		}
	}
	for _, row := range l.sentence {
		y += l.m.Row
		l.p.Text(Label, Point{x, y - l.descent(l.m.Row)}, Start, row)
	}
}

// descent is how far above the lower edge of a row its letters stand.
func (l *layout) descent(row float64) float64 {
	if l.m.Coarse {
		return 0
	}
	return 0.3 * row
}

// grid rules the paper: fine and main lines of time, and a line under each lane.
func (l *layout) grid() {
	from, to := int64(l.c.from), int64(l.c.to)
	if float64(l.time.fine)*l.perTime > 4*l.m.Step {
		multiples(from, to, l.time.fine, func(t int64) {
			if t%l.time.step != 0 {
				l.upright(GridFine, l.x(signal.Instant(t)))
			}
		})
	}
	fine := l.current / 10
	if l.lane > 0 {
		fine = l.lane / 2
	}
	for y := l.yCurrent; y > l.top+l.m.Edge; y -= fine {
		l.across(GridFine, y)
	}
	multiples(l.lo, l.hi, l.amps.fine, func(c int64) {
		if c%l.amps.step != 0 && float64(l.amps.fine)/float64(l.hi-l.lo)*l.current > 4*l.m.Step {
			l.across(GridFine, l.y(signal.Current(c)))
		}
	})
	multiples(from, to, l.time.step, func(t int64) { l.upright(GridMain, l.x(signal.Instant(t))) })
	multiples(l.lo, l.hi, l.amps.step, func(c int64) { l.across(GridMain, l.y(signal.Current(c))) })
	l.across(GridMain, l.yCurrent)
	if l.m.Edge > 0 {
		l.across(GridMain, l.top+l.m.Edge)
		l.across(GridMain, l.bottom-l.m.Edge)
	}
	if l.c.req.timed {
		l.across(GridMain, l.yLanes)
	}
	l.edges()
}

// edges draws the edges of the paper strip, with the holes that it is drawn along
// by.
func (l *layout) edges() {
	if edge := l.m.Edge; edge > 0 {
		for _, y := range []float64{l.top + edge/2, l.bottom - edge/2} {
			l.p.Line(Perforation, Point{l.left + edge, y}, Point{l.right - edge/2, y})
		}
	}
	l.across(Frame, l.top)
	l.across(Frame, l.bottom)
	l.side(l.left, l.c.from > 0)
	l.side(l.right, l.c.to < l.c.end)
}

// side is an end of the strip: straight where the trial ends, torn where the strip was
// cut out of it.
func (l *layout) side(x float64, cut bool) {
	switch {
	case !cut:
		l.upright(Frame, x)
	case l.m.Coarse:
		l.p.Line(Cut, Point{x, l.top}, Point{x, l.bottom})
	default:
		tooth := l.m.Pad / 2
		points := []Point{{x, l.top}}
		for y, out := l.top+tooth, 1.0; y < l.bottom; y, out = y+tooth, -out {
			points = append(points, Point{x + float64(out*tooth/2), y})
		}
		l.p.Polyline(Frame, append(points, Point{x, l.bottom}))
	}
}

func (l *layout) upright(ink Ink, x float64) {
	l.p.Line(ink, Point{x, l.top}, Point{x, l.bottom})
}

func (l *layout) across(ink Ink, y float64) {
	l.p.Line(ink, Point{l.left, y}, Point{l.right, y})
}

// middle is the line on which the letters of a label stand in a lane.
func (l *layout) middle(top, height float64) float64 {
	if l.m.Coarse {
		return (math.Floor((top+height/2)/l.m.Row) + 1) * l.m.Row
	}
	return top + height/2 + 0.26*l.m.Row
}

// line draws the lane of one line: the pen stands up while the line is made. An
// edge that is known within a span only leans from its earliest to its latest
// instant.
func (l *layout) line(line signal.Line, top float64) {
	l.p.Text(Label, Point{l.left - l.m.Pad, l.middle(top, l.lane)}, End, line.String())
	swing := min(l.m.Swing, l.lane*0.7)
	rest := top + l.lane/2 + swing/2
	height := func(v signal.Level) float64 {
		if v == signal.Made {
			return rest - swing
		}
		return rest
	}
	level := l.c.trace.Initial[line]
	pen := columns{step: l.m.Step, whole: true}
	pen.add(l.left, height(level))
	for _, e := range l.c.trace.Edges {
		if e.Line != line || e.Span.Early > l.c.to {
			continue
		}
		if e.Span.Late >= l.c.from {
			pen.add(l.clamp(l.x(e.Span.Early)), height(level))
			pen.add(l.clamp(l.x(e.Span.Late)), height(e.Level))
		} else {
			pen = columns{step: l.m.Step, whole: true}
			pen.add(l.left, height(e.Level))
		}
		level = e.Level
	}
	pen.add(l.clamp(l.x(l.c.end)), height(level))
	l.p.Polyline(Trace, pen.finish())
}

// motor draws what the motor was taken to do, in words on a line of three levels.
func (l *layout) motor() {
	changes := l.c.opts.Motor
	if len(changes) == 0 {
		return
	}
	l.p.Text(Label, Point{l.left - l.m.Pad, l.middle(l.yMotor, l.lane)}, End, "motor")
	swing := min(l.m.Swing, l.lane*0.7) / 2
	height := func(s motion.State) float64 {
		mid := l.yMotor + l.lane/2
		switch s {
		case motion.Opening:
			return mid - swing
		case motion.Closing:
			return mid + swing
		}
		return mid
	}
	was, since := changes[0].Was, l.c.from
	for len(changes) > 0 && changes[0].Span.Late <= l.c.from { // left of the strip
		was, changes = changes[0].Is, changes[1:]
	}
	points := []Point{{l.left, height(was)}}
	for _, ch := range append(slices.Clip(changes), motion.Change{Is: motion.Unknown, Span: signal.At(l.c.end)}) {
		x := l.clamp(l.x(ch.Span.Mid()))
		points = append(points, Point{l.clamp(l.x(ch.Span.Early)), height(was)})
		start := l.clamp(l.x(since))
		if was.Moving() && !l.m.Coarse && l.p.Width(Small, was.String())+2*l.m.Pad < x-start {
			l.p.Text(Small, Point{(start + x) / 2, l.middle(l.yMotor, l.lane)}, Middle, was.String())
		}
		if ch.Span.Early > l.c.to {
			break // right of the strip
		}
		was, since = ch.Is, ch.Span.Mid()
		if ch.Is != motion.Unknown {
			points = append(points, Point{l.clamp(l.x(ch.Span.Late)), height(was)})
		}
	}
	l.p.Polyline(Trace, points)
}

func (l *layout) currentLane() {
	x := l.area.X + l.m.Margin
	l.p.Text(Label, Point{x, l.middle(l.yCurrent, l.current)}, Start, currentLabel)
	if l.m.Coarse || l.current > 5*l.m.Row {
		if l.hi > 0 {
			l.p.Text(Small, Point{x, l.middle(l.yCurrent, 1.4*l.m.Row)}, Start, "↑ opening")
		}
		if l.lo < -l.hi/10 {
			l.p.Text(Small, Point{x, l.middle(l.yCurrent+l.current-1.4*l.m.Row, 1.4*l.m.Row)}, Start, "↓ closing")
		}
	}
	digits := decimals(l.amps.step, int64(signal.Ampere))
	multiples(l.lo, l.hi, l.amps.step, func(c int64) {
		y := l.y(signal.Current(c))
		l.p.Text(Small, Point{l.left - l.m.Pad/2, l.middle(y, 0)}, End, amperes(c, digits))
	})
	for _, points := range strokes(l.c.trace.Samples, l.c.from, l.c.to, l.x, l.y, l.m.Step) {
		l.p.Polyline(Trace, points)
	}
}

func (l *layout) flags() {
	gap, end := l.m.Pad/2, l.top+l.m.Edge
	if l.m.Coarse {
		gap, end = l.m.Pad, l.top-0.5
	}
	for _, f := range l.marks {
		y := l.top
		if f.row >= 0 {
			y = l.yMarks + float64(f.row)*l.m.Row
			at := Point{f.x + gap, y + l.m.Row - l.descent(l.m.Row)}
			if f.anchor == End {
				at.X = f.x - gap
			}
			l.p.Text(Small, at, f.anchor, f.text)
		}
		l.p.Line(MarkLine, Point{f.x, y}, Point{f.x, end})
	}
}

func (l *layout) axis() {
	digits := decimals(l.time.step, 1_000_000_000)
	base := l.yAxis + l.m.Row
	l.p.Text(Label, Point{l.area.X + l.m.Margin, base}, Start, "seconds")
	free := l.area.X
	multiples(int64(l.c.from), int64(l.c.to), l.time.step, func(t int64) {
		text := seconds(signal.Instant(t), digits)
		half := l.p.Width(Small, text) / 2
		x := l.x(signal.Instant(t))
		x = min(x, l.area.X+l.area.W-l.m.Margin-half)
		if x-half < free {
			return // pushed in from the end, it would touch the one before
		}
		free = x + half + l.m.Pad/2
		l.p.Text(Small, Point{x, base}, Middle, text)
	})
}

// overview draws the current of the whole trial small, with the part that the
// strip shows marked on it.
func (l *layout) overview() {
	if !l.c.zoomed() || l.m.Overview == 0 {
		return
	}
	top, high := l.yOver, l.m.Overview
	end := max(l.c.end, l.c.to)
	x := func(t signal.Instant) float64 {
		return l.left + float64(float64(t)*((l.right-l.left)/float64(end)))
	}
	y := func(c signal.Current) float64 {
		part := float64(int64(c)-l.lo) / float64(l.hi-l.lo)
		return top + high - float64(part*high*0.84) - high*0.08
	}
	from, to := x(l.c.from), x(l.c.to)
	if spare := 3*l.m.Step - (to - from); spare > 0 {
		from, to = from-spare/2, to+spare/2
	}
	l.p.Rect(Shown, Area{from, top, to - from, high})
	for _, points := range strokes(l.c.trace.Samples, 0, l.c.end, x, y, 2*l.m.Step) {
		l.p.Polyline(Faint, points)
	}
	for _, edge := range []float64{top, top + high} {
		l.p.Line(GridMain, Point{l.left, edge}, Point{l.right, edge})
	}
	for _, edge := range []float64{from, to} {
		l.p.Line(Frame, Point{edge, top - l.m.Pad/3}, Point{edge, top + high + l.m.Pad/3})
	}
	base := l.middle(top, high)
	l.p.Text(Small, Point{l.left - l.m.Pad, base}, End, "whole trial")
	last := seconds(end, decimals(int64(end)/1e8*1e8, 1_000_000_000)) + " s"
	under := top + high + l.m.Row*0.95
	l.p.Text(Small, Point{l.left, under}, Start, "0")
	l.p.Text(Small, Point{l.right, under}, End, last)
}

// doubt is how far a reading may be from where it is drawn, where that could be seen: 0 where
// each is drawn over all of the time in which it may have been.
func (l *layout) doubt() time.Duration {
	seen := within(l.c.trace.Samples, l.c.from, l.c.to)
	var off signal.Instant
	for i := range seen {
		if from, to := spread(seen, i, l.x, l.m.Step); from > seen[i].From || to < seen[i].To {
			off = max(off, from-seen[i].From, seen[i].To-to)
		}
	}
	return time.Duration(off).Round(time.Millisecond)
}

func (l *layout) footnote() {
	if l.m.Coarse {
		return
	}
	y := l.height + l.area.Y - l.m.Margin - 0.2*l.m.Row
	const torn = "Torn ends: cut here."
	pens := "A pen stands up while its line is made. A leaning edge happened somewhere along its slope."
	x := l.area.X + l.m.Margin
	if off := l.doubt(); off > 0 {
		if longer := fmt.Sprintf("%s The current may be off in time by up to %d ms.", pens, off.Milliseconds()); l.p.Width(Small, longer) < l.right-x {
			pens = longer
		}
	}
	if l.c.zoomed() && l.p.Width(Small, pens)+l.p.Width(Small, torn)+l.m.Pad < l.right-x {
		l.p.Text(Small, Point{x, y}, Start, torn)
	}
	l.p.Text(Small, Point{l.right, y}, End, pens)
}
