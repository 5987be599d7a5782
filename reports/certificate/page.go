package certificate

import (
	"fmt"
	"time"

	"codeberg.org/go-pdf/fpdf"

	"pintle/reports"
	"pintle/reports/typeface"
	"pintle/rig/rule"
)

// family is the one typeface of the document.
const family = typeface.Family

// Sizes in millimetres.
const (
	margin = 18.0 // left and right
	top    = 20.0 // of the text
	foot   = 19.0 // from the end of the text to the end of the page
)

// A colour is red, green and blue.
type colour [3]int

var (
	ink   = colour{0x1c, 0x2a, 0x4d} // blue-black
	faint = colour{0x6b, 0x5f, 0x45}
	frame = colour{0x8a, 0x7a, 0x55}
	ruled = colour{0xd3, 0xc8, 0xae} // the paper's ruling
	light = colour{0xf0, 0xea, 0xdc} // the same, under a text
	paper = colour{0xfb, 0xf8, 0xef}
	red   = colour{0xc0, 0x28, 0x1c} // the red pencil, for what is broken
	green = colour{0x16, 0x69, 0x5f} // a limit
	white = colour{0xff, 0xff, 0xff}
)

// A sheet is a document with a place to write at.
type sheet struct {
	*fpdf.Fpdf
	run        *reports.Run
	told       Options
	id         string // of the certificate
	traces     reports.TraceSource
	digest     string          // of the run
	width      float64         // of the text
	bottom     float64         // of the text
	ruler      *fpdf.Fpdf      // a document without pages, to measure on
	dry        bool            // nothing is drawn: a text is only measured
	cites      []cited         // what became of each claim
	shown      map[shot]bool   // which trials have a chart
	claimsDone bool            // page one has all of them
	brevity    int             // how far page one is shortened
	begins     []begin         // where the tables have room for page numbers
	numbered   map[string]bool // what has its page number
}

// A place is somewhere in the document.
type place struct {
	page int
	x, y float64
}

func newSheet(run *reports.Run, o Options) *sheet {
	size := "A4"
	if o.Letter {
		size = "Letter"
	}
	doc := blank(size)
	doc.SetCatalogSort(true)
	doc.SetCreationDate(stamp(run))
	doc.SetModificationDate(stamp(run))
	doc.SetProducer("pintle", true)
	doc.SetTitle("Certificate "+typeface.Plain(identify(run, o)), true)
	doc.SetAuthor(typeface.Plain(run.Laboratory.Name), true)
	doc.SetKeywords("bench trial, gate controller, "+typeface.Plain(run.Controller.Board), true)
	doc.SetSubject(typeface.Plain(run.Job), true)
	doc.SetLang("en-GB")
	wide, high := doc.GetPageSize()
	return &sheet{cites: cite(run), shown: map[shot]bool{}, numbered: map[string]bool{}, Fpdf: doc, run: run, told: o, id: identify(run, o), ruler: blank(size), width: wide - 2*margin, bottom: high - foot}
}

// blank is a document with its typeface and nothing in it.
func blank(size string) *fpdf.Fpdf {
	doc := fpdf.New("P", "mm", size, "")
	typeface.Add(doc)
	doc.SetMargins(margin, top, margin)
	doc.SetAutoPageBreak(false, foot)
	return doc
}

// stamp is the date in the document: the run's own, as the same run must give the
// same bytes. The library would put today's in place of none.
func stamp(run *reports.Run) time.Time {
	for _, at := range []time.Time{run.Ended, run.Began} {
		if !at.IsZero() {
			return at.UTC()
		}
	}
	return time.Unix(0, 0).UTC()
}

// furnish writes the head and the foot of every page, once it is known how many
// there are.
func (s *sheet) furnish() {
	last := s.PageCount()
	for n := 1; n <= last; n++ {
		s.page(n)
		s.header()
		s.footer(n, last)
	}
}

// page goes back to a page. The library sets no colour of type where it takes it to be
// that of the last area filled, which on another page was another one.
func (s *sheet) page(n int) {
	s.SetPage(n)
	s.SetFillColor(white[0], white[1], white[2])
}

func (s *sheet) header() {
	if rehearsed(s.run) {
		s.text("B", 8, ink)
		s.right(margin+s.width, 12, "REHEARSAL, no evidence about hardware")
	} else {
		s.text("", 8, faint)
		s.right(margin+s.width, 12, "bench trial of a gate controller")
	}
	s.text("", 8, faint)
	words := "run " + typeface.Plain(s.run.ID)
	if s.id != s.run.ID {
		words = "certificate " + typeface.Plain(s.id)
	}
	s.Text(margin, 12, s.clip(words, s.width*0.56))
	s.edge(14.4)
}

func (s *sheet) footer(n, last int) {
	y := s.bottom + 4
	s.edge(y)
	s.text("", 7.5, faint)
	s.Text(margin, y+5, "The results concern only the item tested. To be reproduced in full only, unless the laboratory agrees in writing.")
	s.Text(margin, y+8.8, s.tied())
	s.text("B", 8, ink)
	s.right(margin+s.width, y+5, fmt.Sprintf("page %d of %d", n, last))
}

// tied is what the document belongs to, short enough for the foot of a page.
func (s *sheet) tied() string {
	if root := typeface.Plain(s.told.Root); root != "" {
		return s.clip("record root "+root, s.width*0.75)
	}
	return "SHA-256 of the run " + s.digest[:min(16, len(s.digest))] + "…"
}

// edge draws the edge of a paper strip across the text: a line with the holes that
// the paper is drawn along by.
func (s *sheet) edge(y float64) {
	s.line(frame, 0.2, margin, y, margin+s.width, y)
	s.holes(y + 1.3)
}

func (s *sheet) holes(y float64) {
	s.SetLineCapStyle("round")
	s.SetDashPattern([]float64{0, 5.5}, 0)
	s.line(ruled, 0.9, margin+2.75, y, margin+s.width-1, y)
	s.SetDashPattern([]float64{}, 0)
}

func (s *sheet) line(c colour, wide, x1, y1, x2, y2 float64) {
	if s.dry {
		return
	}
	s.SetDrawColor(c[0], c[1], c[2])
	s.SetLineWidth(wide)
	s.Line(x1, y1, x2, y2)
}

// rule draws one line of the paper's ruling across the text.
func (s *sheet) rule(y float64) { s.line(ruled, 0.2, margin, y, margin+s.width, y) }

func (s *sheet) fill(c colour, x, y, w, h float64) {
	if s.dry {
		return
	}
	s.SetFillColor(c[0], c[1], c[2])
	s.Rect(x, y, w, h, "F")
}

// scribble is the red pencil: a line to and fro, so that it shows without colour.
func (s *sheet) scribble(x, y, wide, high float64) {
	if s.dry {
		return
	}
	s.SetDrawColor(red[0], red[1], red[2])
	s.SetLineWidth(max(0.3, high/3))
	s.SetLineCapStyle("round")
	s.SetLineJoinStyle("round")
	wasX, wasY := s.GetXY() // which a path moves
	defer s.SetXY(wasX, wasY)
	s.MoveTo(x, y)
	up := true
	for at := x + high; at < x+wide; at += high {
		if up {
			s.LineTo(at, y-high/2)
		} else {
			s.LineTo(at, y+high/2)
		}
		up = !up
	}
	s.LineTo(x+wide, y)
	s.DrawPath("D")
}

// need goes on to a new page where less than so much is left of this one.
func (s *sheet) need(mm float64) bool {
	if s.dry || s.GetY()+mm <= s.bottom || s.GetY() <= top+0.1 {
		return false
	}
	s.turn()
	return true
}

func (s *sheet) turn() {
	s.AddPage()
	s.SetXY(margin, top)
}

func (s *sheet) down(mm float64) { s.SetXY(margin, s.GetY()+mm) }

// left is how much is left of the page.
func (s *sheet) left() float64 { return s.bottom - s.GetY() }

// measure says how high what a function writes would be, on a page without end.
func (s *sheet) measure(write func()) float64 {
	doc, was := s.Fpdf, s.dry
	y := doc.GetY()
	s.Fpdf, s.dry = s.ruler, true
	s.SetXY(margin, y)
	write()
	high := s.GetY() - y
	s.SetXY(margin, y) // what is measured may measure, on the same ruler
	s.Fpdf, s.dry = doc, was
	return high
}

// verdictInk is the ink of a verdict: only what is broken is in red.
func verdictInk(v rule.Verdict) colour {
	if v == rule.Fail {
		return red
	}
	return ink
}
