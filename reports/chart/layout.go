package chart

import (
	"strings"

	"pintle/rig/fold"
	"pintle/rig/signal"
)

// A layout is where everything goes, for one pen and one area.
type layout struct {
	c    *Chart
	p    Pen
	m    Metrics
	area Area

	left, right float64 // of the strip
	top, bottom float64
	lane        float64 // heights, after fitting
	current     float64

	sentence []string  // the finding in words, broken into rows
	marks    []pennant // the steps in view
	markRows int       // rows that they take
	time     ruling    // of the time axis
	amps     ruling    // of the current axis
	lo, hi   int64     // ends of the current axis
	perTime  float64   // units per nanosecond
	height   float64   // of everything
	yMarks   float64   // top of the rows of marks
	yReq     float64   // top of the requirement's lane
	yLanes   float64   // top of the lanes
	yMotor   float64   // top of the motor's lane
	yCurrent float64   // top of the current's lane
	yAxis    float64   // top of the tick labels
	yOver    float64   // top of the overview
}

const currentLabel = "current, A"

func (c *Chart) layout(p Pen, a Area) *layout {
	l := &layout{c: c, p: p, m: p.Metrics(), area: a}
	l.gutter()
	l.perTime = (l.right - l.left) / float64(c.to-c.from)
	l.time = rule125(int64(float64(c.to-c.from) * l.m.Tick / (l.right - l.left)))
	for l.crowded() {
		l.time = rule125(l.time.step + 1)
	}
	if s := c.sentence(); s != "" {
		plain := func(row string) string { return strings.ReplaceAll(row, fold.NoBreak, " ") }
		for _, row := range fold.Rows(fold.Figures(s), a.W-2*l.m.Margin, func(row string) float64 { return p.Width(Label, plain(row)) }, nil) {
			l.sentence = append(l.sentence, plain(row))
		}
	}
	l.placeMarks()
	l.lane, l.current = l.m.Lane, l.m.Current
	l.stack()
	if spare := a.H - l.height; a.H > 0 && spare < 0 && !l.m.Coarse {
		flex := l.lane*float64(l.laneCount()) + l.current
		part := max(0.45, (flex+spare)/flex)
		l.lane *= part
		l.current *= part
		l.stack()
	}
	l.lo, l.hi = c.currentRange()
	l.amps = rule125(int64(float64(l.hi-l.lo) * 1.6 * l.m.Row / l.current))
	return l
}

// crowded says that the labels of the time axis, as fine as its steps need them, would
// run into each other.
func (l *layout) crowded() bool {
	wide := l.p.Width(Small, seconds(l.c.to, decimals(l.time.step, 1_000_000_000)))
	return float64(l.time.step)*l.perTime < wide+l.m.Pad && l.time.step < int64(l.c.to-l.c.from)
}

func (l *layout) laneCount() int {
	n := len(l.c.lanes)
	if len(l.c.opts.Motor) > 0 {
		n++
	}
	return n
}

// gutter makes room on the left for the names of the lanes.
func (l *layout) gutter() {
	wide := l.p.Width(Label, currentLabel) + l.m.Pad + l.p.Width(Small, "−12.5")
	for _, line := range l.c.lanes {
		wide = max(wide, l.p.Width(Label, line.String()))
	}
	l.left = l.area.X + l.m.Margin + wide + l.m.Pad
	l.right = max(l.area.X+l.area.W-l.m.Margin-l.m.Pad, l.left+10*l.m.Step)
	if l.m.Coarse { // whole characters
		l.left = float64(2 * int(l.left/2))
	}
}

// stack works out the heights from the top down.
func (l *layout) stack() {
	m := l.m
	y := l.area.Y + m.Margin
	if l.c.opts.Title != "" || l.c.opts.Note != "" {
		y += m.TitleRow
	}
	y += float64(len(l.sentence)) * m.Row
	y += m.Pad / 2
	if m.Coarse {
		y -= m.Pad / 2
	}
	l.yMarks = y
	y += float64(l.markRows) * m.Row
	l.top = y
	y += m.Edge
	l.yReq = y
	if l.c.req.timed {
		y += l.requirementHeight()
	}
	l.yLanes = y
	y += l.lane * float64(len(l.c.lanes))
	l.yMotor = y
	if len(l.c.opts.Motor) > 0 {
		y += l.lane
	}
	l.yCurrent = y
	y += l.current + m.Edge
	l.bottom, l.yAxis = y, y
	y += 1.3 * m.Row
	if m.Coarse {
		y -= 0.3 * m.Row
	}
	l.yOver = y
	if l.c.zoomed() && m.Overview > 0 {
		y += m.Overview + m.Row
	}
	if !m.Coarse {
		y += m.Row // the footnote
	}
	l.height = y + m.Margin - l.area.Y
}

func (l *layout) requirementHeight() float64 {
	if l.m.Coarse {
		return 2 * l.m.Row
	}
	return 3.2 * l.m.Row
}

// x is the place of an instant. The product is rounded by itself, so that no
// machine fuses it with the sum.
func (l *layout) x(t signal.Instant) float64 {
	return l.left + float64(float64(t-l.c.from)*l.perTime)
}

// y is the height of a current.
func (l *layout) y(c signal.Current) float64 {
	part := float64(int64(c)-l.lo) / float64(l.hi-l.lo)
	return l.yCurrent + l.current - l.m.Inset - float64(part*(l.current-2*l.m.Inset))
}

// clamp keeps a place within the strip.
func (l *layout) clamp(x float64) float64 { return min(max(x, l.left), l.right) }

func (l *layout) inside(x float64) bool { return x >= l.left-0.01 && x <= l.right+0.01 }

// Clip shortens a text to a width.
func Clip(p Pen, s Style, text string, width float64) string {
	if p.Width(s, text) <= width {
		return text
	}
	letters := []rune(text)
	for len(letters) > 0 && p.Width(s, string(letters)+"…") > width {
		letters = letters[:len(letters)-1]
	}
	return strings.TrimRight(string(letters), " ") + "…"
}
