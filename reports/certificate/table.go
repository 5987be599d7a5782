package certificate

import "strings"

// A column of a table: its heading and its part of the width.
type column struct {
	head string
	part float64
}

// A cellText is what stands in a cell, and how.
type cellText struct {
	words string
	bold  bool
	ink   colour
}

func cell(words string) cellText { return cellText{words: words, ink: ink} }

// A table is written row by row. Its heading is repeated where it goes over to a
// new page.
type table struct {
	*sheet
	columns []column
	points  float64
}

func (s *sheet) table(points float64, columns ...column) *table {
	t := &table{s, columns, points}
	t.head()
	return t
}

func (t *table) head() {
	t.text("", t.points-1, faint)
	for _, c := range t.columns {
		t.CellFormat(c.part*t.width, t.line()+0.6, c.head, "", 0, "L", false, 0, "")
	}
	t.Ln(-1)
	t.rule(t.GetY())
	t.Ln(0.6)
}

func (t *table) line() float64 { return t.points * 0.46 }

// row writes one row as high as its longest cell.
func (t *table) row(cells ...cellText) {
	lines := 1
	wrapped := make([][]string, len(cells))
	for i, c := range cells {
		t.style(c)
		wrapped[i] = t.SplitText(plain(c.words), t.columns[i].part*t.width-2)
		lines = max(lines, len(wrapped[i]))
	}
	high := float64(lines)*t.line() + 1
	_, page := t.GetPageSize()
	if t.GetY()+high > page-foot {
		t.AddPage()
		t.head()
	}
	y, x := t.GetY(), margin
	for i, c := range cells {
		t.style(c)
		t.SetXY(x, y)
		t.MultiCell(t.columns[i].part*t.width, t.line(), strings.Join(wrapped[i], "\n"), "", "L", false)
		x += t.columns[i].part * t.width
	}
	t.SetXY(margin, y+high)
	t.rule(y + high - 0.4)
}

func (t *table) style(c cellText) {
	style := ""
	if c.bold {
		style = "B"
	}
	t.text(style, t.points, c.ink)
}
