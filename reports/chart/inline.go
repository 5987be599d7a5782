package chart

import (
	"bytes"
	"fmt"
	"strings"
)

// Inline gives the chart as a part of a page of HTML. The ids in it begin with the
// given word, so that many can stand in one page. It has no colours of its own: the
// page has InlineStyle once, and gives it a palette.
func (c *Chart) Inline(id string, width int) string {
	title := c.opts.Title
	if title == "" {
		title = "Strip chart of a trial"
	}
	p := &svgPen{}
	height := c.Draw(p, Area{W: float64(width)})
	p.end()
	var page bytes.Buffer
	fmt.Fprintf(&page, `<svg class="chart" viewBox="0 0 %d %s" width="%d" height="%s" role="img" aria-labelledby="%s-t" aria-describedby="%s-d">`,
		width, coord(height), width, coord(height), id, id)
	fmt.Fprintf(&page, "\n<title id=\"%s-t\">%s</title>\n<desc id=\"%s-d\">%s</desc>\n", id, escape(title), id, escape(c.Describe()))
	page.Write(p.out.Bytes())
	page.WriteString("</svg>\n")
	return page.String()
}

// A Palette has a colour for each part of a chart, as #rrggbb.
type Palette struct {
	Paper, Band, Doubt string // washes
	Fine, Main, Frame  string // the grid
	Holes              string
	Trace, Faint, Mark string // ink
	Words, Small       string
	Limit, LimitWords  string // what is required
	Broken             string
}

// Day is ink on warm paper, Night the same page by lamplight. In both, every ink
// and every word can be told from the paper, and from the paper under a wash.
var (
	Day = Palette{
		Paper: "#fbf5e6", Band: "#2f8f80", Doubt: "#1c2a4d", Fine: "#efe2c3", Main: "#decb9c", Frame: "#8a7a55", Holes: "#d9c79a",
		Trace: "#1c2a4d", Faint: "#5d6785", Mark: "#6b5f45", Words: "#1c2a4d", Small: "#54492f",
		Limit: "#16695f", LimitWords: "#125148", Broken: "#c0281c",
	}
	Night = Palette{
		Paper: "#171a21", Band: "#3fb6a3", Doubt: "#c9d6ff", Fine: "#22262f", Main: "#333946", Frame: "#8d8a7c", Holes: "#3a404d",
		Trace: "#dfe6fb", Faint: "#9aa5c4", Mark: "#b3a98d", Words: "#e6ebfa", Small: "#c6bda4",
		Limit: "#5cc9b7", LimitWords: "#8fe0d2", Broken: "#ff8a7a",
	}
)

// Wash strengths, as parts of one.
const (
	BandStrength  = 0.16
	DoubtStrength = 0.14
)

// Properties gives the palette as custom properties of CSS, for a rule of the page.
func (p Palette) Properties() string {
	var b strings.Builder
	for _, c := range []struct{ name, colour string }{
		{"paper", p.Paper}, {"band", p.Band}, {"doubt", p.Doubt}, {"fine", p.Fine}, {"main", p.Main}, {"frame", p.Frame}, {"holes", p.Holes},
		{"trace", p.Trace}, {"faint", p.Faint}, {"mark", p.Mark}, {"words", p.Words}, {"small", p.Small},
		{"limit", p.Limit}, {"limit-words", p.LimitWords}, {"broken", p.Broken},
	} {
		fmt.Fprintf(&b, "--chart-%s:%s;", c.name, c.colour)
	}
	return b.String()
}

// InlineStyle is the style of all charts of a page, in terms of a palette's
// properties.
const InlineStyle = `.chart{display:block;font-family:sans-serif}
.chart path{fill:none;stroke-linejoin:round;stroke-linecap:round}
.chart .paper,.chart .ground{fill:var(--chart-paper)}
.chart .gf{stroke:var(--chart-fine);stroke-width:.7}
.chart .gm{stroke:var(--chart-main);stroke-width:1}
.chart .fr{stroke:var(--chart-frame);stroke-width:1}
.chart .pf{stroke:var(--chart-holes);stroke-width:4.4;stroke-dasharray:0 22}
.chart .tr{stroke:var(--chart-trace);stroke-width:1.4}
.chart .ft{stroke:var(--chart-faint);stroke-width:.9}
.chart .mk{stroke:var(--chart-mark);stroke-width:1}
.chart .lm{stroke:var(--chart-limit);stroke-width:1.6}
.chart .ht{stroke:var(--chart-limit);stroke-width:.8}
.chart .ms{stroke:var(--chart-trace);stroke-width:.9}
.chart .br{stroke:var(--chart-broken);stroke-width:1.9}
.chart .band{fill:var(--chart-band);fill-opacity:.16}
.chart .shown{fill:var(--chart-band);fill-opacity:.1}
.chart .doubt{fill:var(--chart-doubt);fill-opacity:.14}
.chart text{fill:var(--chart-words);paint-order:stroke;stroke:var(--chart-paper);stroke-width:2.5px;stroke-linejoin:round;stroke-opacity:.85}
.chart .ti{font-size:16px;font-weight:bold}
.chart .la{font-size:12px}
.chart .sm{font-size:11px;fill:var(--chart-small)}
.chart .lw{font-size:11.5px;fill:var(--chart-limit-words)}
.chart .me{font-size:11.5px;font-weight:bold}
.chart .bw{font-size:11.5px;font-weight:bold;fill:var(--chart-broken)}
`
