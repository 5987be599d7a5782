package chart

import (
	"io"
	"math"
	"math/bits"
	"strings"
)

// Text writes the chart in characters, no wider than columns. With unicode false
// it uses ASCII alone; otherwise the lines are drawn in Braille dots.
func (c *Chart) Text(w io.Writer, columns int, unicode bool) error {
	p := newTextPen(max(columns, 40), unicode)
	c.Draw(p, Area{W: float64(2 * p.columns)})
	_, err := io.WriteString(w, p.String())
	return err
}

// textPen draws on cells of two by four dots; a dot is its unit.
type textPen struct {
	columns int
	unicode bool
	rows    [][]cell
}

// A cell shows the highest thing that was put there.
type cell struct {
	dots  uint8 // of the Braille pattern
	text  rune
	rule  rune // a straight line
	rank  int  // of the rule
	shade bool
}

func newTextPen(columns int, unicode bool) *textPen {
	return &textPen{columns: columns, unicode: unicode}
}

func (p *textPen) Metrics() Metrics {
	return Metrics{
		Coarse: true, Step: 1, Margin: 0, Pad: 2, Row: 4, TitleRow: 4, Lane: 4, Swing: 3,
		Current: 28, Overview: 8, Tick: 20, Inset: 0.5,
	}
}

func (p *textPen) at(col, row int) *cell {
	if col < 0 || col >= p.columns || row < 0 || row > 500 {
		return &cell{}
	}
	for len(p.rows) <= row {
		p.rows = append(p.rows, make([]cell, p.columns))
	}
	return &p.rows[row][col]
}

// ruleOf gives the characters of an upright and of a level line; zero: not drawn.
var ruleOf = map[Ink]struct {
	upright, level rune
	rank           int
}{
	GridMain: {'┊', 0, 1},
	Frame:    {0, 0, 0},
	Cut:      {'╎', 0, 6},
	MarkLine: {'╷', 0, 2},
	Measure:  {'│', '─', 3},
	Limit:    {'┃', '━', 4},
	Broken:   {'║', '≈', 5},
}

func (p *textPen) Line(ink Ink, from, to Point) {
	if ink == Trace || ink == Faint {
		p.Polyline(ink, []Point{from, to})
		return
	}
	r := ruleOf[ink]
	col, row := int(math.Floor(from.X/2)), int(math.Floor(from.Y/4))
	if from.X == to.X {
		for last := int(math.Ceil(to.Y/4)) - 1; row <= last; row++ {
			p.rule(col, row, r.upright, r.rank)
		}
		return
	}
	for last := int(math.Ceil(to.X/2)) - 1; col <= last; col++ {
		p.rule(col, row, r.level, r.rank)
	}
}

func (p *textPen) rule(col, row int, r rune, rank int) {
	if c := p.at(col, row); r != 0 && rank > c.rank {
		c.rule, c.rank = r, rank
	}
}

// braille is the bit of each dot, by column and row within a cell.
var braille = [2][4]uint8{{0x01, 0x02, 0x04, 0x40}, {0x08, 0x10, 0x20, 0x80}}

func (p *textPen) dot(x, y int) {
	if x >= 0 && y >= 0 {
		p.at(x/2, y/4).dots |= braille[x%2][y%4]
	}
}

// Polyline sets the dots along each stretch.
func (p *textPen) Polyline(ink Ink, points []Point) {
	if ink != Trace && ink != Faint {
		return
	}
	last := float64(2*p.columns - 1)
	for i, q := range points {
		from := q
		if i > 0 {
			from = points[i-1]
		}
		x0, y0 := math.Floor(min(from.X, last)), math.Floor(from.Y)
		x1, y1 := math.Floor(min(q.X, last)), math.Floor(q.Y)
		n := int(max(math.Abs(x1-x0), math.Abs(y1-y0)))
		for k := 0; k <= n; k++ {
			part := 0.0
			if n > 0 {
				part = float64(k) / float64(n)
			}
			p.dot(int(math.Round(x0+float64(part*(x1-x0)))), int(math.Round(y0+float64(part*(y1-y0)))))
		}
	}
}

func (p *textPen) Rect(wash Wash, a Area) {
	if wash != Band && wash != Shown {
		return
	}
	firstRow, lastRow := int(math.Floor(a.Y/4)), int(math.Ceil((a.Y+a.H)/4))-1
	firstCol, lastCol := int(math.Floor(a.X/2)), int(math.Ceil((a.X+a.W)/2))-1
	for row := firstRow; row <= lastRow; row++ {
		for col := firstCol; col <= lastCol; col++ {
			p.at(col, row).shade = true
		}
	}
}

func (p *textPen) Text(s Style, at Point, anchor Anchor, text string) {
	letters := []rune(p.spell(text))
	col, row := int(math.Round(at.X/2)), int(math.Ceil(at.Y/4))-1
	switch anchor {
	case Middle:
		col = int(math.Floor(at.X/2)) - len(letters)/2
	case End:
		col -= len(letters)
	}
	if anchor == Start {
		col = int(math.Floor(at.X / 2))
	}
	for i, r := range letters {
		p.at(col+i, row).text = r
	}
}

func (p *textPen) Width(s Style, text string) float64 {
	return float64(2 * len([]rune(p.spell(text))))
}

var ascii = strings.NewReplacer("±", "+/-", "−", "-", "–", "-", "—", "-", "µ", "u", "Ω", "ohm", "≤", "<=", "≥", ">=", "↑", "^", "↓", "v",
	"·", "-", "°", "deg", "’", "'", "…", "...")

// spell makes a text fit for the terminal: no control characters, and in ASCII
// nothing else.
func (p *textPen) spell(text string) string {
	if !p.unicode {
		text = ascii.Replace(text)
	}
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\t' || r == '\n':
			return ' '
		case r < ' ' || r >= 0x7f && r < 0xa0:
			return -1
		case !p.unicode && r > 0x7e:
			return '?'
		}
		return r
	}, text)
}

// String gives the rows, without spaces at their ends.
func (p *textPen) String() string {
	var b strings.Builder
	for _, row := range p.rows {
		var line strings.Builder
		for _, c := range row {
			line.WriteRune(p.show(c))
		}
		b.WriteString(strings.TrimRight(line.String(), " "))
		b.WriteByte('\n')
	}
	return b.String()
}

func (p *textPen) show(c cell) rune {
	level := bits.OnesCount8(c.dots) < 3 // nothing but a stretch of a level line
	switch {
	case c.text != 0:
		return c.text
	case c.rank > 1 && (c.dots == 0 || level):
		return p.letter(c.rule)
	case c.dots != 0:
		return p.pattern(c.dots)
	case c.rule != 0:
		return p.letter(c.rule)
	case c.shade:
		return p.letter('░')
	}
	return ' '
}

var plain = map[rune]rune{'╎': '/', '┊': ':', '╷': '|', '│': '|', '─': '-', '┃': '#', '━': '=', '║': '!', '≈': 'x', '░': '.'}

func (p *textPen) letter(r rune) rune {
	if p.unicode {
		return r
	}
	return plain[r]
}

// pattern is the Braille character with these dots, or the letter nearest to it.
func (p *textPen) pattern(dots uint8) rune {
	if p.unicode {
		return 0x2800 + rune(dots)
	}
	upper, lower := dots&0x1b != 0, dots&0xe4 != 0 // two rows each
	switch {
	case upper && lower && dots&0x09 != 0 && dots&0xc0 != 0:
		return '|'
	case dots&0xc0 != 0:
		return '_'
	case dots&0x09 != 0:
		return '"'
	}
	return '-'
}
