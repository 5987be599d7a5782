package certificate

import (
	"cmp"
	"fmt"
	"strings"

	"pintle/reports"
	"pintle/reports/account"
	"pintle/rig/fold"
	"pintle/rig/reliability"
	"pintle/rig/rule"
	"pintle/rig/wording"
)

func (s *sheet) title() {
	s.paragraph("B", 16, ink, "Certificate of a bench trial")
	s.down(0.3)
	s.paragraph("", 9, faint, strings.Trim(s.run.Job+", "+s.run.Place, ", "))
	s.down(1.5)
	if s.told.Replaces != "" || s.told.Because != "" {
		s.paragraph("B", 9.5, ink, fmt.Sprintf("Amended certificate %s. It replaces certificate %s, which is no longer valid.", s.id, cmp.Or(s.told.Replaces, "not stated")))
		s.paragraph("", 9, ink, "What has changed, and why: "+sentence(cmp.Or(s.told.Because, "not stated")))
		s.down(1.5)
	}
}

// verdict is a strip of the recorder's paper with the verdict and what it covers.
func (s *sheet) verdict() {
	const inset, word = 4.2, 58.0
	r := s.run
	wide := s.width - word - inset
	write := func() {
		s.column(margin+word, wide, "B", 9.5, ink, account.Meaning(r))
		s.down(0.8)
		s.figures(margin+word, wide)
		s.column(margin+word, wide, "", 8.4, ink, glued(account.CoversTrials(r))+" "+s.scope())
		s.down(0.6)
		s.column(margin+word, wide, "", 8.4, ink, demonstrated(r))
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

// scope is what the verdict is of, and that it is of nothing else.
func (s *sheet) scope() string {
	r := s.run
	judged := 0
	for _, c := range s.cites {
		if c.Rules > 0 {
			judged++
		}
	}
	firmware := "no firmware digest was given"
	if d := r.Controller.Digest; d != "" {
		firmware = "stated firmware SHA-256 " + clipped(d, 16)
	}
	return fmt.Sprintf("It covers %s, %s in all, %d of %s, on %s, with one controller: %s; and nothing else.", account.Count(len(r.Scenarios), "scenario"), account.Count(account.Trials(r).All(), "trial"),
		judged, account.Count(len(s.cites), "claim"), cmp.Or(r.Bench.Name, "a bench without a name"), firmware)
}

// demonstrated says in a sentence whether the trials showed the reliability asked for.
func demonstrated(r *reports.Run) string {
	if r.Demonstration == nil {
		return "No reliability was asked for: few trials show that a claim can be kept, not how often."
	}
	shown := 0
	for i := range r.Scenarios {
		if sh := r.Scenarios[i].Shown; sh != nil && sh.State == reliability.Accept {
			shown++
		}
	}
	words := wording.Upper(strings.TrimPrefix(r.Demonstration.Goal(), "a ")) + ": "
	switch n := len(r.Scenarios); {
	case n == 0 || shown == 0:
		return words + "not demonstrated."
	case shown < n:
		return fmt.Sprintf("%sdemonstrated for %s of %d only.", words, account.Count(shown, "scenario"), n)
	}
	return words + "demonstrated for each scenario listed here."
}

// verdictWord writes the verdict as large as fits; what is broken is underlined
// with the red pencil.
func (s *sheet) verdictWord(mid, wide float64) {
	words := strings.ToUpper(s.run.Verdict.String())
	points := 30.0
	for s.text("B", points, verdictInk(s.run.Verdict)); s.GetStringWidth(words) > wide && points > 8; points -= 0.5 {
		s.SetFontSize(points - 0.5)
	}
	under := s.underVerdict()
	base := mid + points*0.125 - 3*float64(len(under))
	for i, line := range under {
		s.text("B", 9.5, ink)
		s.Text(margin+5, base+8.4+float64(i)*leading(9.5), line)
	}
	s.text("B", points, verdictInk(s.run.Verdict))
	s.Text(margin+5, base, words)
	if s.run.Verdict == rule.Fail {
		s.scribble(margin+5, base+2.8, s.GetStringWidth(words), 1.8)
	}
}

// underVerdict is what no eye may part from the verdict.
func (s *sheet) underVerdict() (lines []string) {
	if rehearsed(s.run) {
		lines = append(lines, "in rehearsal only")
	}
	switch c := account.CoverageOf(s.run); {
	case len(c.NotPerformed) > 0:
		lines = append(lines, fmt.Sprintf("%d of %d scenarios only", c.Performed.All(), c.Applicable()))
	case c.Unlisted != "":
		lines = append(lines, "not of every scenario")
	}
	return lines
}

// rehearsal says what nobody must overlook. It is printed white on black, so that
// no copy loses it.
func (s *sheet) rehearsal() {
	r := s.run
	switch {
	case r.Bench.Virtual:
		s.plate("REHEARSAL: no evidence about any hardware", "Performed on a virtual bench with a simulated controller. It shows that the job can be performed, and nothing of a real controller.")
	case rehearsed(r):
		s.plate("REHEARSAL: no evidence about any hardware", "Performed in real time with a simulated controller. It shows that the job can be performed, and nothing of a real controller.")
	}
}

// open is what the verdict alone would hide.
func (s *sheet) open() {
	r := s.run
	if len(r.Controller.Defects) > 0 {
		s.paragraph("B", 9, ink, "Seeded on purpose into the simulated controller: "+strings.Join(r.Controller.Defects, ", ")+".")
		s.down(1)
	}
	if r.Reason != "" {
		s.paragraph("B", 9, ink, "The run did not end in the ordinary way: "+sentence(r.Reason))
		s.down(1)
	}
	for _, open := range []struct{ style, words string }{{"", s.unpassed()}, {"B", account.CoverageOf(r).Left(s.mostNamed())}, {"", s.unjudged()}, {"", s.inapplicable()}} {
		if open.words != "" {
			s.paragraph(open.style, 9, ink, open.words)
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

func (s *sheet) plate(big, words string) {
	const large, points = 15.0, 9.0
	s.text("B", points, white)
	lines := s.wrap(words, s.width-6)
	y := s.GetY()
	high := leading(large) + float64(len(lines))*leading(points) + 3.4
	s.fill(ink, margin, y, s.width, high)
	if !s.dry {
		s.text("B", large, white)
		s.Text(margin+3, y+1.2+0.78*leading(large), big)
		s.text("B", points, white)
		for i, l := range lines {
			s.Text(margin+3, y+1.6+leading(large)+(float64(i)+0.76)*leading(points), l)
		}
	}
	s.SetXY(margin, y+high+2)
}

// mostNamed is how many are named on page one.
func (s *sheet) mostNamed() int {
	if s.brevity == briefest {
		return 2
	}
	return 6
}

// unpassed names the scenarios that did not pass, the gravest first.
func (s *sheet) unpassed() string {
	r, most := s.run, s.mostNamed()
	var names []string
	all := 0
	for _, i := range account.ByConcern(r) {
		sc := &r.Scenarios[i]
		if sc.Verdict == rule.Pass || len(sc.Trials) == 0 { // what has no trial is told as not performed
			continue
		}
		if all++; all <= most {
			names = append(names, fmt.Sprintf("%s (%v)", brief(cmp.Or(sc.Title, sc.Name)), sc.Verdict))
		}
	}
	if all == 0 {
		return ""
	}
	words := "Did not pass: " + strings.Join(names, "; ")
	if all > most {
		words += fmt.Sprintf("; and %d more", all-most)
	}
	return words + "."
}

// inapplicable names the scenarios that do not apply to the job.
func (s *sheet) inapplicable() string {
	switch left := s.run.LeftOut; len(left) {
	case 0:
		return ""
	case 1:
		return fmt.Sprintf("Does not apply to this job: %s (%s).", brief(cmp.Or(left[0].Title, left[0].Name)), left[0].Why)
	default:
		var names []string
		for _, l := range left {
			names = append(names, brief(cmp.Or(l.Title, l.Name)))
		}
		switch {
		case s.brevity == briefest:
			return "" // the figures beside the verdict count them
		case len(left) > s.mostNamed():
			return fmt.Sprintf("%d scenarios do not apply to this job; they are listed with the reasons.", len(left))
		}
		return "Do not apply to this job, for the reasons listed: " + strings.Join(names, "; ") + "."
	}
}

// unjudged names the claims that no rule of the run refers to.
func (s *sheet) unjudged() string {
	var names []string
	for _, c := range s.cites {
		if c.Rules == 0 {
			names = append(names, c.Name)
		}
	}
	if len(names) == 0 {
		return ""
	}
	return fmt.Sprintf("Not judged, as no rule of this run refers to them: %d of %s (%s).", len(names), account.Count(len(s.cites), "claim"), someOf(names, s.mostNamed()))
}

// identity says what was tested, by whom and for whom, on what, when and by what rule.
// What a certificate asks for and nobody gave is a line to fill in by hand.
func (s *sheet) identity() {
	r, c := s.run, s.run.Controller
	item := []pair{{"board †", c.Board, true}, {"maker †", c.Maker, true}, {"serial number †", c.Serial, true}, {"firmware †", c.Firmware, true},
		{"received", c.Received, true}, {"condition", c.Condition, true}}
	if s.brevity < briefest {
		item = append(item, pair{"for the gate", r.Gate, false})
	}
	s.pairsBeside(
		"The item tested", item,
		"The laboratory", []pair{{"name", r.Laboratory.Name, true}, {"address", r.Laboratory.Address, true}, {"performed at", r.At, true},
			{"performed", performed(r), true}})
	s.pairsBeside(
		"The customer", []pair{{"name †", r.Customer.Name, true}, {"address †", r.Customer.Address, true}, {"contact †", r.Customer.Contact, true}},
		"The bench", s.benchPairs(r.Bench))
	s.subhead(margin, "The run", margin+s.width)
	s.pairs(margin, s.width, 25, s.runPairs())
	s.paragraph("", 7, faint, "† supplied by the customer or the controller's builder, and not checked. A line left blank was not known to the program, and is to be filled in by hand.")
}

// pairsBeside writes two lists side by side, or one under the other where they are long.
func (s *sheet) pairsBeside(left string, a []pair, right string, b []pair) {
	half := (s.width - 8) / 2
	one := func() { s.subhead(margin, left, margin+half); s.pairs(margin, half, 25, a) }
	two := func() { s.subhead(margin+half+8, right, margin+s.width); s.pairs(margin+half+8, half, 25, b) }
	high := max(s.measure(one), s.measure(two))
	if high > s.left() || high > 90 {
		s.subhead(margin, left, margin+s.width)
		s.pairs(margin, s.width, 32, a)
		s.subhead(margin, right, margin+s.width)
		s.pairs(margin, s.width, 32, b)
		return
	}
	y := s.GetY()
	one()
	s.SetXY(margin, y)
	two()
	s.SetXY(margin, y+high)
}

func (s *sheet) subhead(x float64, words string, end float64) {
	s.need(9)
	s.down(0.5)
	y := s.GetY()
	s.text("B", 9.2, ink)
	if !s.dry {
		s.Text(x, y+leading(9.2)*0.76, words)
	}
	s.line(frame, 0.2, x, y+leading(9.2)+0.3, end, y+leading(9.2)+0.3)
	s.SetXY(margin, y+leading(9.2)+1.2)
}

func performed(r *reports.Run) string {
	switch {
	case r.Began.IsZero():
		return ""
	case r.Ended.IsZero():
		return "began " + account.Instant(r.Began) + "; its end was not recorded"
	case r.Began.UTC().Format("2006-01-02") == r.Ended.UTC().Format("2006-01-02"):
		return account.Instant(r.Began) + " to " + r.Ended.UTC().Format("15:04:05")
	}
	return account.Instant(r.Began) + " to " + account.Instant(r.Ended)
}

func (s *sheet) benchPairs(b reports.Bench) []pair {
	kind := "keeps real time"
	if b.Virtual {
		kind = "virtual: everything is simulated"
	}
	list := []pair{{"bench", strings.Trim(b.Name+", "+kind, ", "), true}, {"meter", b.Meter, true}}
	if b.Interval > 0 && s.brevity < briefBench {
		steps := fold.Held(fmt.Sprintf("%v steps, noise %v", b.Resolution, b.Noise))
		list = append(list, pair{"a reading", fmt.Sprintf("each %s over %s, %s to %s late; %s", account.Short(b.Interval), account.Short(b.Window), account.Short(b.LeastDelay), account.Short(b.MostDelay), steps), false})
	}
	if text := finestText(b); text != "" && s.brevity < briefBench {
		list = append(list, pair{"decides", text, false})
	}
	return append(list, pair{"last check", lastCheck(b), true})
}

func (s *sheet) runPairs() []pair {
	r := s.run
	decision := cmp.Or(r.Decision, "not stated")
	if s.brevity >= briefRule && r.Decision != "" {
		decision = cmp.Or(r.DecisionBy, "as stated") + "; in full, with its risk, under Statement of conformity at the end"
	}
	list := []pair{
		{"run", fmt.Sprintf("%s; seed %d; %s of each scenario asked for; %s", r.ID, r.Seed, account.Count(r.Trials, "trial"), cmp.Or(r.Program, "program not stated")), false},
		{"decision rule", decision, false},
		firmwarePair(&r.Controller),
		{"record", s.recordPair(), false},
		{"public key ID", cmp.Or(s.told.Key, "none: not signed"), false},
	}
	return list
}

func (s *sheet) recordPair() string {
	if s.told.Root != "" {
		return "root " + s.told.Root
	}
	return "SHA-256 of the run " + s.digest + "; no record file was made with this"
}

// firmwarePair says whose the digest is: only one that was told carries the mark of what
// others supplied.
func firmwarePair(c *reports.Controller) pair {
	if c.DigestOf != "" {
		return pair{"firmware digest", account.FirmwareDigest(c), true}
	}
	digest := c.Digest
	if len(digest) == 64 {
		digest = "SHA-256 " + digest
	}
	return pair{"firmware digest †", digest, true}
}

// someOf names as many as are asked for.
func someOf(names []string, most int) string {
	if len(names) <= most {
		return strings.Join(names, ", ")
	}
	return fmt.Sprintf("%s, and %d more", strings.Join(names[:most], ", "), len(names)-most)
}
