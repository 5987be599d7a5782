package certificate

import (
	"fmt"
	"io"
	"strings"

	"pintle/reports"
	"pintle/reports/record"
	"pintle/rig/rule"
)

// Options say how the certificate is set out. The zero Options are for A4.
type Options struct {
	Letter bool // paper of 8.5 by 11 inches
}

// Write writes the certificate of a run. A trace that cannot be had is said to be
// missing in its place.
func Write(w io.Writer, run *reports.Run, traces reports.TraceSource, o Options) error {
	s := newSheet(run, o)
	s.AddPage()
	if err := s.front(); err != nil {
		return err
	}
	s.scenarios(traces)
	s.end()
	if err := s.Output(w); err != nil {
		return fmt.Errorf("certificate of run %s: %w", run.ID, err)
	}
	return nil
}

// front is the first part: the verdict, what it covers and what it rests on.
func (s *sheet) front() error {
	digest, err := record.Digest(s.run)
	if err != nil {
		return err
	}
	s.title()
	s.identity(digest)
	s.overview()
	s.claims()
	s.limits()
	s.signatures()
	return nil
}

func (s *sheet) title() {
	r := s.run
	s.text("", 17, ink)
	s.CellFormat(s.width, 9, "Bench trial of a gate controller", "", 1, "L", false, 0, "")
	s.paragraph(10, faint, strings.Trim(r.Job+", "+r.Place, ", "))
	s.Ln(3)

	y := s.GetY()
	s.SetFillColor(paper[0], paper[1], paper[2])
	s.Rect(margin, y, s.width, 22, "F")
	s.rule(y)
	s.rule(y + 22)
	s.SetXY(margin+4, y+3)
	s.text("B", 22, verdictInk(r.Verdict))
	s.CellFormat(70, 10, strings.ToUpper(r.Verdict.String()), "", 0, "L", false, 0, "")
	s.text("", 9.5, ink)
	s.SetXY(margin+74, y+3)
	s.MultiCell(s.width-78, 4.7, covers(r), "", "L", false)
	s.SetXY(margin, y+24)
	if r.Bench.Virtual {
		s.text("B", 9.5, red)
		s.MultiCell(s.width, 4.8, "REHEARSAL. Performed on a virtual bench with a simulated controller: it says nothing of any hardware.", "", "L", false)
	}
	if len(r.Controller.Defects) > 0 {
		s.text("B", 9.5, red)
		s.MultiCell(s.width, 4.8, plain("Seeded on purpose into the simulated controller: "+strings.Join(r.Controller.Defects, ", ")+"."), "", "L", false)
	}
	if r.Reason != "" {
		s.paragraph(9.5, ink, "The run did not end in the ordinary way: "+r.Reason)
	}
}

// covers says what the verdict is of.
func covers(r *reports.Run) string {
	t := reports.TallyScenarios(r)
	words := fmt.Sprintf("of %d scenarios, each performed %d times: %d passed, %d failed, %d inconclusive, %d void.",
		t.All(), r.Trials, t.Pass, t.Fail, t.Inconclusive, t.Void)
	if r.Trials == 1 {
		words = fmt.Sprintf("of %d scenarios, each performed once: %d passed, %d failed, %d inconclusive, %d void.",
			t.All(), t.Pass, t.Fail, t.Inconclusive, t.Void)
	}
	if t.Other > 0 {
		words += fmt.Sprintf(" %d are not settled.", t.Other)
	}
	return words + " It covers the claims and the scenarios listed here, and nothing else."
}

func (s *sheet) identity(digest string) {
	r, c, b := s.run, s.run.Controller, s.run.Bench
	s.heading("What was tested, on what, by what rule")
	s.pair("controller", c.Board)
	s.pair("maker", c.Maker)
	s.pair("serial", c.Serial)
	s.pair("firmware", strings.TrimSpace(c.Firmware+digestOf(c.Digest)))
	s.pair("gate", r.Gate)
	s.pair("bench", b.Name)
	s.pair("meter", fmt.Sprintf("%s: a reading each %v over %v, %v to %v late, in steps of %v", b.Meter, b.Interval, b.Window, b.LeastDelay, b.MostDelay, b.Resolution))
	s.pair("performed", fmt.Sprintf("%s to %s, by %s, seed %d", r.Began.UTC().Format("2006-01-02 15:04:05"), r.Ended.UTC().Format("15:04:05 MST"), r.Program, r.Seed))
	s.pair("decision rule", r.Decision)
	s.pair("record", "SHA-256 "+digest)
}

func digestOf(d string) string {
	if d == "" {
		return ""
	}
	return ", SHA-256 " + d
}

// overview is a row for each scenario.
func (s *sheet) overview() {
	s.heading("Scenarios")
	t := s.table(8.5, column{"verdict", 0.12}, column{"scenario", 0.40}, column{"tightest: measured", 0.22}, column{"limit", 0.13}, column{"to spare", 0.13})
	for i := range s.run.Scenarios {
		sc := &s.run.Scenarios[i]
		value, limit, spare := "", "", ""
		if trial, f, ok := reports.Tightest(sc); ok && sc.Trials[trial].Findings[f].Measured && sc.Verdict != rule.Void {
			finding := sc.Trials[trial].Findings[f]
			value, limit, spare = finding.ValueText(), finding.LimitText(), finding.MarginText()
			if finding.Unit == rule.Times && finding.Verdict == rule.Pass {
				spare = ""
			}
		}
		name := sc.Title
		if sc.Verdict != rule.Pass && sc.Reason != "" {
			name += ": " + sc.Reason
		}
		t.row(cellText{sc.Verdict.String(), sc.Verdict != rule.Pass, verdictInk(sc.Verdict)}, cell(name), cell(value), cell(limit), cell(spare))
	}
}

func (s *sheet) claims() {
	if len(s.run.Controller.Claims) == 0 {
		return
	}
	s.heading("What the controller's builder claims")
	t := s.table(8.5, column{"claim", 0.2}, column{"figure", 0.12}, column{"meaning", 0.68})
	for _, c := range s.run.Controller.Claims {
		t.row(cell(c.Name), cell(c.Value), cell(c.Means))
	}
}

func (s *sheet) limits() {
	s.heading("What this does not say")
	s.paragraph(8.5, ink, "A moving gate can kill. A trial on a bench shows what the controller did with the signals and the load that the bench gave it. "+
		"It does not replace the checks on the gate itself: forces, guarding, emergency release and wiring. "+
		"Follow the local codes, and where they ask for a licensed person, have one do it. "+
		"The trials passed do not exclude a failure that none of them provoked. "+
		"This is not a certificate of an accredited laboratory, and claims conformity with no standard.")
}

func (s *sheet) signatures() {
	s.need(24)
	s.Ln(12)
	y := s.GetY()
	s.SetDrawColor(ink[0], ink[1], ink[2])
	s.SetLineWidth(0.2)
	third := (s.width - 12) / 3
	s.text("", 8, faint)
	for i, what := range []string{"performed by", "authorised by", "date of issue"} {
		x := margin + float64(i)*(third+6)
		s.Line(x, y, x+third, y)
		s.SetXY(x, y+0.5)
		s.CellFormat(third, 4, what, "", 0, "L", false, 0, "")
	}
	s.SetXY(margin, y+6)
}

// end marks the end of the document.
func (s *sheet) end() {
	s.need(10)
	s.Ln(3)
	s.text("", 8.5, faint)
	s.CellFormat(s.width, 5, "End of the certificate of run "+s.run.ID, "", 1, "C", false, 0, "")
}
