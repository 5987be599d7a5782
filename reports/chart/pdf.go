package chart

import "codeberg.org/go-pdf/fpdf"

// PDF is a pen on the current page of a document that counts in millimetres. The
// family is a font that the document already has, upright and bold.
func PDF(doc *fpdf.Fpdf, family string) Pen { return &pdfPen{doc, family} }

type pdfPen struct {
	doc    *fpdf.Fpdf
	family string
}

func (p *pdfPen) Metrics() Metrics {
	return Metrics{
		Step: 0.2, Margin: 2, Pad: 1.8, Row: 3.7, TitleRow: 5.6, Lane: 5.6, Swing: 2.6,
		Current: 38, Overview: 6.5, Tick: 15, Inset: 1.2, Edge: 2.8,
	}
}

type rgb struct{ r, g, b int }

// The colours are those of the page of SVG, for white paper.
var pdfInk = map[Ink]struct {
	colour rgb
	width  float64
}{
	GridFine:    {rgb{0xec, 0xe6, 0xd8}, 0.14},
	GridMain:    {rgb{0xd3, 0xc8, 0xae}, 0.2},
	Frame:       {rgb{0x8a, 0x7a, 0x55}, 0.22},
	Perforation: {rgb{0xd9, 0xcd, 0xb0}, 1.0},
	Trace:       {rgb{0x1c, 0x2a, 0x4d}, 0.3},
	Faint:       {rgb{0x5d, 0x67, 0x85}, 0.2},
	MarkLine:    {rgb{0x6b, 0x5f, 0x45}, 0.22},
	Limit:       {rgb{0x16, 0x69, 0x5f}, 0.38},
	Hatch:       {rgb{0x16, 0x69, 0x5f}, 0.18},
	Measure:     {rgb{0x1c, 0x2a, 0x4d}, 0.22},
	Broken:      {rgb{0xc0, 0x28, 0x1c}, 0.45},
}

var pdfWash = map[Wash]rgb{
	Band:   {0xe0, 0xee, 0xea},
	Shown:  {0xe8, 0xf2, 0xef},
	Doubt:  {0xc9, 0xd3, 0xdb},
	Ground: {0xff, 0xff, 0xff},
}

var pdfText = map[Style]struct {
	bold   string
	size   float64 // in points
	colour rgb
}{
	Title:       {"B", 10.5, rgb{0x1c, 0x2a, 0x4d}},
	Label:       {"", 8.2, rgb{0x1c, 0x2a, 0x4d}},
	Small:       {"", 7.4, rgb{0x54, 0x49, 0x2f}},
	LimitWords:  {"", 8, rgb{0x12, 0x51, 0x48}},
	Measured:    {"B", 8, rgb{0x1c, 0x2a, 0x4d}},
	BrokenWords: {"B", 8, rgb{0xc0, 0x28, 0x1c}},
}

func (p *pdfPen) use(ink Ink) {
	k := pdfInk[ink]
	p.doc.SetDrawColor(k.colour.r, k.colour.g, k.colour.b)
	p.doc.SetLineWidth(k.width)
	p.doc.SetLineCapStyle("round")
	p.doc.SetLineJoinStyle("round")
}

func (p *pdfPen) Line(ink Ink, from, to Point) {
	p.use(ink)
	if ink == Perforation {
		p.doc.SetDashPattern([]float64{0, 5.5}, 0)
		defer p.doc.SetDashPattern([]float64{}, 0)
	}
	p.doc.Line(from.X, from.Y, to.X, to.Y)
}

func (p *pdfPen) Polyline(ink Ink, points []Point) {
	if len(points) == 0 {
		return
	}
	p.use(ink)
	p.doc.MoveTo(points[0].X, points[0].Y)
	for i := 1; i < len(points); i++ {
		level := i+1 < len(points) && points[i].Y == points[i-1].Y && points[i].Y == points[i+1].Y
		if !level {
			p.doc.LineTo(points[i].X, points[i].Y)
		}
	}
	if len(points) == 1 {
		p.doc.LineTo(points[0].X+0.01, points[0].Y)
	}
	p.doc.DrawPath("D")
}

// Rect leaves the paper as it is.
func (p *pdfPen) Rect(wash Wash, a Area) {
	if wash == Paper {
		return
	}
	k := pdfWash[wash]
	p.doc.SetFillColor(k.r, k.g, k.b)
	p.doc.Rect(a.X, a.Y, a.W, a.H, "F")
}

func (p *pdfPen) Text(s Style, at Point, anchor Anchor, text string) {
	if text == "" {
		return
	}
	at.X -= anchor.before(p.Width(s, text))
	k := pdfText[s].colour
	p.doc.SetTextColor(k.r, k.g, k.b)
	p.doc.Text(at.X, at.Y, text)
}

func (p *pdfPen) Width(s Style, text string) float64 {
	k := pdfText[s]
	p.doc.SetFont(p.family, k.bold, k.size)
	return p.doc.GetStringWidth(text)
}
