package trend

import (
	"fmt"
	"io"
	"math"
	"slices"
	"strings"

	"pintle/reports/chart"
	"pintle/rig/rule"
)

// SVG draws a strip for each rule that has values: the runs from left to right, for
// each the median, and the worst value under its limit. Rules that measure nothing
// are told of in words.
func (t *Trend) SVG(w io.Writer) error {
	title := "Trend of " + t.Of
	return chart.WriteSVG(w, chart.SVGOptions{Width: pictureWidth, Print: true}, title, t.describe(), func(p chart.Pen, width float64) float64 {
		return t.draw(p, width, title)
	})
}

const (
	pictureWidth = 960
	stripHeight  = 150.0
	scaleWidth   = 92.0 // left of a strip
	resultWidth  = 150.0
	edge         = 11.0 // of the paper, where its holes are
	mark         = 4.0  // half the width of the mark of a median
)

// describe is the picture in words.
func (t *Trend) describe() string {
	var told []string
	for i := range t.Series {
		s := &t.Series[i]
		var points []string
		for j := range s.Points {
			p := &s.Points[j]
			if p.Measured == 0 {
				points = append(points, fmt.Sprintf("%s: nothing measured, %s", p.name(), p.Said))
				continue
			}
			points = append(points, fmt.Sprintf("%s: median %s, worst %s, %s", p.name(), figure(p.worst, p.Median), figure(p.worst, p.Worst), p.Said))
		}
		told = append(told, s.heading()+". "+strings.Join(points, "; ")+".")
	}
	return strings.ReplaceAll(strings.Join(told, " "), "\u00a0", " ")
}

// A strip is where the points of one rule go.
type strip struct {
	p                        chart.Pen
	m                        chart.Metrics
	s                        *Series
	left, right, top, bottom float64
	lo, hi                   int64 // of the values on the scale
}

func (t *Trend) draw(p chart.Pen, width float64, title string) float64 {
	m := p.Metrics()
	var strips []*strip
	y := m.Margin + m.TitleRow + 2*m.Row
	for i := range t.Series {
		s := &t.Series[i]
		if s.measured() {
			strips = append(strips, newStrip(p, m, s, width, y))
			y += stripHeight + 4*m.Row
		}
	}
	height := y + m.Margin
	p.Rect(chart.Paper, chart.Area{W: width, H: height})
	p.Text(chart.Title, chart.Point{X: m.Margin, Y: m.Margin + m.Row}, chart.Start, title)
	note := "each run: a bar from the median (wide mark) to the worst value (dot end); the shaded side keeps the limit"
	switch n := len(t.Series) - len(strips); {
	case n == 1:
		note += "; one rule that measures nothing is not drawn"
	case n > 1:
		note = fmt.Sprintf("%s; %d rules that measure nothing are not drawn", note, n)
	}
	p.Text(chart.Small, chart.Point{X: m.Margin, Y: m.Margin + m.TitleRow + m.Row*0.8}, chart.Start, note)
	for _, s := range strips {
		s.draw()
	}
	return height
}

func (s *Series) measured() bool {
	return slices.ContainsFunc(s.Points, func(p Point) bool { return p.Measured > 0 })
}

func newStrip(p chart.Pen, m chart.Metrics, s *Series, width, y float64) *strip {
	l := &strip{p: p, m: m, s: s, left: m.Margin + scaleWidth, right: width - m.Margin - resultWidth,
		top: y + 1.2*m.Row, bottom: y + 1.2*m.Row + stripHeight, lo: math.MaxInt64, hi: math.MinInt64}
	for i := range s.Points {
		if q := &s.Points[i]; q.Measured > 0 {
			l.lo, l.hi = min(l.lo, q.Median, q.Worst, q.Limit), max(l.hi, q.Median, q.Worst, q.Limit)
		}
	}
	pad := max((l.hi-l.lo)/6, l.hi/50, 1)
	low := l.lo - pad
	if l.lo >= 0 {
		low = max(low, 0)
	}
	l.lo, l.hi = low, l.hi+pad
	return l
}

// x is the place of a run: all are as far apart.
func (l *strip) x(i int) float64 {
	return l.left + (l.right-l.left)*(float64(i)+0.5)/float64(len(l.s.Points))
}

func (l *strip) y(v int64) float64 {
	part := float64(v-l.lo) / float64(l.hi-l.lo)
	return l.bottom - edge - float64(part*(l.bottom-l.top-2*edge))
}

func (l *strip) draw() {
	l.p.Text(chart.Label, chart.Point{X: l.m.Margin, Y: l.top - 0.5*l.m.Row}, chart.Start, chart.Clip(l.p, chart.Label, l.s.heading(), l.right+resultWidth-l.m.Margin))
	l.band()
	l.grid()
	l.limit()
	l.line()
	for i := range l.s.Points {
		l.point(i)
	}
	l.builds()
	l.result()
}

// band shades the side of the limit on which values must be.
func (l *strip) band() {
	for i := range l.s.Points {
		p := &l.s.Points[i]
		if p.Measured == 0 {
			continue
		}
		half := (l.right - l.left) / float64(len(l.s.Points)) / 2
		from, to := l.y(p.Limit), l.bottom-edge
		if l.s.Sense == rule.AtLeast {
			from, to = l.top+edge, l.y(p.Limit)
		}
		l.p.Rect(chart.Band, chart.Area{X: l.x(i) - half, Y: from, W: 2 * half, H: to - from})
	}
}

// grid rules the paper, with the values at its left.
func (l *strip) grid() {
	like := rule.Finding{Unit: l.s.unit, Limit: l.hi, Sense: rule.AtMost}
	step := step125((l.hi - l.lo) / 5)
	for v := (l.lo + step - 1) / step * step; v <= l.hi; v += step {
		l.p.Line(chart.GridMain, chart.Point{X: l.left, Y: l.y(v)}, chart.Point{X: l.right, Y: l.y(v)})
		l.p.Text(chart.Small, chart.Point{X: l.left - l.m.Pad, Y: l.y(v) + 0.26*l.m.Row}, chart.End, tick(like, v, l.hi))
	}
	for i := range l.s.Points {
		l.p.Line(chart.GridFine, chart.Point{X: l.x(i), Y: l.top}, chart.Point{X: l.x(i), Y: l.bottom})
	}
	for _, y := range []float64{l.top + edge/2, l.bottom - edge/2} {
		l.p.Line(chart.Perforation, chart.Point{X: l.left + edge, Y: y}, chart.Point{X: l.right - edge/2, Y: y})
	}
	for _, y := range []float64{l.top, l.bottom} {
		l.p.Line(chart.Frame, chart.Point{X: l.left, Y: y}, chart.Point{X: l.right, Y: y})
	}
	for _, x := range []float64{l.left, l.right} {
		l.p.Line(chart.Frame, chart.Point{X: x, Y: l.top}, chart.Point{X: x, Y: l.bottom})
	}
}

// tick writes a value of the scale, all in the unit that suits the largest.
func tick(like rule.Finding, v, largest int64) string {
	like.Limit, like.Value = v, rule.Interval{Most: largest}
	return like.LimitFigure()
}

// step125 is the least of 1, 2 or 5 times a power of ten that is at least want.
func step125(want int64) int64 {
	for p := int64(1); p <= 1e17; p *= 10 {
		for _, m := range []int64{1, 2, 5} {
			if m*p >= want {
				return m * p
			}
		}
	}
	return 1e18
}

// limit draws the rule line of the limit as it was in each run, hatched on the side
// that breaks it.
func (l *strip) limit() {
	half := (l.right - l.left) / float64(len(l.s.Points)) / 2
	away := -5.0
	if l.s.Sense == rule.AtLeast {
		away = 5
	}
	for i := range l.s.Points {
		p := &l.s.Points[i]
		if p.Measured == 0 {
			continue
		}
		y := l.y(p.Limit)
		l.p.Line(chart.Limit, chart.Point{X: l.x(i) - half, Y: y}, chart.Point{X: l.x(i) + half, Y: y})
		for x := l.x(i) - half + 3; x < l.x(i)+half-3; x += 7 {
			l.p.Line(chart.Hatch, chart.Point{X: x, Y: y}, chart.Point{X: x + 4, Y: y + away})
		}
	}
}

// line joins the medians of runs that follow each other.
func (l *strip) line() {
	var points []chart.Point
	for i := range l.s.Points {
		if p := &l.s.Points[i]; p.Measured > 0 {
			points = append(points, chart.Point{X: l.x(i), Y: l.y(p.Median)})
			continue
		}
		l.p.Polyline(chart.Faint, points)
		points = nil
	}
	l.p.Polyline(chart.Faint, points)
}

// point draws a run: a bar from the median to the worst value. One that is no pass
// says so in words.
func (l *strip) point(i int) {
	p := &l.s.Points[i]
	x, ink, style := l.x(i), chart.Trace, chart.Small
	if p.Verdict == rule.Fail {
		ink, style = chart.Broken, chart.BrokenWords
	}
	if p.Measured > 0 {
		median, worst := l.y(p.Median), l.y(p.Worst)
		l.p.Line(ink, chart.Point{X: x, Y: median}, chart.Point{X: x, Y: worst})
		l.p.Line(ink, chart.Point{X: x - mark, Y: median}, chart.Point{X: x + mark, Y: median})
		for _, d := range []float64{-1, 0, 1} {
			l.p.Line(ink, chart.Point{X: x - 1.5, Y: worst + d}, chart.Point{X: x + 1.5, Y: worst + d})
		}
	}
	if p.Verdict != rule.Pass {
		l.p.Text(style, chart.Point{X: x, Y: l.bottom - edge - 4}, chart.Middle, p.Said)
	}
}

// builds writes under the strip which build each run was of, as many as there is room
// for, and the last in any case.
func (l *strip) builds() {
	free := math.Inf(1) // from the right
	for i := len(l.s.Points) - 1; i >= 0; i-- {
		p := &l.s.Points[i]
		name, date := p.name(), p.Began.Format("2006-01-02")
		half := max(l.p.Width(chart.Small, name), l.p.Width(chart.Small, date)) / 2
		if l.x(i)+half+l.m.Pad > free {
			continue
		}
		free = l.x(i) - half
		l.p.Text(chart.Small, chart.Point{X: l.x(i), Y: l.bottom + l.m.Row}, chart.Middle, name)
		l.p.Text(chart.Small, chart.Point{X: l.x(i), Y: l.bottom + 1.9*l.m.Row}, chart.Middle, date)
	}
}

// result writes the limit, and the margin of the last run, beside the strip.
func (l *strip) result() {
	points := slices.DeleteFunc(slices.Clone(l.s.Points), func(p Point) bool { return p.Measured == 0 })
	last := points[len(points)-1]
	x, y := l.right+l.m.Pad, l.y(last.Limit)
	l.p.Text(chart.LimitWords, chart.Point{X: x, Y: y + 4}, chart.Start, last.limit())
	style := chart.Measured
	if last.Verdict == rule.Fail {
		style = chart.BrokenWords
	}
	at := l.y(last.Worst) + 4
	if math.Abs(at-y-4) < l.m.Row {
		at = y + 4 + l.m.Row
		if last.Worst > last.Limit == (l.s.Sense == rule.AtMost) && l.s.Sense == rule.AtMost {
			at = y + 4 - l.m.Row
		}
	}
	l.p.Text(style, chart.Point{X: x, Y: at}, chart.Start, last.worst.MarginWords())
}
