package wiring

import (
	"fmt"
	"io"
	"time"

	"codeberg.org/go-pdf/fpdf"

	"pintle/reports/chart"
	"pintle/reports/typeface"
	"pintle/rig/fold"
)

// Options say how the document is set out. The zero Options are for A4.
type Options struct {
	Letter bool // paper of 8.5 by 11 inches
}

// Sizes in millimetres.
const (
	margin = 16.0
	foot   = 16.0 // from the end of the text to the end of the page
)

// PDF writes the sheet as a document: the drawing on the first page, then the table,
// the dead-man circuit and the cautions.
func (s *Sheet) PDF(w io.Writer, o Options) error {
	size := "A4"
	if o.Letter {
		size = "Letter"
	}
	doc := fpdf.New("P", "mm", size, "")
	typeface.Add(doc)
	doc.SetAutoPageBreak(false, foot)
	doc.SetCatalogSort(true)
	doc.SetCreationDate(time.Unix(0, 0).UTC()) // the library would put today's in place of none
	doc.SetModificationDate(time.Unix(0, 0).UTC())
	doc.SetProducer("pintle", true)
	doc.SetTitle(typeface.Plain(s.heading()), true)
	doc.SetLang("en-GB")
	b := newBook(doc, s.plain())
	b.write()
	b.furnish()
	if err := doc.Output(w); err != nil {
		return fmt.Errorf("write the wiring sheet: %w", err)
	}
	return nil
}

// plain is the sheet with all texts of the file's writer made fit for print.
func (s *Sheet) plain() *Sheet {
	c := *s
	c.Title, c.Place, c.Meter = typeface.Plain(s.Title), typeface.Plain(s.Place), typeface.Plain(s.Meter)
	c.Wires = append([]Wire(nil), s.Wires...)
	for i := range c.Wires {
		w := &c.Wires[i]
		w.Connector, w.Note = typeface.Plain(w.Connector), typeface.Plain(w.Note)
	}
	return &c
}

// A book is the document with a place to write at.
type book struct {
	doc    *fpdf.Fpdf
	pen    chart.Pen
	s      *Sheet
	y      float64
	width  float64 // of the text
	bottom float64
}

func newBook(doc *fpdf.Fpdf, s *Sheet) *book {
	wide, high := doc.GetPageSize()
	return &book{doc: doc, pen: chart.PDF(doc, typeface.Family), s: s, width: wide - 2*margin, bottom: high - foot}
}

const lead = 4.0 // from one row of text to the next

func (b *book) turn() {
	b.doc.AddPage()
	b.y = margin + 4
}

// need goes on to a new page where less than so much is left of this one.
func (b *book) need(high float64) bool {
	if b.y+high <= b.bottom {
		return false
	}
	b.turn()
	return true
}

func (b *book) write() {
	b.turn()
	b.y += 2
	b.text(chart.Title, margin, clip(b.pen, chart.Title, b.s.heading(), b.width))
	b.y += 5.5
	b.paragraph(chart.Small, b.s.facts())
	b.paragraph(chart.Small, b.s.legend())
	row := b.pen.Metrics().Row
	b.y = b.s.pins(b.pen, margin-2, b.y+1, b.width+4, min(2.8*row, (b.bottom-b.y-4*row)/rowsOfPins))
	b.turn()
	b.part("Lines", 30)
	b.table()
	b.part("The dead-man circuit, in general terms", 85)
	b.y = b.s.circuit(b.pen, margin-2, b.y, b.width+4)
	b.y += 2
	for _, words := range b.s.deadMan() {
		b.paragraph(chart.Label, words)
	}
	b.part("Cautions", 20)
	for _, c := range b.s.Cautions() {
		b.caution(c)
	}
}

func (b *book) text(style chart.Style, x float64, words string) {
	b.pen.Text(style, chart.Point{X: x, Y: b.y + 0.75*lead}, chart.Start, words)
}

func (b *book) rows(style chart.Style, words string, wide float64) []string {
	return fold.Rows(words, wide, func(row string) float64 { return b.pen.Width(style, row) }, nil)
}

func (b *book) paragraph(style chart.Style, words string) {
	for _, row := range b.rows(style, words, b.width) {
		b.need(lead)
		b.text(style, margin, clip(b.pen, style, row, b.width))
		b.y += lead
	}
	b.y += 0.8
}

// part begins a part, on a new page where there is no room for so much of it.
func (b *book) part(title string, room float64) {
	b.need(room)
	if b.y > margin+5 {
		b.y += 4
	}
	b.text(chart.Title, margin, title)
	b.y += 5
	b.pen.Line(chart.Frame, chart.Point{X: margin, Y: b.y}, chart.Point{X: margin + b.width, Y: b.y})
	b.y += 1.5
}

// caution writes what it is about at the left, its words beside that.
func (b *book) caution(c Caution) {
	const aside = 41.0
	rows := b.rows(chart.Label, c.Words, b.width-aside)
	b.need(float64(len(rows))*lead + 1)
	b.text(chart.Measured, margin, clip(b.pen, chart.Measured, c.About, aside-2))
	for _, row := range rows {
		b.text(chart.Label, margin+aside, clip(b.pen, chart.Label, row, b.width-aside))
		b.y += lead
	}
	b.y += 1
}

// The columns of the table of lines, as parts of its width.
var columns = []struct {
	head string
	part float64
}{{"line", .135}, {"pin", .105}, {"direction", .08}, {"level of the pin", .235}, {"pull", .055}, {"through", .17}, {"connector, note", .22}}

func (b *book) table() {
	b.tableHead()
	for i := range b.s.Wires {
		w := &b.s.Wires[i]
		last := w.End()
		if w.Note != "" {
			if last != "" {
				last += "; "
			}
			last += w.Note
		}
		b.tableRow([]string{w.Line.String(), w.pinWords(), w.Direction(), w.Levels(), w.Pull, w.Isolation(), last})
	}
	b.y += 2
	plain, shared := b.s.free()
	b.paragraph(chart.Small, "Free pins: "+listed(plain)+". With another use that must stay switched off: "+listed(shared)+".")
}

func (b *book) tableHead() {
	x := margin
	for _, c := range columns {
		b.text(chart.Small, x, c.head)
		x += c.part * b.width
	}
	b.y += lead + 0.5
	b.pen.Line(chart.GridMain, chart.Point{X: margin, Y: b.y}, chart.Point{X: margin + b.width, Y: b.y})
	b.y += 0.6
}

func (b *book) tableRow(cells []string) {
	most := 1
	var laid [][]string
	for i, cell := range cells {
		rows := b.rows(cellStyle(i), cell, columns[i].part*b.width-2)
		laid = append(laid, rows)
		most = max(most, len(rows))
	}
	if b.need(min(float64(most)*lead+1.2, b.bottom-margin-20)) {
		b.tableHead()
	}
	for n := range most {
		if b.need(lead) {
			b.tableHead()
		}
		x := margin
		for i, rows := range laid {
			if n < len(rows) {
				b.text(cellStyle(i), x, clip(b.pen, cellStyle(i), rows[n], columns[i].part*b.width-1))
			}
			x += columns[i].part * b.width
		}
		b.y += lead
	}
	b.y += 0.6
	b.pen.Line(chart.GridFine, chart.Point{X: margin, Y: b.y}, chart.Point{X: margin + b.width, Y: b.y})
	b.y += 0.6
}

func cellStyle(column int) chart.Style {
	if column == 0 {
		return chart.Measured
	}
	return chart.Label
}

// furnish writes the edges and the numbers of the pages, once it is known how many
// there are.
func (b *book) furnish() {
	last := b.doc.PageCount()
	for n := 1; n <= last; n++ {
		b.doc.SetPage(n)
		for _, y := range []float64{margin - 3, b.bottom + 3} {
			b.pen.Line(chart.Frame, chart.Point{X: margin, Y: y}, chart.Point{X: margin + b.width, Y: y})
			b.pen.Line(chart.Perforation, chart.Point{X: margin + 2, Y: y + 1.4}, chart.Point{X: margin + b.width - 2, Y: y + 1.4})
		}
		at := chart.Point{X: margin, Y: b.bottom + 8.5}
		b.pen.Text(chart.Small, at, chart.Start, "Wire up with everything off. The cautions are part of this sheet.")
		at.X = margin + b.width
		b.pen.Text(chart.Small, at, chart.End, fmt.Sprintf("page %d of %d", n, last))
	}
}
