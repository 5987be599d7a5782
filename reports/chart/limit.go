package chart

import (
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// band shades what the requirement allows: the time from the trigger to the
// limit, or the currents within the limit.
func (l *layout) band() {
	r := l.c.req
	switch {
	case r.timed:
		from, to := l.clamp(l.x(r.trigger)), l.clamp(l.x(r.limit))
		l.p.Rect(Band, Area{from, l.top, to - from, l.bottom - l.top})
		from, to = l.clamp(l.x(r.answer.Early)), l.clamp(l.x(r.answer.Late))
		if r.hasEnd && to > from && !l.m.Coarse {
			l.p.Rect(Doubt, Area{from, l.top, to - from, l.bottom - l.top})
		}
	case r.level:
		up, down := l.c.sides()
		top, bottom := l.y(0), l.y(0)
		if up {
			top = max(l.y(signal.Current(r.finding.Limit)), l.yCurrent)
		}
		if down {
			bottom = min(l.y(signal.Current(-r.finding.Limit)), l.yCurrent+l.current)
		}
		if r.finding.Sense == rule.AtLeast { // allowed is what lies beyond
			return
		}
		l.p.Rect(Band, Area{l.left, top, l.right - l.left, bottom - top})
	}
}

// requirement draws the limit and what was measured against it.
func (l *layout) requirement() {
	r := l.c.req
	switch {
	case r.timed:
		l.timeLimit()
		l.dimensions()
	case r.level:
		l.currentLimit()
	case r.finding != nil:
		l.instants()
	}
}

// timeLimit draws the trigger and the rule line of the limit, with hatching on
// its forbidden side.
func (l *layout) timeLimit() {
	r := l.c.req
	if x := l.x(r.trigger); l.inside(x) {
		l.upright(Measure, x)
	}
	x := l.x(r.limit)
	if !l.inside(x) {
		return
	}
	l.upright(Limit, x)
	if l.m.Coarse {
		return
	}
	side := l.m.Swing * 0.7
	if r.finding.Sense == rule.AtLeast {
		side = -side
	}
	for y := l.top + l.m.Swing; y < l.bottom; y += l.m.Swing * 0.8 {
		if end := x + side; l.inside(end) {
			l.p.Line(Hatch, Point{x, y}, Point{end, y - l.m.Swing*0.7})
		}
	}
}

// dimensions writes the measured stretch and the limit, one above the other.
func (l *layout) dimensions() {
	r := l.c.req
	row := l.m.Row
	value, limit := l.yReq+1.35*row, l.yReq+2.75*row
	if l.m.Coarse {
		value, limit = l.yReq+row/2, l.yReq+1.5*row
	}
	trigger, bound := l.x(r.trigger), l.x(r.limit)
	if r.hasEnd {
		answer := l.x(r.answer.Mid())
		l.answer(value)
		l.dimension(stretch{trigger, answer, bound, value}, Measured, r.valueText(), r.marginText())
		l.dimension(stretch{trigger, bound, answer, limit}, LimitWords, "limit "+r.limitText(), "")
		return
	}
	l.dimension(stretch{trigger, bound, bound, limit}, LimitWords, "limit "+r.limitText(), "")
}

// answer draws the instant of the answer, and in red pencil how far it lies
// beyond a broken limit.
func (l *layout) answer(y float64) {
	r := l.c.req
	mid := l.x(r.answer.Mid())
	if l.inside(mid) {
		ink := Measure
		if r.broken {
			ink = Broken
		}
		l.upright(ink, mid)
	}
	if !r.over() {
		return
	}
	from, to := l.clamp(l.x(r.limit)), l.clamp(mid)
	if to < from {
		from, to = to, from
	}
	l.scribble(from, to, y)
}

// scribble is the red pencil: a line to and fro, so that it shows without colour.
func (l *layout) scribble(from, to, y float64) {
	if l.m.Coarse {
		l.p.Line(Broken, Point{from, y}, Point{to, y})
		return
	}
	high, wide := l.m.Swing*0.45, l.m.Swing*0.4
	points := []Point{{from, y}}
	up := true
	for x := from + wide; x < to; x += wide {
		if up {
			points = append(points, Point{x, y - high})
		} else {
			points = append(points, Point{x, y + high})
		}
		up = !up
	}
	l.p.Polyline(Broken, append(points, Point{to, y}))
}

// A stretch is what a dimension measures, at a height; other is the place of a
// further upright line that its words should keep clear of.
type stretch struct{ from, to, other, y float64 }

// dimension draws a stretch with arrows at both ends. The words go above it where
// they fit, else beside it.
func (l *layout) dimension(d stretch, s Style, words, more string) {
	from, to, y := d.from, d.to, d.y
	a, b := l.clamp(from), l.clamp(to)
	ink := Measure
	if s == LimitWords {
		ink = Limit
	}
	l.p.Line(ink, Point{a, y}, Point{b, y})
	l.arrow(ink, a, from, y, 1)
	l.arrow(ink, b, to, y, -1)

	moreStyle := s
	if l.c.req.broken && more != "" {
		moreStyle = BrokenWords
	}
	gap, room := 2*l.m.Pad, l.right-l.left-l.m.Pad
	wide := l.p.Width(s, words)
	if wide > room {
		return // a figure that is cut reads as another; the chart's head has it in full
	}
	all := wide + gap + l.p.Width(moreStyle, more)
	if more == "" || all > room {
		more, all = "", wide
	}
	at := l.labelAt(d, all)
	l.p.Text(s, at, Start, words)
	if more != "" {
		l.p.Text(moreStyle, Point{at.X + wide + gap, at.Y}, Start, more)
	}
}

// labelAt is where the words of a stretch go that are so wide.
func (l *layout) labelAt(d stretch, all float64) Point {
	a, b, y, pad := l.clamp(d.from), l.clamp(d.to), d.y, l.m.Pad
	at := Point{Y: y - 0.35*l.m.Row}
	beside := Point{Y: y + 0.28*l.m.Row}
	if l.m.Coarse {
		at.Y, beside.Y = y+l.m.Row/2, y+l.m.Row/2
	}
	right := l.clamp(max(d.to, d.other)) + pad + l.hatchRoom()
	lo, hi, room := a, b, 4*pad
	if !l.m.Coarse { // a character covers the line that it stands on
		lo, hi = clearPart(a, b, l.clamp(d.other))
		room = 2 * pad
	}
	switch {
	case all+room < hi-lo:
		at.X = (lo + hi - all) / 2
	case right+all < l.right:
		at = Point{right, beside.Y}
	case a-pad-all > l.left:
		at = Point{a - pad - all, beside.Y}
	case all+4*pad < b-a:
		at.X = (a + b - all) / 2
	default:
		at.X = max(l.left+pad, l.right-pad-all)
	}
	return at
}

// clearPart is the wider part of a stretch that a line cuts in two.
func clearPart(a, b, cut float64) (lo, hi float64) {
	switch {
	case cut <= a || cut >= b:
		return a, b
	case cut-a > b-cut:
		return a, cut
	}
	return cut, b
}

// hatchRoom is how far the hatching reaches to the right of a limit.
func (l *layout) hatchRoom() float64 {
	if l.m.Coarse || l.c.req.finding.Sense == rule.AtLeast {
		return 0
	}
	return l.m.Swing / 2
}

// arrow draws an arrow head that points outwards, where the end is in view.
func (l *layout) arrow(ink Ink, x, true_, y, inward float64) {
	if l.m.Coarse || !l.inside(true_) {
		return
	}
	size := l.m.Swing * 0.4
	l.p.Polyline(ink, []Point{{x + float64(inward*size), y - size/2}, {x, y}, {x + float64(inward*size), y + size/2}})
}

// currentLimit draws the rule line of a limit on the current, on each side on
// which the motor ran, and the value beside the instant that decided.
func (l *layout) currentLimit() {
	r := l.c.req
	up, down := l.c.sides()
	for _, side := range []struct {
		on   bool
		sign signal.Current
	}{{up, 1}, {down, -1}} {
		y := l.y(side.sign * signal.Current(r.finding.Limit))
		if !side.on || y < l.yCurrent || y > l.yCurrent+l.current {
			continue
		}
		l.across(Limit, y)
		l.hatchAcross(y, float64(side.sign))
	}
	x := l.left
	if len(r.finding.Decided) > 0 {
		x = l.clamp(l.x(r.trigger))
	}
	ink, style := Measure, Measured
	if r.broken {
		ink, style = Broken, BrokenWords
	}
	if r.finding.Measured && len(r.finding.Decided) > 0 {
		l.p.Line(ink, Point{x, l.yCurrent}, Point{x, l.yCurrent + l.current})
	}
	l.levelWords(x, style)
}

func (l *layout) hatchAcross(y, sign float64) {
	if l.m.Coarse {
		return
	}
	if l.c.req.finding.Sense == rule.AtLeast {
		sign = -sign
	}
	step, size := l.m.Swing*0.8, l.m.Swing*0.7
	for x := l.left + step; x < l.right; x += step {
		if end := y - float64(sign*size); end >= l.yCurrent && end <= l.yCurrent+l.current {
			l.p.Line(Hatch, Point{x, y}, Point{x + size, end})
		}
	}
}

// levelWords writes value, limit and margin of a current in the lane, in that
// corner beside the deciding instant where they hide least of the curve.
func (l *layout) levelWords(x float64, s Style) {
	r := l.c.req
	words, styles := []string{"limit " + r.limitText()}, []Style{LimitWords}
	if r.finding.Measured {
		words = []string{r.valueText(), words[0], r.marginText()}
		styles = []Style{s, LimitWords, s}
	}
	wide := 0.0
	for i, w := range words {
		wide = max(wide, l.p.Width(styles[i], w))
	}
	box := l.clearest(x, wide, float64(len(words))*l.m.Row)
	for i, w := range words {
		l.p.Text(styles[i], Point{box.X, box.Y + float64(i+1)*l.m.Row - l.descent(l.m.Row)}, Start, w)
	}
}

// clearest finds room of a size in the lane of the current where the fewest strokes of
// the pen pass: beside x if it can be, else as near to it as there is room.
func (l *layout) clearest(x, wide, high float64) Area {
	least, most := l.left+l.m.Pad, l.right-l.m.Pad-wide
	lefts := []float64{x + l.m.Pad, x - l.m.Pad - wide}
	for away := wide / 2; away < l.right-l.left; away += wide / 2 {
		lefts = append(lefts, x+l.m.Pad+away, x-l.m.Pad-wide-away)
	}
	pens := strokes(l.c.trace.Samples, l.c.from, l.c.to, l.x, l.y, l.m.Step)
	best, fewest := Area{}, -1
	for i, left := range lefts {
		if i > 1 && (left < least || left > most) {
			continue
		}
		for _, part := range []float64{0, 0.5, 1, 0.25, 0.75} {
			top := l.yCurrent + l.m.Inset + float64(part*(l.current-2*l.m.Inset-high))
			a := Area{min(max(left, least), most), top, wide, high}
			if n := l.crossings(a, pens); fewest < 0 || n < fewest {
				best, fewest = a, n
			}
		}
		if fewest == 0 {
			break
		}
	}
	return best
}

// crossings counts the strokes and rule lines through an area.
func (l *layout) crossings(a Area, pens [][]Point) int {
	n := 0
	for _, side := range []int64{l.c.req.finding.Limit, -l.c.req.finding.Limit} {
		if y := l.y(signal.Current(side)); y > a.Y-l.m.Swing && y < a.Y+a.H+l.m.Swing {
			n += 1000
		}
	}
	for _, points := range pens {
		for i := 1; i < len(points); i++ {
			p, q := points[i-1], points[i]
			if q.X >= a.X && p.X <= a.X+a.W && max(p.Y, q.Y) >= a.Y && min(p.Y, q.Y) <= a.Y+a.H {
				n++
			}
		}
	}
	return n
}

// instants draws the instants that decided a rule that measures nothing.
func (l *layout) instants() {
	ink := Measure
	if l.c.req.broken {
		ink = Broken
	}
	for _, span := range l.c.req.finding.Decided {
		if x := l.x(span.Mid()); l.inside(x) {
			l.upright(ink, x)
		}
	}
}
