package chart

import (
	"fmt"
	"slices"
	"testing"

	"codeberg.org/go-pdf/fpdf"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/reports/reportstest"
	"pintle/reports/typeface"
	"pintle/rig/motion"
	"pintle/rig/signal"
)

// An onlooker is a pen that lists the texts which ink goes through: ink that was there
// before without a ground between, or ink that came later.
type onlooker struct {
	Pen
	strokes [][]Point
	grounds []Area
	words   []laid
	struck  []string
}

type laid struct {
	text string
	area Area
}

func (o *onlooker) stroke(ink Ink, points []Point) {
	if ink == GridFine || ink == GridMain || ink == Perforation {
		return
	}
	o.strokes = append(o.strokes, points)
	for _, w := range o.words {
		if crossed([][]Point{points}, w.area) {
			o.struck = append(o.struck, fmt.Sprintf("%q, by ink %d that came later", w.text, ink))
		}
	}
}

func (o *onlooker) Line(ink Ink, from, to Point) {
	o.stroke(ink, []Point{from, to})
	o.Pen.Line(ink, from, to)
}

func (o *onlooker) Polyline(ink Ink, points []Point) {
	o.stroke(ink, points)
	o.Pen.Polyline(ink, points)
}

func (o *onlooker) Rect(wash Wash, a Area) {
	if wash == Ground {
		o.grounds = append(o.grounds, a)
	}
	o.Pen.Rect(wash, a)
}

func (o *onlooker) Text(s Style, at Point, anchor Anchor, text string) {
	a := textArea(o.Pen, o.Metrics().Row, s, at, anchor, text)
	if !slices.Contains(o.grounds, a) && crossed(o.strokes, a) {
		o.struck = append(o.struck, fmt.Sprintf("%q, by ink that was there", text))
	}
	if text != "" {
		o.words = append(o.words, laid{text, a})
	}
	o.Pen.Text(s, at, anchor, text)
}

// pens are those that draw lines, each on a sheet of its own.
func pens() map[string]Pen {
	doc := fpdf.New("P", "mm", "A4", "")
	typeface.Add(doc)
	doc.AddPage()
	return map[string]Pen{"svg": &svgPen{}, "pdf": PDF(doc, typeface.Family)}
}

// wide is how wide a chart commonly is in the units of a pen.
func wide(p Pen) float64 { return 48 * p.Metrics().Row }

func TestNoInkGoesThroughALabel(t *testing.T) {
	for _, s := range reportstest.Mixed().Scenarios {
		name := s.Name
		for kind, pen := range pens() {
			o := &onlooker{Pen: pen}
			example(t, name).Draw(o, Area{W: wide(pen)})
			assert.Empty(t, o.struck, "%s, %s", name, kind)
			require.NotEmpty(t, o.words)
		}
	}
}

func TestNoInkGoesThroughALabelOfAnyChart(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		trace, opts := random(t)
		was := motion.Stopped
		for at := signal.Instant(0); at < 9e9 && rapid.Bool().Draw(t, "and moves"); at += 4e8 {
			is := motion.State(rapid.IntRange(0, 4).Draw(t, "motor"))
			opts.Motor, was = append(opts.Motor, motion.Change{Was: was, Is: is, Span: signal.At(at)}), is
		}
		for kind, pen := range pens() {
			o := &onlooker{Pen: pen}
			New(trace, opts).Draw(o, Area{W: wide(pen)})
			if len(o.struck) > 0 {
				t.Fatalf("%s: %v", kind, o.struck)
			}
		}
	})
}

func TestCrossed(t *testing.T) {
	box := Area{X: 10, Y: 10, W: 20, H: 10}
	for _, c := range []struct {
		name string
		p, q Point
		want bool
	}{
		{"through the middle", Point{0, 15}, Point{40, 15}, true},
		{"from top to bottom", Point{20, 0}, Point{20, 40}, true},
		{"aslant over a corner", Point{5, 14}, Point{14, 5}, false},
		{"aslant through a corner", Point{5, 18}, Point{18, 5}, true},
		{"along the edge", Point{0, 10}, Point{40, 10}, false},
		{"one inside", Point{0, 10.1}, Point{40, 10.1}, true},
		{"ends before it", Point{0, 15}, Point{9, 15}, false},
		{"ends within", Point{0, 15}, Point{11, 15}, true},
		{"wholly within", Point{12, 12}, Point{13, 13}, true},
		{"a dot", Point{12, 12}, Point{12, 12}, true},
	} {
		assert.Equal(t, c.want, box.crossedBy(c.p, c.q), c.name)
	}
}
