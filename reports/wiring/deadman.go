package wiring

import (
	"pintle/reports/chart"
	"pintle/rig/signal"
)

// circuit draws the dead-man circuit from a place on, and gives where it ends: the way
// of the heartbeat above, that of the supply below it, then both as strips over time.
func (s *Sheet) circuit(p chart.Pen, x, y, width float64) float64 {
	m := p.Metrics()
	c := &chain{p: p, u: m.Row, left: x + m.Margin, right: x + width - m.Margin}
	y += 1.2 * c.u
	heart, through := "a pin", "isolation|optocoupler"
	for i := range s.Wires {
		w := &s.Wires[i]
		if w.Line != signal.Heartbeat {
			continue
		}
		if w.Placed() {
			heart = w.Pin.Name()
		}
		through = "isolation|" + w.Through
		if !w.Isolated() {
			through = "no isolation|" + w.Through
		}
	}
	const columns = 5
	upper := []string{heart + "|heartbeat", through, "edges only|capacitor", "hold time|anew at each edge", "dead-man|relay's coil"}
	lower := []string{"battery|positive", "fuse|at the battery", "switch|by hand", "supply line|its relay's contact", "dead-man|relay's contact"}
	c.boxes(y, columns, upper, true)
	below := y + 4.2*c.u
	c.boxes(below, columns, lower, false)
	last := c.at(columns-1, columns)
	p.Line(chart.Limit, chart.Point{X: last, Y: y + 2.6*c.u}, chart.Point{X: last, Y: below})
	p.Text(chart.LimitWords, chart.Point{X: last - 0.5*c.u, Y: below - 0.55*c.u}, chart.End, "pulled in only while the heart beats")
	end := below + 3.6*c.u
	p.Line(chart.Trace, chart.Point{X: last, Y: below + 2.6*c.u}, chart.Point{X: last, Y: end})
	p.Polyline(chart.Trace, []chart.Point{{X: last - 0.3*c.u, Y: end - 0.5*c.u}, {X: last, Y: end}, {X: last + 0.3*c.u, Y: end - 0.5*c.u}})
	p.Text(chart.Label, chart.Point{X: last - 0.7*c.u, Y: end}, chart.End, "to the controller's supply")
	return c.strips(end + 2.2*c.u)
}

type chain struct {
	p              chart.Pen
	u, left, right float64
}

// at is the middle of a column.
func (c *chain) at(i, of int) float64 {
	return c.left + (float64(i)+0.5)*(c.right-c.left)/float64(of)
}

// boxes draws a row of boxes with wires between them. In each two texts stand, one
// under the other.
func (c *chain) boxes(y float64, of int, words []string, signal bool) {
	wide := (c.right-c.left)/float64(of) - 1.6*c.u
	high := 2.6 * c.u
	for i, w := range words {
		x := c.at(i, of)
		a := chart.Area{X: x - wide/2, Y: y, W: wide, H: high}
		wash, ink := chart.Shown, chart.Trace
		if i == 0 {
			wash = chart.Band
		}
		c.p.Rect(wash, a)
		frame(c.p, ink, a)
		name, what := halves(w)
		c.p.Text(chart.Measured, chart.Point{X: x, Y: y + 1.1*c.u}, chart.Middle, clip(c.p, chart.Measured, name, wide))
		c.p.Text(chart.Small, chart.Point{X: x, Y: y + 2.1*c.u}, chart.Middle, clip(c.p, chart.Small, what, wide))
		if i == 0 {
			continue
		}
		from, to := c.at(i-1, of)+wide/2, x-wide/2
		c.p.Line(chart.Trace, chart.Point{X: from, Y: y + high/2}, chart.Point{X: to, Y: y + high/2})
		if signal {
			c.p.Polyline(chart.Trace, []chart.Point{{X: to - 0.45*c.u, Y: y + high/2 - 0.28*c.u}, {X: to, Y: y + high/2}, {X: to - 0.45*c.u, Y: y + high/2 + 0.28*c.u}})
		}
	}
}

func halves(s string) (a, b string) {
	for i, r := range s {
		if r == '|' {
			return s[:i], s[i+1:]
		}
	}
	return s, ""
}

// The strips run over so many edges of the heartbeat, which stops after some of them.
const (
	edgesShown = 40
	lastEdge   = 22
	edgesHeld  = 10
)

// strips draws what the three do over time: beat and stop, hold and let go, supply
// and no supply.
func (c *chain) strips(y float64) float64 {
	label := 7 * c.u
	lane := 2 * c.u
	from := c.left + label
	edge := func(n float64) float64 { return from + n*(c.right-from)/edgesShown }
	bottom := y + 3*lane
	c.p.Rect(chart.Band, chart.Area{X: edge(lastEdge), Y: y, W: edge(lastEdge+edgesHeld) - edge(lastEdge), H: bottom - y})
	for n := 0; n <= edgesShown; n++ {
		ink := chart.GridFine
		if n%10 == 0 {
			ink = chart.GridMain
		}
		c.p.Line(ink, chart.Point{X: edge(float64(n)), Y: y}, chart.Point{X: edge(float64(n)), Y: bottom})
	}
	for i, name := range []string{"heartbeat", "held", "supply"} {
		base := y + float64(i+1)*lane - 0.45*c.u
		c.p.Line(chart.Frame, chart.Point{X: c.left, Y: y + float64(i)*lane}, chart.Point{X: c.right, Y: y + float64(i)*lane})
		c.p.Text(chart.Label, chart.Point{X: c.left, Y: base - 0.2*c.u}, chart.Start, name)
		c.p.Polyline(chart.Trace, c.strip(i, base, 1.1*c.u, edge))
	}
	c.p.Line(chart.Frame, chart.Point{X: c.left, Y: bottom}, chart.Point{X: c.right, Y: bottom})
	limit := edge(lastEdge + edgesHeld)
	c.p.Line(chart.Limit, chart.Point{X: limit, Y: y - 0.3*c.u}, chart.Point{X: limit, Y: bottom})
	for h := y + 0.6*c.u; h < bottom; h += 0.8 * c.u {
		c.p.Line(chart.Hatch, chart.Point{X: limit, Y: h}, chart.Point{X: limit + 0.5*c.u, Y: h - 0.35*c.u})
	}
	c.p.Text(chart.LimitWords, chart.Point{X: limit + 0.3*c.u, Y: y - 0.45*c.u}, chart.Start, "hold time over: let go")
	c.p.Text(chart.Small, chart.Point{X: edge(lastEdge), Y: y - 0.45*c.u}, chart.End, "the last edge")
	c.p.Line(chart.Perforation, chart.Point{X: c.left + 0.4*c.u, Y: bottom + 0.7*c.u}, chart.Point{X: c.right - 0.4*c.u, Y: bottom + 0.7*c.u})
	return bottom + 1.4*c.u
}

// strip is the pen's way of one of the three. The relay takes a little to move.
func (c *chain) strip(which int, low, swing float64, edge func(float64) float64) []chart.Point {
	var way []chart.Point
	level := false
	turn := func(n float64) {
		y := func() float64 {
			if level {
				return low - swing
			}
			return low
		}
		way = append(way, chart.Point{X: edge(n), Y: y()})
		level = !level
		way = append(way, chart.Point{X: edge(n), Y: y()})
	}
	way = append(way, chart.Point{X: edge(0), Y: low})
	switch which {
	case 0:
		for n := 1; n <= lastEdge; n++ {
			turn(float64(n))
		}
	case 1:
		turn(1.2)
		turn(lastEdge + edgesHeld)
	case 2:
		turn(3)
		turn(lastEdge + edgesHeld + 1.5)
	}
	end := low
	if level {
		end = low - swing
	}
	return append(way, chart.Point{X: edge(edgesShown), Y: end})
}
