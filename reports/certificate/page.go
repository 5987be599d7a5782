package certificate

import (
	"fmt"
	"strings"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"codeberg.org/go-pdf/fpdf"

	"pintle/reports"
	"pintle/rig/rule"
)

// family is the one typeface of the document.
const family = "sans"

const (
	margin = 18.0 // mm, left and right
	top    = 20.0
	foot   = 20.0
)

// A colour is red, green and blue.
type colour [3]int

var (
	ink   = colour{0x1c, 0x2a, 0x4d} // blue-black
	faint = colour{0x6b, 0x5f, 0x45}
	ruled = colour{0xd3, 0xc8, 0xae} // the paper's ruling
	paper = colour{0xfa, 0xf6, 0xea}
	red   = colour{0xc0, 0x28, 0x1c} // the red pencil, for what is broken
)

// A sheet is a document with a place to write at.
type sheet struct {
	*fpdf.Fpdf
	run   *reports.Run
	width float64 // of the text
}

func newSheet(run *reports.Run, o Options) *sheet {
	size := "A4"
	if o.Letter {
		size = "Letter"
	}
	doc := fpdf.New("P", "mm", size, "")
	doc.SetCatalogSort(true)
	doc.SetCreationDate(run.Ended)
	doc.SetModificationDate(run.Ended)
	doc.SetProducer("pintle", true)
	doc.SetTitle("Certificate of run "+run.ID, true)
	doc.SetLang("en-GB")
	doc.AddUTF8FontFromBytes(family, "", liberationsansregular.TTF)
	doc.AddUTF8FontFromBytes(family, "B", liberationsansbold.TTF)
	doc.SetMargins(margin, top, margin)
	doc.SetAutoPageBreak(true, foot)
	doc.AliasNbPages("{pages}")
	wide, _ := doc.GetPageSize()
	s := &sheet{doc, run, wide - 2*margin}
	doc.SetHeaderFunc(s.header)
	doc.SetFooterFunc(s.footer)
	return s
}

func (s *sheet) header() {
	s.text("", 8, faint)
	s.SetXY(margin, 9)
	s.CellFormat(s.width/2, 5, "run "+s.run.ID, "", 0, "L", false, 0, "")
	right := "pintle"
	if s.run.Bench.Virtual {
		right = "REHEARSAL on a virtual bench"
	}
	s.CellFormat(s.width/2, 5, right, "", 0, "R", false, 0, "")
	s.rule(15)
	s.SetXY(margin, top)
}

func (s *sheet) footer() {
	_, high := s.GetPageSize()
	s.rule(high - foot + 4)
	s.text("", 8, faint)
	s.SetXY(margin, high-foot+6)
	s.CellFormat(s.width*0.75, 5, "To be reproduced in full only. The results concern only the item tested.", "", 0, "L", false, 0, "")
	s.CellFormat(s.width*0.25, 5, fmt.Sprintf("page %d of {pages}", s.PageNo()), "", 0, "R", false, 0, "")
}

// rule draws one line of the paper's ruling across the text.
func (s *sheet) rule(y float64) {
	s.SetDrawColor(ruled[0], ruled[1], ruled[2])
	s.SetLineWidth(0.25)
	s.Line(margin, y, margin+s.width, y)
}

// text sets type and ink.
func (s *sheet) text(style string, points float64, c colour) {
	s.SetFont(family, style, points)
	s.SetTextColor(c[0], c[1], c[2])
}

// heading begins a part, on a new page where there is no room for what follows.
func (s *sheet) heading(words string) {
	s.need(18)
	s.Ln(3)
	s.text("B", 10.5, ink)
	s.CellFormat(s.width, 6, words, "", 1, "L", false, 0, "")
	s.rule(s.GetY() + 0.3)
	s.Ln(1.5)
}

// need goes on to a new page where less than so much is left of this one.
func (s *sheet) need(mm float64) {
	_, high := s.GetPageSize()
	if s.GetY()+mm > high-foot {
		s.AddPage()
	}
}

// paragraph writes a text over the whole width.
func (s *sheet) paragraph(points float64, c colour, words string) {
	s.text("", points, c)
	s.MultiCell(s.width, points*0.5, plain(words), "", "L", false)
}

// pair writes a name and what it is.
func (s *sheet) pair(name, what string) {
	if what == "" {
		return
	}
	s.need(10)
	y := s.GetY()
	s.text("", 9, faint)
	s.CellFormat(38, 4.8, name, "", 0, "L", false, 0, "")
	s.text("", 9, ink)
	s.SetXY(margin+38, y)
	s.MultiCell(s.width-38, 4.8, plain(what), "", "L", false)
}

// verdictInk is the ink of a verdict: only what is broken is in red.
func verdictInk(v rule.Verdict) colour {
	if v == rule.Fail {
		return red
	}
	return ink
}

// plain takes out what a font has no picture of, and breaks words that no line
// could hold.
func plain(words string) string {
	const longest = 60
	fields := strings.Fields(words)
	for i, w := range fields {
		if r := []rune(w); len(r) > longest {
			var parts []string
			for len(r) > longest {
				parts, r = append(parts, string(r[:longest])), r[longest:]
			}
			fields[i] = strings.Join(append(parts, string(r)), " ")
		}
	}
	return strings.Join(fields, " ")
}
