package chart

// A grounded pen writes its texts after all strokes, and lays paper under those that ink
// goes through, so that they can be read.
type grounded struct {
	Pen
	strokes [][]Point // apart from the ruling of the paper
	texts   []written
}

type written struct {
	style  Style
	at     Point
	anchor Anchor
	text   string
}

// ground gives a pen that is grounded, and what to call when all is drawn. Of a pen of
// characters it is the same: a character covers what it stands on.
func ground(p Pen) (Pen, func()) {
	if p.Metrics().Coarse {
		return p, func() {}
	}
	g := &grounded{Pen: p}
	return g, g.write
}

// ofPaper says that an ink is that of the paper itself.
func ofPaper(ink Ink) bool {
	return ink == GridFine || ink == GridMain || ink == Perforation
}

func (g *grounded) Line(ink Ink, from, to Point) {
	g.Pen.Line(ink, from, to)
	if !ofPaper(ink) {
		g.strokes = append(g.strokes, []Point{from, to})
	}
}

func (g *grounded) Polyline(ink Ink, points []Point) {
	g.Pen.Polyline(ink, points)
	if !ofPaper(ink) {
		g.strokes = append(g.strokes, points)
	}
}

func (g *grounded) Text(s Style, at Point, anchor Anchor, text string) {
	if text != "" {
		g.texts = append(g.texts, written{s, at, anchor, text})
	}
}

func (g *grounded) write() {
	row := g.Metrics().Row
	for _, t := range g.texts {
		if a := textArea(g.Pen, row, t.style, t.at, t.anchor, t.text); crossed(g.strokes, a) {
			g.Rect(Ground, a)
		}
	}
	for _, t := range g.texts {
		g.Pen.Text(t.style, t.at, t.anchor, t.text)
	}
}

// textArea is what a text takes, from its tallest letters to its deepest.
func textArea(p Pen, row float64, s Style, at Point, anchor Anchor, text string) Area {
	wide := p.Width(s, text)
	return Area{at.X - anchor.before(wide), at.Y - 0.7*row, wide, 0.9 * row}
}

// crossed says that a stroke goes through an area.
func crossed(strokes [][]Point, a Area) bool {
	for _, points := range strokes {
		for i := 1; i < len(points); i++ {
			if a.crossedBy(points[i-1], points[i]) {
				return true
			}
		}
	}
	return false
}

// crossedBy says that some of a straight stroke lies within the area.
func (a Area) crossedBy(p, q Point) bool {
	from, to := 0.0, 1.0
	for _, side := range []struct{ at, by, lo, hi float64 }{{p.X, q.X - p.X, a.X, a.X + a.W}, {p.Y, q.Y - p.Y, a.Y, a.Y + a.H}} {
		if side.by == 0 {
			if side.at <= side.lo || side.at >= side.hi {
				return false
			}
			continue
		}
		enters, leaves := (side.lo-side.at)/side.by, (side.hi-side.at)/side.by
		from, to = max(from, min(enters, leaves)), min(to, max(enters, leaves))
	}
	return from < to
}
