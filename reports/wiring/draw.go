package wiring

import (
	"fmt"
	"sort"
	"strings"

	"pintle/reports/chart"
	"pintle/rig/header"
	"pintle/rig/signal"
)

// A plan is the drawing of the connector: the pins in two columns as they are on the
// board, and on each side the lanes of the wires that go out from them.
type plan struct {
	p           chart.Pen
	u           float64 // height of a row of text
	left, right float64 // of the paper
	top         float64 // of the first row
	middle      float64 // between the two columns of pins
	column      float64 // width of a column with its names
	trace, box  float64 // widths
	gap, row    float64
}

const rowsOfPins = header.Pins / 2

func newPlan(p chart.Pen, x, y, width, row float64) *plan {
	m := p.Metrics()
	u := m.Row
	return &plan{p: p, u: u, left: x + m.Margin, right: x + width - m.Margin, top: y + 1.6*u, middle: x + width/2,
		column: 5.7 * u, trace: 4.2 * u, box: 5.4 * u, gap: 0.6 * u, row: row}
}

// pins draws the connector with its lanes, each row so high, and gives where it ends.
func (s *Sheet) pins(p chart.Pen, x, y, width, row float64) float64 {
	l := newPlan(p, x, y, width, row)
	bottom := l.top + rowsOfPins*l.row
	l.paper(bottom)
	for n := 1; n <= header.Pins; n++ {
		pin, err := header.At(n)
		if err != nil {
			continue
		}
		w, used := s.at(n)
		l.pin(pin, used, s.keeps(pin))
		if used {
			l.lane(w)
		}
	}
	l.barrier(s, -1)
	l.barrier(s, 1)
	return bottom + 1.4*l.u
}

// paper rules the strip and names its parts.
func (l *plan) paper(bottom float64) {
	for i := 0; i <= rowsOfPins; i++ {
		y := l.top + float64(i)*l.row
		ink := chart.GridFine
		if i%5 == 0 {
			ink = chart.GridMain
		}
		l.p.Line(ink, chart.Point{X: l.left, Y: y}, chart.Point{X: l.right, Y: y})
	}
	for _, side := range []float64{-1, 1} {
		for i := 0; i <= 4; i++ {
			x := l.middle + side*(l.column+l.gap+float64(i)*l.trace/4)
			l.p.Line(chart.GridFine, chart.Point{X: x, Y: l.top}, chart.Point{X: x, Y: bottom})
		}
		l.p.Text(chart.Small, chart.Point{X: l.atBox(side), Y: l.top - 0.5*l.u}, chart.Middle, "isolation")
		l.p.Text(chart.Small, chart.Point{X: l.middle + side*(l.column+l.gap+l.trace/2), Y: l.top - 0.5*l.u}, chart.Middle, "pin's level")
	}
	l.p.Text(chart.Small, chart.Point{X: l.left, Y: l.top - 0.5*l.u}, chart.Start, "controller")
	l.p.Text(chart.Small, chart.Point{X: l.right, Y: l.top - 0.5*l.u}, chart.End, "controller")
	l.p.Text(chart.Small, chart.Point{X: l.middle, Y: l.top - 0.5*l.u}, chart.Middle, "connector")
	for _, y := range []float64{l.top, bottom} {
		l.p.Line(chart.Frame, chart.Point{X: l.left, Y: y}, chart.Point{X: l.right, Y: y})
	}
	l.p.Line(chart.Perforation, chart.Point{X: l.left + 0.4*l.u, Y: bottom + 0.7*l.u}, chart.Point{X: l.right - 0.4*l.u, Y: bottom + 0.7*l.u})
}

// sideOf gives the row of a pin, counted from 0, and its side: -1 left, 1 right.
func sideOf(number int) (row int, side float64) {
	if number%2 == 0 {
		return number/2 - 1, 1
	}
	return number / 2, -1
}

func (l *plan) centre(number int) float64 {
	row, _ := sideOf(number)
	return l.top + (float64(row)+0.5)*l.row
}

// atBox is the middle of the boxes of a side.
func (l *plan) atBox(side float64) float64 {
	return l.middle + side*(l.column+2*l.gap+l.trace+l.box/2)
}

// pin draws a pin with its number, and its name beside it.
func (l *plan) pin(pin header.Pin, used, kept bool) {
	_, side := sideOf(pin.Number)
	y := l.centre(pin.Number)
	size := 1.5 * l.u
	x := l.middle + side*(size/2+0.1*l.u)
	if used {
		l.p.Rect(chart.Band, chart.Area{X: x - size/2, Y: y - size/2, W: size, H: size})
	}
	ink := chart.Frame
	if used {
		ink = chart.Trace
	}
	frame(l.p, ink, chart.Area{X: x - size/2, Y: y - size/2, W: size, H: size})
	l.p.Text(chart.Small, chart.Point{X: x, Y: y + 0.27*l.u}, chart.Middle, fmt.Sprint(pin.Number))
	style, name := chart.Small, pin.Name()
	switch {
	case used:
		style = chart.Measured
	case kept:
		name = "in use"
	case pin.Kind == header.Reserved:
		name = "reserved"
	}
	anchor := chart.Start
	if side < 0 {
		anchor = chart.End
	}
	l.p.Text(style, chart.Point{X: x + side*(size/2+0.35*l.u), Y: y + 0.27*l.u}, anchor, name)
}

func frame(p chart.Pen, ink chart.Ink, a chart.Area) {
	p.Polyline(ink, []chart.Point{{X: a.X, Y: a.Y}, {X: a.X + a.W, Y: a.Y}, {X: a.X + a.W, Y: a.Y + a.H}, {X: a.X, Y: a.Y + a.H}, {X: a.X, Y: a.Y}})
}

// lane draws a wire from its pin through its box to its name.
func (l *plan) lane(w *Wire) {
	_, side := sideOf(w.Pin.Number)
	y := l.centre(w.Pin.Number)
	from := l.middle + side*(l.column+0.1*l.u)
	x0 := l.middle + side*(l.column+l.gap)
	if side < 0 {
		x0 -= l.trace
	}
	rest := l.level(w, y, false)
	in := l.atBox(side) - side*l.box/2
	l.p.Line(chart.Trace, chart.Point{X: from, Y: rest}, chart.Point{X: x0 + (1-side)/2*l.trace, Y: rest})
	l.p.Polyline(chart.Trace, l.swing(w, x0, y))
	l.p.Line(chart.Trace, chart.Point{X: x0 + (1+side)/2*l.trace, Y: rest}, chart.Point{X: in, Y: rest})
	out := l.through(w, y, rest, side)
	l.name(w, y, out, side)
}

// level is where the pen stands: high is up.
func (l *plan) level(w *Wire, y float64, made bool) float64 {
	if w.RestHigh() != made {
		return y - 0.5*l.u
	}
	return y + 0.5*l.u
}

// swing is the pen's way while the line rests, is made, and rests again.
func (l *plan) swing(w *Wire, x, y float64) []chart.Point {
	times := 1
	if w.Line == signal.Heartbeat {
		times = 4
	}
	var way []chart.Point
	add := func(part float64, made bool) {
		way = append(way, chart.Point{X: x + part*l.trace, Y: l.level(w, y, made)})
	}
	add(0, false)
	for i := range times {
		a, b := (float64(i)+0.25)/float64(times), (float64(i)+0.75)/float64(times)
		add(a, false)
		add(a, true)
		add(b, true)
		add(b, false)
	}
	add(1, false)
	return way
}

// through draws what stands between the sides, and the wire out of it, and gives
// where that ends.
func (l *plan) through(w *Wire, y, rest, side float64) float64 {
	at := l.atBox(side)
	far := at + side*l.box/2
	out := far + side*1.4*l.u
	if w.Through == "direct" {
		l.p.Line(chart.Trace, chart.Point{X: at - side*l.box/2, Y: rest}, chart.Point{X: out, Y: rest})
		beside := rest - 0.4*l.u
		if w.RestHigh() {
			beside = rest + 0.95*l.u
		}
		l.p.Text(chart.Measured, chart.Point{X: at, Y: beside}, chart.Middle, "direct")
	} else {
		box := chart.Area{X: at - l.box/2, Y: y - 0.8*l.u, W: l.box, H: 1.6 * l.u}
		l.p.Rect(chart.Shown, box)
		frame(l.p, chart.Trace, box)
		l.p.Text(chart.Small, chart.Point{X: at, Y: y + 0.27*l.u}, chart.Middle, w.Through)
		l.p.Line(chart.Trace, chart.Point{X: far, Y: rest}, chart.Point{X: out, Y: rest})
	}
	l.arrow(w, far, out, rest)
	return out
}

// arrow says which way the signal goes.
func (l *plan) arrow(w *Wire, far, out, y float64) {
	tip, tail := out, far
	if !w.Output() {
		tip, tail = far+(out-far)*0.35, out
	}
	back := 0.5 * l.u
	if tip > tail {
		back = -back
	}
	l.p.Polyline(chart.Trace, []chart.Point{{X: tip + back, Y: y - 0.28*l.u}, {X: tip, Y: y}, {X: tip + back, Y: y + 0.28*l.u}})
}

// name writes what the wire is and where it ends.
func (l *plan) name(w *Wire, y, out, side float64) {
	x, anchor, room := out+side*0.5*l.u, chart.Start, l.right-out-0.5*l.u
	if side < 0 {
		anchor, room = chart.End, out-l.left-0.5*l.u
	}
	end := w.End()
	base := y - 0.05*l.u
	if end == "" {
		base = y + 0.3*l.u
	}
	l.p.Text(chart.Label, chart.Point{X: x, Y: base}, anchor, clip(l.p, chart.Label, w.Line.String(), room))
	l.p.Text(chart.Small, chart.Point{X: x, Y: y + 0.85*l.u}, anchor, clip(l.p, chart.Small, end, room))
}

// barrier is the line between the two sides, with a hatch on the controller's. It
// goes through the boxes of isolated wires, around their words; wires that are not
// isolated break it.
func (l *plan) barrier(s *Sheet, side float64) {
	x := l.atBox(side)
	for row := range rowsOfPins {
		number := 2*row + 1
		if side > 0 {
			number++
		}
		y := l.top + float64(row)*l.row
		up := func(from, to float64) {
			l.p.Line(chart.Limit, chart.Point{X: x, Y: from}, chart.Point{X: x, Y: to})
		}
		if w, used := s.at(number); used {
			if w.Isolated() {
				words := 0.5 * l.u
				up(y, y+l.row/2-words)
				up(y+l.row/2+words, y+l.row)
			}
			continue
		}
		up(y, y+l.row)
		for _, h := range []float64{0.3, 0.8} {
			l.p.Line(chart.Hatch, chart.Point{X: x, Y: y + h*l.row}, chart.Point{X: x + side*0.5*l.u, Y: y + h*l.row - 0.3*l.u})
		}
	}
}

// clip shortens a text to a width.
func clip(p chart.Pen, s chart.Style, text string, width float64) string {
	if p.Width(s, text) <= width {
		return text
	}
	letters := []rune(text)
	many := sort.Search(len(letters), func(n int) bool { return p.Width(s, string(letters[:n+1])+"…") > width })
	return strings.TrimRight(string(letters[:many]), " ") + "…"
}

// legend says how the drawing is read, and that there is nothing on it where no line has
// a pin.
func (s *Sheet) legend() string {
	for i := range s.Wires {
		if s.Wires[i].Placed() {
			return reading
		}
	}
	return "No line has a pin yet, so the connector is drawn alone: bench.yaml says at which pin each line is. " + reading
}

const reading = "The connector as one looks down on the pins, pin 1 (its solder pad is square) at the upper left. " +
	"In each lane the pen shows the pin's level: at rest, made, at rest again; up is 3.3 V. " +
	"The arrow shows which way the signal goes. The hatched line parts the pin's side from the controller's: " +
	"it goes through the boxes of isolated wires, and a wire that is not isolated breaks it."
