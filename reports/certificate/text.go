package certificate

import (
	"strings"

	"pintle/reports/typeface"
	"pintle/rig/fold"
)

// text sets type and ink.
func (s *sheet) text(style string, points float64, c colour) {
	s.SetFont(family, style, points)
	s.SetTextColor(c[0], c[1], c[2])
}

// leading is the height of a line of type of a size.
func leading(points float64) float64 { return points * 0.46 }

// right writes a text that ends at x.
func (s *sheet) right(x, y float64, words string) {
	if !s.dry {
		s.Text(x-s.GetStringWidth(words), y, words)
	}
}

// wrap breaks a text into lines no wider than wide in the type that is set,
// between words, and within a word that is wider than a line. A number stays with its
// unit and its doubt.
func (s *sheet) wrap(words string, wide float64) []string {
	cut := func(word string) (string, string) { return s.cut(word, wide) }
	return fold.Rows(fold.Figures(typeface.Plain(words)), wide, s.GetStringWidth, cut)
}

// cut takes as much of a word as fits, at least one character. A path is cut
// after a sign between its parts, if one is near the end.
func (s *sheet) cut(word string, wide float64) (part, rest string) {
	runes, used, n := []rune(word), 0.0, 0
	for ; n < len(runes); n++ {
		used += s.GetStringWidth(string(runes[n]))
		if used > wide && n > 0 {
			break
		}
	}
	for back := n; back > n*2/3 && back < len(runes); back-- {
		if strings.ContainsRune("-_/.:,;", runes[back-1]) {
			n = back
			break
		}
	}
	return string(runes[:n]), string(runes[n:])
}

// clip shortens a text to one line, with a sign that it was.
func (s *sheet) clip(words string, wide float64) string {
	if s.GetStringWidth(words) <= wide {
		return words
	}
	part, _ := s.cut(words, wide-s.GetStringWidth("…"))
	return part + "…"
}

// paragraph writes a text over the whole width, going on over the page.
func (s *sheet) paragraph(style string, points float64, c colour, words string) {
	s.column(margin, s.width, style, points, c, words)
}

// column writes a text from x, as wide as wide.
func (s *sheet) column(x, wide float64, style string, points float64, c colour, words string) {
	s.text(style, points, c)
	high := leading(points)
	for _, l := range s.wrap(words, wide) {
		if s.need(high) {
			s.text(style, points, c)
		}
		y := s.GetY()
		if !s.dry {
			s.Text(x, y+high*0.76, l)
		}
		s.SetXY(margin, y+high)
	}
}

// heading begins a part, on a new page where there is no room for so much of it.
func (s *sheet) heading(words string, room float64) {
	s.need(9 + room)
	if s.GetY() > top+0.1 {
		s.down(3.2)
	}
	s.paragraph("B", 10, ink, words)
	s.line(frame, 0.25, margin, s.GetY()+0.7, margin+s.width, s.GetY()+0.7)
	s.down(2)
}

// A pair is a name and what it is. One that nobody gave is left out, or a blank line
// to fill in by hand where it belongs on every certificate.
type pair struct {
	name, what string
	asked      bool
}

// pairs writes names and what they are from x.
func (s *sheet) pairs(x, wide, names float64, list []pair) {
	const points = 8.2
	high := leading(points)
	for _, p := range list {
		if p.what == "" && !p.asked {
			continue
		}
		s.need(high + 1)
		if p.what == "" && s.brevity < briefest {
			s.down(1) // room to write
		}
		y := s.GetY()
		s.text("", points, faint)
		if !s.dry {
			s.Text(x, y+high*0.76, p.name)
		}
		if p.what == "" {
			s.line(ink, 0.15, x+names, y+high*0.9, x+wide, y+high*0.9)
			s.SetXY(margin, y+high)
		} else {
			s.column(x+names, wide-names, "", points, ink, p.what)
		}
		s.down(0.35)
	}
}
