package compare

import (
	"fmt"
	"io"
	"math"
	"strings"

	"pintle/reports/chart"
	"pintle/rig/rule"
)

// SVG draws the rules that were compared by value, one row each: every trial of A
// above, every trial of B below, against the limit. All rows share one axis, on which
// a value is a part of its limit.
func (c *Comparison) SVG(w io.Writer) error {
	title := fmt.Sprintf("What changed from run %s to run %s", c.A.Run, c.B.Run)
	return chart.WriteSVG(w, chart.SVGOptions{Width: pictureWidth}, title, c.describe(), func(p chart.Pen, width float64) float64 {
		return c.draw(p, width, title)
	})
}

const (
	pictureWidth = 960
	rowHeight    = 44.0
	labelWidth   = 370.0
	resultWidth  = 170.0
	mostShare    = 2.0 // of a limit that the axis goes up to
	tick         = 7.0 // height of the mark of one trial
)

// describe is the picture in words.
func (c *Comparison) describe() string {
	var told []string
	for i := range c.Rules {
		if r := &c.Rules[i]; r.Compared {
			told = append(told, fmt.Sprintf("%s, %s: %s, %s.", r.Scenario, r.Name, r.Change, r.Values()))
		}
	}
	return strings.ReplaceAll(c.Conclusion()+". "+strings.Join(told, " "), "\u00a0", " ")
}

// A plot is where the values of a row go.
type plot struct {
	p           chart.Pen
	left, right float64
}

func (l plot) x(share float64) float64 {
	return l.left + (l.right-l.left)*min(max(share, 0), mostShare)/mostShare
}

func (c *Comparison) draw(p chart.Pen, width float64, title string) float64 {
	m := p.Metrics()
	l := plot{p, m.Margin + labelWidth, width - m.Margin - resultWidth}
	rows := 0
	for i := range c.Rules {
		if c.Rules[i].Compared {
			rows++
		}
	}
	top := m.Margin + m.TitleRow + 3*m.Row
	height := top + float64(rows)*rowHeight + 2*m.Row + m.Margin
	p.Rect(chart.Paper, chart.Area{W: width, H: height})
	p.Text(chart.Title, chart.Point{X: m.Margin, Y: m.Margin + m.Row}, chart.Start, title)
	p.Text(chart.Small, chart.Point{X: m.Margin, Y: m.Margin + m.TitleRow + m.Row}, chart.Start,
		fmt.Sprintf("upper marks: A, %s; lower marks: B, %s; each mark a trial, the long one the median", c.A.Firmware, c.B.Firmware))
	l.grid(top, top+float64(rows)*rowHeight, m)
	y := top
	for i := range c.Rules {
		if r := &c.Rules[i]; r.Compared {
			l.row(r, y, m, width)
			y += rowHeight
		}
	}
	p.Line(chart.Frame, chart.Point{X: m.Margin, Y: y}, chart.Point{X: width - m.Margin, Y: y})
	return height
}

// grid rules the axis: each tenth of the limit, with its name each half.
func (l plot) grid(top, bottom float64, m chart.Metrics) {
	for n := 0; n <= int(mostShare*10); n++ {
		x, ink := l.x(float64(n)/10), chart.GridFine
		if n%5 == 0 {
			ink = chart.GridMain
		}
		l.p.Line(ink, chart.Point{X: x, Y: top}, chart.Point{X: x, Y: bottom})
		if n%5 == 0 {
			l.p.Text(chart.Small, chart.Point{X: x, Y: bottom + m.Row}, chart.Middle, fmt.Sprintf("%d %%", n*10)+more(n))
		}
	}
	l.p.Text(chart.Small, chart.Point{X: l.left, Y: top - 4}, chart.Start, "value as a part of its limit")
}

// more says at the end of the axis that values beyond it are drawn there.
func more(n int) string {
	if n < int(mostShare*10) {
		return ""
	}
	return " and more"
}

func (l plot) row(r *Rule, y float64, m chart.Metrics, width float64) {
	l.p.Line(chart.Frame, chart.Point{X: m.Margin, Y: y}, chart.Point{X: width - m.Margin, Y: y})
	l.p.Text(chart.Label, chart.Point{X: m.Margin, Y: y + 17}, chart.Start, chart.Clip(l.p, chart.Label, r.Scenario, labelWidth-m.Pad))
	l.p.Text(chart.Small, chart.Point{X: m.Margin, Y: y + 33}, chart.Start, chart.Clip(l.p, chart.Small, r.Name, labelWidth-m.Pad))
	l.limit(r, y)
	limit := float64(r.Limit)
	if limit != 0 {
		l.marks(chart.Faint, r.a, limit, r.MedianA, y+14)
		ink := chart.Trace
		if r.Change == Worse || r.Change == Eroded {
			ink = chart.Broken
		}
		l.marks(ink, r.b, limit, r.MedianB, y+31)
	}
	style := chart.Label
	if r.Change == Worse || r.Change == Eroded {
		style = chart.BrokenWords
	}
	x := l.right + m.Pad
	l.p.Text(style, chart.Point{X: x, Y: y + 17}, chart.Start, r.Change.String())
	l.p.Text(chart.Small, chart.Point{X: x, Y: y + 33}, chart.Start, r.shifted()+", p "+probability(r.Adjusted))
}

// limit is a rule line with a hatch on the side that breaks it.
func (l plot) limit(r *Rule, y float64) {
	x := l.x(1)
	l.p.Line(chart.Limit, chart.Point{X: x, Y: y + 2}, chart.Point{X: x, Y: y + rowHeight - 2})
	away := 6.0
	if r.sense == rule.AtLeast {
		away = -away
	}
	for h := y + 8; h < y+rowHeight-4; h += 7 {
		l.p.Line(chart.Hatch, chart.Point{X: x, Y: h}, chart.Point{X: x + away, Y: h - 4})
	}
}

// marks draws a short mark for each trial and a long one for the median. Marks that
// would fall on one another are drawn once.
func (l plot) marks(ink chart.Ink, values []int64, limit float64, median int64, y float64) {
	last := math.Inf(-1)
	for _, v := range values {
		if x := l.x(float64(v) / limit); x-last >= 0.5 {
			l.p.Line(ink, chart.Point{X: x, Y: y - tick/2}, chart.Point{X: x, Y: y + tick/2})
			last = x
		}
	}
	x := l.x(float64(median) / limit)
	l.p.Line(ink, chart.Point{X: x, Y: y - tick}, chart.Point{X: x, Y: y + tick})
}

// shifted is by how much a rule's values have shifted, in plain characters.
func (r *Rule) shifted() string {
	if by := r.signed(r.Shift); by != "0" {
		return strings.ReplaceAll(by, "\u00a0", " ")
	}
	return "no shift"
}
