package certificate

import (
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"io"

	"pintle/reports"
	"pintle/reports/account"
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
	s.digest, s.traces = digest, traces
	s.front()
	s.results()
	s.details()
	s.charts()
	s.doubts()
	s.close()
	s.end()
	s.furnish()
	if err := s.Output(w); err != nil {
		return fmt.Errorf("certificate of run %s: %w", run.ID, err)
	}
	return nil
}

// identify is the ID of a certificate: that of its run, and where it is an amended
// one, a mark of what it amends, so that no two have the same.
func identify(run *reports.Run, o Options) string {
	if o.Replaces == "" && o.Because == "" {
		return run.ID
	}
	sum := sha256.Sum256([]byte(o.Replaces + "\x00" + o.Because))
	return run.ID + "-amended-" + hex.EncodeToString(sum[:4])
}

// briefest is how far page one can be shortened, so that who signs sees what for: first
// the decision rule goes to the last page, then what the bench can tell to the next, then
// fewer are named of what did not pass.
const (
	briefRule = iota + 1
	briefBench
	briefest
)

// front is page one: the verdict and what it covers, who and what it is of, and room
// to sign. What room is left goes to the claims that most deserve a look.
func (s *sheet) front() {
	s.turn()
	s.Bookmark("The run", 0, 0)
	s.title()
	s.rehearsal()
	s.verdict()
	closing := func() { s.warning(); s.signatures() }
	room := s.measure(closing) + 2
	facts := func() { s.open(); s.identity() }
	for s.brevity = 0; s.brevity < briefest && s.measure(facts)+room > s.left(); {
		s.brevity++
	}
	facts()
	s.need(room)
	s.excerptIn(room)
	if spare := s.left() - room; spare > 0 {
		s.down(spare)
	}
	closing()
}

// excerptIn fills the room that page one has left with the gravest and tightest claims.
func (s *sheet) excerptIn(room float64) {
	order := s.claimsByConcern()
	for n := min(len(order), 12); n > 0; n-- {
		some := func() { s.claimTable(order[:n], false) }
		if s.measure(some)+room+2 <= s.left() {
			some()
			s.claimsDone = n == len(order)
			return
		}
	}
}

// results are the tables: each claim, what the bench can tell, and each scenario.
func (s *sheet) results() {
	s.turn()
	s.Bookmark("Results", 0, 0)
	if !s.claimsDone {
		s.claims()
	}
	s.overview()
	s.capability()
}

// end marks the end of the document. It needs no more than the edge of a page, so
// that it never stands on one alone.
func (s *sheet) end() {
	s.down(max(0, min(4, s.left()-4)))
	y := s.GetY()
	s.text("", 8, faint)
	words := s.clip(fmt.Sprintf("End of certificate %s, %s", typeface.Plain(s.id), account.Count(s.PageCount(), "page")), s.width-30)
	wide := s.GetStringWidth(words)
	mid := margin + s.width/2
	s.Text(mid-wide/2, y+3, words)
	s.line(frame, 0.25, margin, y+2, mid-wide/2-3, y+2)
	s.line(frame, 0.25, mid+wide/2+3, y+2, margin+s.width, y+2)
	s.SetXY(margin, y+5)
}
