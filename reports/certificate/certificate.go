package certificate

import (
	"fmt"
	"io"

	"pintle/reports"
	"pintle/reports/record"
	"pintle/reports/typeface"
)

// Options say how the certificate is set out, and what it is tied to. The zero
// Options are for A4, of a run of which no record file was made.
type Options struct {
	Letter bool   // paper of 8.5 by 11 inches
	Root   string // of the record file: the root hash of its digests, in hexadecimal digits
	Record string // what the record file is called; record-RUN.zip where it is not given
	Key    string // ID of the public key that the record file is signed with; empty: it is not signed
	// Replaces is the ID of the certificate that this one is put in place of, Because
	// what has changed and why.
	Replaces, Because string
}

// Write writes the certificate of a run. A trace that cannot be had is said to be
// missing in its place. The run must not change meanwhile.
func Write(w io.Writer, run *reports.Run, traces reports.TraceSource, o Options) error {
	digest, err := record.Digest(run)
	if err != nil {
		return fmt.Errorf("certificate of run %s: %w", run.ID, err)
	}
	s := newSheet(run, o)
	s.digest = digest
	s.front()
	s.scenarios(traces)
	s.end()
	s.furnish()
	if err := s.Output(w); err != nil {
		return fmt.Errorf("certificate of run %s: %w", run.ID, err)
	}
	return nil
}

// front is the first part: the verdict and what it covers, what it rests on, and
// room to sign. The tables that do not fit on the first page follow on the next.
func (s *sheet) front() {
	s.turn()
	s.Bookmark("The run", 0, 0)
	s.title()
	s.verdict()
	s.rehearsal()
	s.identity()

	tables := []func(){s.overview, s.claims, s.doubts}
	closing := func() { s.limits(); s.signatures() }
	room := s.measure(closing) + 2
	for len(tables) > 0 && s.measure(tables[0])+room <= s.left() {
		tables[0]()
		tables = tables[1:]
	}
	if room > s.left() { // it all goes on over several pages
		for _, t := range tables {
			t()
		}
		tables = nil
		s.need(room)
	}
	s.excerptIn(tables, room)
	if spare := s.left() - room; spare > 0 && len(s.run.Scenarios) > 0 {
		s.down(spare)
	}
	closing()
	for i, t := range tables {
		if i == 0 {
			s.turn()
		}
		t()
	}
}

// excerptIn fills the room that the tables leave on the first page, where there is
// some, with the scenarios that most deserve a look.
func (s *sheet) excerptIn(tables []func(), room float64) {
	if len(tables) < 2 || len(s.run.Scenarios) == 0 {
		return
	}
	order := byConcern(s.run)
	for n := min(len(order)-1, 12); n >= 2; n-- {
		some := func() { s.excerpt(order[:n]) }
		if s.measure(some)+room+2 <= s.left() {
			some()
			return
		}
	}
}

// end marks the end of the document. It needs no more than the edge of a page, so
// that it never stands on one alone.
func (s *sheet) end() {
	s.down(max(0, min(4, s.left()-4)))
	y := s.GetY()
	s.text("", 8, faint)
	words := s.clip(fmt.Sprintf("End of the certificate of run %s, %s", typeface.Plain(s.run.ID), count(s.PageCount(), "page")), s.width-30)
	wide := s.GetStringWidth(words)
	mid := margin + s.width/2
	s.Text(mid-wide/2, y+3, words)
	s.line(frame, 0.25, margin, y+2, mid-wide/2-3, y+2)
	s.line(frame, 0.25, mid+wide/2+3, y+2, margin+s.width, y+2)
	s.SetXY(margin, y+5)
}
