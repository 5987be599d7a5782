package certificate

import (
	"fmt"
	"slices"
	"strings"

	"pintle/reports"
	"pintle/rig/rule"
)

func (s *sheet) title() {
	s.paragraph("B", 16, ink, "Certificate of a bench trial")
	s.down(0.5)
	s.paragraph("", 10, faint, strings.Trim(s.run.Job+", "+s.run.Place, ", "))
	s.down(2.5)
}

// verdict is a strip of the recorder's paper with the verdict and what it covers.
func (s *sheet) verdict() {
	const inset, word = 5.0, 58.0
	r := s.run
	wide := s.width - word - inset
	write := func() {
		s.column(margin+word, wide, "B", 9.5, ink, meaning(r))
		s.down(0.8)
		s.column(margin+word, wide, "", 9, ink, covers(r))
		s.down(0.8)
		s.column(margin+word, wide, "", 9, ink, "The verdict covers the claims and the scenarios listed here as they were performed in this run, and nothing else.")
	}
	y := s.GetY()
	s.down(inset)
	high := max(s.measure(write), 15) + 2*inset
	s.fill(paper, margin, y, s.width, high)
	for x := margin + 5.8; x < margin+s.width; x += 5.8 {
		s.line(light, 0.12, x, y+2.6, x, y+high-2.6)
	}
	s.line(frame, 0.3, margin, y, margin+s.width, y)
	s.holes(y + 1.4)
	s.line(frame, 0.3, margin, y+high, margin+s.width, y+high)
	s.holes(y + high - 1.4)
	s.verdictWord(y+high/2, word-2*inset)
	s.SetXY(margin, y+inset)
	write()
	s.SetXY(margin, y+high+2.5)
}

// verdictWord writes the verdict as large as fits; what is broken is underlined
// with the red pencil.
func (s *sheet) verdictWord(mid, wide float64) {
	words := strings.ToUpper(s.run.Verdict.String())
	points := 30.0
	for s.text("B", points, verdictInk(s.run.Verdict)); s.GetStringWidth(words) > wide && points > 8; points -= 0.5 {
		s.SetFontSize(points - 0.5)
	}
	base := mid + points*0.125
	s.Text(margin+5, base, words)
	if s.run.Verdict == rule.Fail {
		s.scribble(margin+5, base+2.8, s.GetStringWidth(words), 1.8)
	}
}

// rehearsal says what nobody must overlook. It is printed white on black, so that
// no copy loses it.
func (s *sheet) rehearsal() {
	r := s.run
	switch {
	case r.Bench.Virtual:
		s.plate("REHEARSAL: performed on a virtual bench with a simulated controller; says nothing of any hardware.")
	case rehearsed(r):
		s.plate("REHEARSAL: performed in real time with a simulated controller; says nothing of the hardware of any controller.")
	}
	if len(r.Controller.Defects) > 0 {
		s.paragraph("B", 9, ink, "Seeded on purpose into the simulated controller: "+strings.Join(r.Controller.Defects, ", ")+".")
		s.down(1)
	}
	if r.Reason != "" {
		s.paragraph("B", 9, ink, "The run did not end in the ordinary way: "+sentence(r.Reason))
		s.down(1)
	}
	for _, open := range []string{unpassed(r), unjudged(r), inapplicable(r)} {
		if open != "" {
			s.paragraph("", 9, ink, open)
			s.down(1)
		}
	}
}

// rehearsed says that the controller was simulated. A bench can keep real time and
// have a real meter, and still play the controller's part itself; and defects can
// be seeded into no real one.
func rehearsed(r *reports.Run) bool {
	return r.Bench.Virtual || r.Bench.Simulated || len(r.Controller.Defects) > 0
}

func (s *sheet) plate(words string) {
	const points = 9.5
	s.text("B", points, white)
	lines := s.wrap(words, s.width-6)
	y := s.GetY()
	high := float64(len(lines))*leading(points) + 3
	s.fill(ink, margin, y, s.width, high)
	for i, l := range lines {
		s.Text(margin+3, y+1.5+(float64(i)+0.76)*leading(points), l)
	}
	s.SetXY(margin, y+high+2)
}

const mostNamed = 6

// unpassed names the scenarios that did not pass, the gravest first.
func unpassed(r *reports.Run) string {
	var names []string
	all := 0
	for _, i := range byConcern(r) {
		sc := &r.Scenarios[i]
		if sc.Verdict == rule.Pass {
			continue
		}
		if all++; all <= mostNamed {
			names = append(names, fmt.Sprintf("%s (%v)", brief(first(sc.Title, sc.Name)), sc.Verdict))
		}
	}
	if all == 0 {
		return ""
	}
	words := "Did not pass: " + strings.Join(names, "; ")
	if all > mostNamed {
		words += fmt.Sprintf("; and %d more", all-mostNamed)
	}
	return words + "."
}

// inapplicable says how many scenarios of the set could not be performed.
func inapplicable(r *reports.Run) string {
	switch n := len(r.LeftOut); n {
	case 0:
		return ""
	case 1:
		return fmt.Sprintf("Does not apply to this job: %s (%s).", brief(first(r.LeftOut[0].Title, r.LeftOut[0].Name)), r.LeftOut[0].Why)
	default:
		return fmt.Sprintf("%d more scenarios do not apply to this job, and are listed with the reasons.", n)
	}
}

// unjudged names the claims that no rule of the run refers to.
func unjudged(r *reports.Run) string {
	var names []string
	for _, c := range r.Controller.Claims {
		if citedBy(r, c.Name).rules == 0 {
			names = append(names, c.Name)
		}
	}
	if len(names) == 0 {
		return ""
	}
	return fmt.Sprintf("Not judged, as no rule of this run refers to them: %d of %s (%s).", len(names), count(len(r.Controller.Claims), "claim"), strings.Join(names, ", "))
}

// identity says what was tested, on what, when and by what rule.
func (s *sheet) identity() {
	r, c := s.run, s.run.Controller
	half := (s.width - 8) / 2
	controller := []pair{{"board", c.Board}, {"maker", c.Maker}, {"serial number", c.Serial}, {"firmware", c.Firmware}, {"for the gate", r.Gate}}
	if c.Board+c.Maker+c.Serial+c.Firmware == "" {
		controller = append(controller, pair{"identity", "not stated"})
	}
	bench := benchPairs(r.Bench)
	left := func() { s.subhead(margin, "The controller"); s.pairs(margin, half, 25, controller) }
	right := func() { s.subhead(margin+half+8, "The bench"); s.pairs(margin+half+8, half, 25, bench) }
	high := max(s.measure(left), s.measure(right))
	s.down(1)
	if high > s.left() || high > 90 { // too much for side by side
		s.subhead(margin, "The controller")
		s.pairs(margin, s.width, 32, controller)
		s.subhead(margin, "The bench")
		s.pairs(margin, s.width, 32, bench)
	} else {
		y := s.GetY()
		left()
		s.SetXY(margin, y)
		right()
		s.SetXY(margin, y+high)
	}
	s.down(1)
	s.subhead(margin, "The run")
	s.pairs(margin, s.width, 25, s.runPairs())
}

func (s *sheet) subhead(x float64, words string) {
	s.need(9)
	s.down(0.6)
	y := s.GetY()
	s.column(x, s.width, "B", 9.5, ink, words)
	end := margin + s.width
	if x == margin && words == "The controller" {
		end = margin + (s.width-8)/2
	}
	s.line(frame, 0.2, x, s.GetY()+0.4, end, s.GetY()+0.4)
	s.SetXY(margin, y+leading(9.5)+1.6)
}

func benchPairs(b reports.Bench) []pair {
	kind := "keeps real time"
	if b.Virtual {
		kind = "virtual: everything is simulated"
	}
	list := []pair{{"bench", b.Name}, {"kind", kind}, {"meter", b.Meter}}
	if b.Interval > 0 {
		list = append(list, pair{"a reading", fmt.Sprintf("each %s, over %s", short(b.Interval), short(b.Window))},
			pair{"comes", fmt.Sprintf("%s to %s late", short(b.LeastDelay), short(b.MostDelay))},
			pair{"resolution", fmt.Sprintf("%v; noise %v", b.Resolution, b.Noise)})
	}
	if b.Lead > 0 {
		list = append(list, pair{"lead", short(b.Lead) + " from plan to line"})
	}
	for i, d := range b.Description {
		name := ""
		if i == 0 {
			name = "further"
		}
		list = append(list, pair{name, d})
	}
	return list
}

func (s *sheet) runPairs() []pair {
	r := s.run
	performed := "not recorded"
	if !r.Began.IsZero() {
		performed = "began " + instant(r.Began)
		if r.Ended.IsZero() {
			performed += "; its end was not recorded"
		} else {
			performed += ", ended " + instant(r.Ended)
		}
	}
	list := []pair{
		{"performed", performed},
		{"program", fmt.Sprintf("%s; run %s; seed %d; %s of each scenario asked for", first(r.Program, "not stated"), r.ID, r.Seed, count(r.Trials, "trial"))},
		{"decision rule", first(r.Decision, "not stated")},
		{"firmware digest", sum(r.Controller.Digest)},
		{"record digest", sum(s.digest)},
	}
	if text := reports.Demonstrated(r); text != "" {
		list = slices.Insert(list, 2, pair{"reliability", text})
	}
	return list
}

// sum is a digest with what it is.
func sum(digest string) string {
	if len(digest) == 64 {
		return "SHA-256 " + digest
	}
	return digest
}
