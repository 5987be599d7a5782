package wiring

import (
	"io"
	"strings"

	"pintle/reports/chart"
	"pintle/rig/fold"
)

// pictureWidth is that of a picture on a screen, in pixels.
const pictureWidth = 980

// SVG writes the drawing as one picture: the connector with its lanes, the dead-man
// circuit, and the cautions, which a drawing must not go without.
func (s *Sheet) SVG(w io.Writer) error {
	return chart.WriteSVG(w, chart.SVGOptions{Width: pictureWidth}, s.heading(), s.describe(), s.draw)
}

// heading is the title of the sheet.
func (s *Sheet) heading() string { return "Wiring of the bench: " + s.Title }

// describe is the drawing in words.
func (s *Sheet) describe() string {
	var words []string
	for i := range s.Wires {
		w := &s.Wires[i]
		if w.Placed() {
			words = append(words, w.Line.String()+": "+w.Pin.String()+", "+w.Direction()+", "+w.Levels()+", "+w.Isolation()+".")
		}
	}
	return strings.Join(words, " ")
}

// draw draws the picture and gives its height. The paper has to be laid first, and
// its height is known only in the end: it is drawn twice, the first time on nothing.
func (s *Sheet) draw(p chart.Pen, width float64) float64 {
	height := s.picture(unseen{p}, width)
	p.Rect(chart.Paper, chart.Area{W: width, H: height})
	return s.picture(p, width)
}

// unseen measures as its pen does and draws nothing.
type unseen struct{ chart.Pen }

func (unseen) Line(chart.Ink, chart.Point, chart.Point)            {}
func (unseen) Polyline(chart.Ink, []chart.Point)                   {}
func (unseen) Rect(chart.Wash, chart.Area)                         {}
func (unseen) Text(chart.Style, chart.Point, chart.Anchor, string) {}

func (s *Sheet) picture(p chart.Pen, width float64) float64 {
	m := p.Metrics()
	f := &flow{p: p, x: m.Margin, y: m.Margin, width: width - 2*m.Margin, row: m.Row}
	f.y += m.TitleRow
	p.Text(chart.Title, chart.Point{X: f.x, Y: f.y - 0.3*m.TitleRow}, chart.Start, clip(p, chart.Title, s.heading(), f.width))
	f.words(chart.Small, s.facts())
	f.words(chart.Small, s.legend())
	f.y = s.pins(p, 0, f.y+0.6*m.Row, width, 2.1*m.Row)
	f.part("The dead-man circuit, in general terms")
	f.y = s.circuit(p, 0, f.y, width)
	for _, words := range s.deadMan() {
		f.words(chart.Small, words)
	}
	f.part("Cautions")
	for _, c := range s.Cautions() {
		f.words(chart.Small, c.About+": "+c.Words)
	}
	return f.y + m.Margin
}

// facts are what the sheet is of.
func (s *Sheet) facts() string {
	var all []string
	for _, f := range []string{s.Place, s.Meter} {
		if f != "" {
			all = append(all, f)
		}
	}
	if s.Digest != "" {
		all = append(all, "bench file SHA-256 "+s.Digest[:min(16, len(s.Digest))])
	}
	return strings.Join(all, "; ")
}

// A flow writes texts one under another.
type flow struct {
	p                chart.Pen
	x, y, width, row float64
}

func (f *flow) part(title string) {
	f.y += 2.2 * f.row
	f.p.Text(chart.Measured, chart.Point{X: f.x, Y: f.y - 0.5*f.row}, chart.Start, title)
	f.p.Line(chart.Frame, chart.Point{X: f.x, Y: f.y}, chart.Point{X: f.x + f.width, Y: f.y})
	f.y += 0.3 * f.row
}

func (f *flow) words(s chart.Style, text string) {
	for _, line := range fold.Rows(text, f.width, func(row string) float64 { return f.p.Width(s, row) }, nil) {
		f.y += f.row
		f.p.Text(s, chart.Point{X: f.x, Y: f.y - 0.25*f.row}, chart.Start, line)
	}
	f.y += 0.25 * f.row
}
