package chart

import (
	"bytes"
	"fmt"
	"io"
	"strconv"
	"strings"
	"unicode"
)

// SVGOptions say how a page of SVG looks. The zero SVGOptions are for a screen.
type SVGOptions struct {
	Width int  // in pixels; 0: 800
	Print bool // white paper
}

// SVG writes the chart as a page of SVG for a screen, 800 pixels wide.
func (c *Chart) SVG(w io.Writer) error { return c.SVGWith(w, SVGOptions{}) }

// SVGWith writes the chart as a page of SVG.
func (c *Chart) SVGWith(w io.Writer, o SVGOptions) error {
	title := c.opts.Title
	if title == "" {
		title = "Strip chart of a trial"
	}
	return WriteSVG(w, o, title, c.Describe(), func(p Pen, width float64) float64 { return c.Draw(p, Area{W: width}) })
}

// WriteSVG writes a page of SVG with a title and a description in words, drawn by a
// function that is given the width and gives the height.
func WriteSVG(w io.Writer, o SVGOptions, title, description string, draw func(p Pen, width float64) (height float64)) error {
	if o.Width <= 0 {
		o.Width = 800
	}
	p := &svgPen{}
	height := draw(p, float64(o.Width))
	p.end()

	var page bytes.Buffer
	fmt.Fprintf(&page, `<svg xmlns="http://www.w3.org/2000/svg" width="%d" height="%s" viewBox="0 0 %d %s" role="img" aria-labelledby="t d">`+"\n",
		o.Width, coord(height), o.Width, coord(height))
	fmt.Fprintf(&page, "<title id=\"t\">%s</title>\n<desc id=\"d\">%s</desc>\n<style>%s</style>\n", escape(title), escape(description), style(o.Print))
	page.Write(p.out.Bytes())
	page.WriteString("</svg>\n")
	_, err := w.Write(page.Bytes())
	return err
}

// svgPen writes the body of a page. Lines that follow each other in one ink become
// one path.
type svgPen struct {
	out  bytes.Buffer
	ink  Ink
	path bytes.Buffer
}

func (p *svgPen) Metrics() Metrics {
	return Metrics{
		Step: 1, Margin: 14, Pad: 8, Row: 15, TitleRow: 24, Lane: 25, Swing: 11,
		Current: 150, Overview: 26, Tick: 62, Inset: 5, Edge: 11,
	}
}

func (p *svgPen) Line(ink Ink, from, to Point) {
	p.use(ink)
	switch {
	case coord(from.Y) == coord(to.Y):
		fmt.Fprintf(&p.path, "M%s %sH%s", coord(from.X), coord(from.Y), coord(to.X))
	case coord(from.X) == coord(to.X):
		fmt.Fprintf(&p.path, "M%s %sV%s", coord(from.X), coord(from.Y), coord(to.Y))
	default:
		fmt.Fprintf(&p.path, "M%s %sL%s %s", coord(from.X), coord(from.Y), coord(to.X), coord(to.Y))
	}
}

// Polyline leaves out the points that make no difference: those on a level or
// upright stretch between two others.
func (p *svgPen) Polyline(ink Ink, points []Point) {
	if len(points) == 0 {
		return
	}
	p.use(ink)
	var xs, ys []string
	for _, q := range points {
		x, y := coord(q.X), coord(q.Y)
		n := len(xs)
		if n > 0 && xs[n-1] == x && ys[n-1] == y {
			continue
		}
		if n > 1 && ys[n-1] == y && ys[n-2] == y {
			xs, ys = xs[:n-1], ys[:n-1]
		}
		xs, ys = append(xs, x), append(ys, y)
	}
	fmt.Fprintf(&p.path, "M%s %s", xs[0], ys[0])
	for i := 1; i < len(xs); i++ {
		switch {
		case ys[i] == ys[i-1]:
			p.path.WriteString("H" + xs[i])
		case xs[i] == xs[i-1]:
			p.path.WriteString("V" + ys[i])
		default:
			p.path.WriteString("L" + xs[i] + " " + ys[i])
		}
	}
	if len(xs) == 1 { // a dot
		p.path.WriteString("h.1")
	}
}

func (p *svgPen) Rect(wash Wash, a Area) {
	p.end()
	fmt.Fprintf(&p.out, "<rect class=\"%s\" x=\"%s\" y=\"%s\" width=\"%s\" height=\"%s\"/>\n",
		washClass[wash], coord(a.X), coord(a.Y), coord(a.W), coord(a.H))
}

func (p *svgPen) Text(s Style, at Point, anchor Anchor, text string) {
	if text == "" {
		return
	}
	p.end()
	where := ""
	switch anchor {
	case Middle:
		where = ` text-anchor="middle"`
	case End:
		where = ` text-anchor="end"`
	}
	fmt.Fprintf(&p.out, "<text class=\"%s\" x=\"%s\" y=\"%s\"%s>%s</text>\n", styleClass[s], coord(at.X), coord(at.Y), where, escape(text))
}

// Width is a guess on the safe side, for no one knows which letters a reader has.
func (p *svgPen) Width(s Style, text string) float64 {
	w := guess(text) * textSize[s]
	if s == Title || s == Measured || s == BrokenWords { // bold
		w *= 1.1
	}
	return w
}

func (p *svgPen) use(ink Ink) {
	if ink != p.ink {
		p.end()
		p.ink = ink
	}
}

func (p *svgPen) end() {
	if p.path.Len() > 0 {
		fmt.Fprintf(&p.out, "<path class=\"%s\" d=\"%s\"/>\n", inkClass[p.ink], p.path.Bytes())
	}
	p.path.Reset()
	p.ink = 0
}

var inkClass = map[Ink]string{
	GridFine: "gf", GridMain: "gm", Frame: "fr", Perforation: "pf", Trace: "tr", Faint: "ft",
	MarkLine: "mk", Limit: "lm", Hatch: "ht", Measure: "ms", Broken: "br",
}

var washClass = map[Wash]string{Paper: "paper", Band: "band", Shown: "shown", Doubt: "doubt", Ground: "ground"}

var styleClass = map[Style]string{Title: "ti", Label: "la", Small: "sm", LimitWords: "lw", Measured: "me", BrokenWords: "bw"}

var textSize = map[Style]float64{Title: 16, Label: 12, Small: 11, LimitWords: 11.5, Measured: 11.5, BrokenWords: 11.5}

// style gives the colours: blue-black ink on warm paper, one green for what is
// required, red pencil for what was broken.
func style(print bool) string {
	paper, fine, main := "#fbf5e6", "#efe2c3", "#decb9c"
	if print {
		paper, fine, main = "#fff", "#ece6d8", "#d3c8ae"
	}
	return "path{fill:none;stroke-linejoin:round;stroke-linecap:round}" +
		".paper,.ground{fill:" + paper + "}" +
		".gf{stroke:" + fine + ";stroke-width:.7}" +
		".gm{stroke:" + main + ";stroke-width:1}" +
		".fr{stroke:#8a7a55;stroke-width:1}" +
		".pf{stroke:#d9c79a;stroke-width:4.4;stroke-dasharray:0 22}" +
		".tr{stroke:#1c2a4d;stroke-width:1.4}" +
		".ft{stroke:#5d6785;stroke-width:.9}" +
		".mk{stroke:#6b5f45;stroke-width:1}" +
		".lm{stroke:#16695f;stroke-width:1.6}" +
		".ht{stroke:#16695f;stroke-width:.8}" +
		".ms{stroke:#1c2a4d;stroke-width:.9;stroke-dasharray:none}" +
		".br{stroke:#c0281c;stroke-width:1.9}" +
		".band{fill:#2f8f80;fill-opacity:.16}" +
		".shown{fill:#2f8f80;fill-opacity:.10}" +
		".doubt{fill:#1c2a4d;fill-opacity:.14}" +
		"text{font-family:sans-serif;fill:#1c2a4d;paint-order:stroke;stroke:" + paper + ";stroke-width:2.5px;stroke-linejoin:round;stroke-opacity:.85}" +
		".ti{font-size:16px;font-weight:bold}.la{font-size:12px}.sm{font-size:11px;fill:#54492f}" +
		".lw{font-size:11.5px;fill:#125148}.me{font-size:11.5px;font-weight:bold}.bw{font-size:11.5px;font-weight:bold;fill:#c0281c}"
}

// coord writes a coordinate to a tenth of a pixel, with no more letters than it
// needs.
func coord(v float64) string {
	s := strconv.FormatFloat(v, 'f', 1, 64)
	s = strings.TrimSuffix(s, ".0")
	if s == "-0" {
		return "0"
	}
	return s
}

// guess is the width of a text for a size of one, by the widths that letters
// commonly have.
func guess(text string) float64 {
	w := 0.0
	for _, r := range text {
		switch {
		case strings.ContainsRune("ijl.,:;|'!I ", r):
			w += 0.34
		case strings.ContainsRune("ftr()-/\"", r):
			w += 0.42
		case strings.ContainsRune("mwMW@%", r):
			w += 0.96
		case unicode.IsUpper(r) || r > 0x2000:
			w += 0.74
		default:
			w += 0.62
		}
	}
	return w
}

// escape makes a text safe inside XML, leaving out what XML cannot hold.
func escape(s string) string {
	var b strings.Builder
	for _, r := range s {
		switch {
		case r == '&':
			b.WriteString("&amp;")
		case r == '<':
			b.WriteString("&lt;")
		case r == '>':
			b.WriteString("&gt;")
		case r == '"':
			b.WriteString("&quot;")
		case r == '\n' || r == '\t' || r == '\r':
			b.WriteByte(' ')
		case r < ' ' || r == 0xFFFE || r == 0xFFFF:
			b.WriteRune('\uFFFD')
		default:
			b.WriteRune(r)
		}
	}
	return b.String()
}
