package certificate

import "pintle/rig/rule"

// A heading of a column, and the column's part of the width.
type column struct {
	head string
	part float64
	end  bool // its cells end at its right edge
}

// A cell holds texts one under another.
type cell struct {
	parts  []piece
	broken bool // the red pencil under its first line
}

// A piece is a text in one kind of type.
type piece struct {
	words string
	style string
	ink   colour
}

func say(words string) cell   { return cell{parts: []piece{{words, "", ink}}} }
func quiet(words string) cell { return cell{parts: []piece{{words, "", faint}}} }

func bold(words string) cell { return cell{parts: []piece{{words, "B", ink}}} }

// under adds a text under what the cell holds.
func (c cell) under(words string, k colour) cell {
	if words != "" {
		c.parts = append(c.parts, piece{words, "", k})
	}
	return c
}

// verdictCell says a verdict so that one that is not a pass stands out in black
// and white as well.
func verdictCell(v rule.Verdict) cell {
	r := piece{v.String(), "", verdictInk(v)}
	if v != rule.Pass {
		r.style = "B"
	}
	return cell{parts: []piece{r}, broken: v == rule.Fail}
}

// A table is a heading that is repeated on every page, and rows that are never
// broken over two.
type table struct {
	points  float64
	columns []column
	rows    [][]cell
	placed  func(row int, p place) // told where each row begins
}

func (t *table) row(cells ...cell) { t.rows = append(t.rows, cells) }

const gutter = 2.5 // between columns

func (s *sheet) table(t *table) {
	s.tableHead(t)
	for i, cells := range t.rows {
		s.tableRow(t, i, cells)
	}
	s.down(1)
}

const rowPad = 0.7 // above and below the text of a row

func (s *sheet) tableHead(t *table) {
	points := t.points - 0.8
	s.need(leading(points) + 3*leading(t.points))
	s.text("", points, faint)
	y, x := s.GetY(), margin
	for _, c := range t.columns {
		wide := c.part * s.width
		switch {
		case s.dry:
		case c.end:
			s.right(x+wide, y+leading(points)*0.8, c.head)
		default:
			s.Text(x, y+leading(points)*0.8, c.head)
		}
		x += wide
	}
	s.down(leading(points) + 0.6)
	s.line(ruled, 0.3, margin, s.GetY(), margin+s.width, s.GetY())
}

// A printed is one line of a cell.
type printed struct {
	piece
	broken bool
}

// lay breaks the cells of a row into lines.
func (s *sheet) lay(t *table, cells []cell) (lines [][]printed, most int) {
	most = 1
	for i, c := range cells {
		wide := t.columns[i].part * s.width
		if i+1 < len(t.columns) && !t.columns[i].end {
			wide -= gutter
		}
		var laid []printed
		for _, p := range c.parts {
			s.text(p.style, t.points, p.ink)
			for _, l := range s.wrap(p.words, wide) {
				laid = append(laid, printed{piece{l, p.style, p.ink}, c.broken && len(laid) == 0})
			}
		}
		lines = append(lines, laid)
		most = max(most, len(laid))
	}
	return lines, most
}

// tableRow writes a row on one page, or, of a row that is higher than a page, as
// many lines as there is room for and the rest on the next.
func (s *sheet) tableRow(t *table, i int, cells []cell) {
	lines, most := s.lay(t, cells)
	lead := leading(t.points)
	if high := float64(most)*lead + 2*rowPad; high < s.bottom-top-20 && s.need(high) {
		s.tableHead(t)
	}
	if t.placed != nil && !s.dry {
		t.placed(i, place{s.PageNo(), margin + s.width, s.GetY() + rowPad + 0.76*lead})
	}
	for from := 0; from < most; {
		if s.need(lead + 2*rowPad) {
			s.tableHead(t)
		}
		to := most
		if !s.dry {
			to = min(most, from+max(1, int((s.left()-2*rowPad)/lead+0.001)))
		}
		s.printRow(t, lines, from, to)
		from = to
	}
}

// printRow writes some lines of a row.
func (s *sheet) printRow(t *table, lines [][]printed, from, to int) {
	y, x := s.GetY(), margin
	lead := leading(t.points)
	for i, laid := range lines {
		for n := from; n < min(to, len(laid)) && !s.dry; n++ {
			base := y + rowPad + float64(float64(n-from)*lead) + 0.76*lead
			s.text(laid[n].style, t.points, laid[n].ink)
			s.write(t.columns[i], x, base, laid[n].words)
			if laid[n].broken {
				s.scribble(x, base+0.9, s.GetStringWidth(laid[n].words), 0.9)
			}
		}
		x += t.columns[i].part * s.width
	}
	high := float64(float64(to-from)*lead) + 2*rowPad
	s.SetXY(margin, y+high)
	s.rule(y + high)
}

func (s *sheet) write(c column, x, y float64, words string) {
	if c.end {
		s.right(x+c.part*s.width, y, words)
		return
	}
	s.Text(x, y, words)
}
