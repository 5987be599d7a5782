package certificate

import "pintle/reports/typeface"

// An entry is something on its way to a page.
type entry struct {
	title string
	write func()
	strip *strip // nil: none is printed
	keys  []string
	parts bool    // its chart may stand on the page after its text
	least float64 // height, with its chart as low as can be
}

// flow puts entries on as many pages as they need. None goes over two, unless its text
// fits and its chart does not, which then begins the next page.
func (s *sheet) flow(list []*entry) {
	var page []*entry
	used, room := 0.0, s.left()-ending
	for _, e := range list {
		e.least = s.measure(func() { s.entry(e) })
		if used+e.least > room && (len(page) > 0 || room < s.bottom-top-ending) {
			head, chart := s.apart(e)
			if head != nil && used+head.least <= room {
				page, e = append(page, head), chart
			}
			s.share(page)
			s.turn()
			page, used, room = nil, 0, s.left()-ending
		}
		page = append(page, e)
		used += between + e.least
	}
	s.share(page)
}

// apart parts an entry's text from its chart, if that may be. What refers to a trial that
// the chart draws is led to the chart.
func (s *sheet) apart(e *entry) (text, drawn *entry) {
	if !e.parts || !e.strip.drawn() {
		return nil, nil
	}
	text = &entry{title: e.title, keys: e.keys[:1], write: func() {
		e.write()
		s.down(1)
		s.paragraph("", 7.8, faint, "Its chart is on the next page.")
	}}
	text.least = s.measure(text.write)
	drawn = &entry{keys: e.keys[1:], strip: e.strip, write: func() { s.paragraph("B", 9.5, ink, e.title+", continued") }}
	drawn.least = s.measure(func() { s.entry(drawn) })
	return text, drawn
}

// share puts entries on a page. What they leave of it makes their charts higher.
func (s *sheet) share(page []*entry) {
	spare, charts := s.left()-ending, 0
	for _, e := range page {
		spare -= e.least + between
		if e.strip.drawn() {
			charts++
		}
	}
	for n, e := range page {
		if n > 0 {
			s.down(between)
		}
		if e.strip.drawn() {
			e.strip.spare = max(0, spare/float64(charts))
		}
		if e.title != "" {
			s.text("", 8, ink)
			s.Bookmark(typeface.Plain(e.title), 1, max(0, s.GetY()-5))
		}
		s.number(e.keys...)
		s.entry(e)
	}
}

func (s *sheet) entry(e *entry) {
	e.write()
	if e.strip != nil {
		e.strip.write(s)
	}
}
