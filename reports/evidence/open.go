package evidence

import (
	"fmt"
	"io"

	"pintle/reports"
	"pintle/reports/merkle"
)

// A Record is a record or an excerpt that is being read. It may be used by several
// goroutines.
type Record struct {
	u         *unpacker
	head      Head
	text      []byte // head.json
	signature []byte // nil: there is none
	sums      []sum
	first     int   // where entries of sums begin among those of the container
	trials    []int // where each trial is in sums
	run       *reports.Run
	gaps      []Gap
	proof     *proof // of an excerpt
}

// Open reads a record, or an excerpt, of size bytes, as far as it can be checked
// without the trials: the layout to the byte, the names, the digests of the head, the
// run, and whether all trials are there that the run rests on. What the trials and
// their traces hold is checked as they are read, by Trials, At or Check. Nobody has
// signed for anything before Check says so.
func Open(r io.ReaderAt, size int64) (*Record, error) {
	rec := &Record{u: &unpacker{r: r, size: size, names: []string{headName}}}
	if err := rec.open(); err != nil {
		return nil, fmt.Errorf("read a record: %w", err)
	}
	return rec, nil
}

func (rec *Record) open() error {
	if err := rec.readFront(); err != nil {
		return err
	}
	name, err := rec.u.peek()
	if err != nil {
		return err
	}
	if name == runName {
		err = rec.openExcerpt()
	} else {
		err = rec.openWhole()
	}
	if err != nil {
		return err
	}
	return rec.agrees()
}

// readFront reads the head and its signature.
func (rec *Record) readFront() error {
	u := rec.u
	if err := u.tooNew(); err != nil {
		return err
	}
	var err error
	if rec.text, err = u.take(headName); err != nil {
		return err
	}
	if rec.head, err = readHead(rec.text); err != nil {
		return err
	}
	name, err := u.peek()
	if err != nil || name != signName {
		return err
	}
	u.expect(signName)
	if rec.signature, err = u.take(signName); err != nil {
		return err
	}
	return readSignature(rec.head, rec.signature)
}

// tooNew looks at the form alone. Every form to come begins with its head, not
// compressed, whatever else is different.
func (u *unpacker) tooNew() error {
	h, ok, err := u.header(0)
	if err != nil {
		return err
	}
	if !ok {
		return ErrNotRecord
	}
	if h.name != headName || h.method != 0 || h.raw > mostHead {
		return nil // next says what is wrong
	}
	text, err := u.get(int64(len(h.bytes)), int(h.raw))
	if err != nil {
		return err
	}
	return readForm(text)
}

// openWhole reads what only a whole record has.
func (rec *Record) openWhole() error {
	u := rec.u
	u.expect(sumsName)
	text, err := u.take(sumsName)
	if err != nil {
		return err
	}
	if rec.sums, err = readSums(text); err != nil {
		return err
	}
	if err := rec.sumsHold(text); err != nil {
		return err
	}
	for _, s := range rec.sums {
		u.names = append(u.names, s.name)
	}
	u.all, rec.first = true, len(u.entries)
	for _, s := range rec.sums {
		if _, err := u.next(s.name); err != nil {
			return err
		}
	}
	if err := u.end(); err != nil {
		return err
	}
	return rec.readRun()
}

// sumsHold checks SHA256SUMS against the head.
func (rec *Record) sumsHold(text []byte) error {
	switch n := len(rec.sums); {
	case n < rec.head.Leaves:
		return fmt.Errorf("%w: %s has %d lines, and %s counts %d", ErrRemoved, sumsName, n, headName, rec.head.Leaves)
	case n > rec.head.Leaves:
		return fmt.Errorf("%w: %s has %d lines, and %s counts %d", ErrAdded, sumsName, n, headName, rec.head.Leaves)
	}
	if got := digestOf(text); got != rec.head.Sums {
		return fmt.Errorf("%s: %w: its digest is %s, and %s says %s", sumsName, ErrChanged, got, headName, rec.head.Sums)
	}
	if root := merkle.Root(leaves(rec.sums)); root.String() != rec.head.Root {
		return fmt.Errorf("%s: %w: the tree hash of %s is %s, not %s", headName, ErrContradiction, sumsName, root, rec.head.Root)
	}
	return nil
}

// readRun reads the run, whose digest is known.
func (rec *Record) readRun() error {
	text, err := rec.entry(0)
	if err != nil {
		return err
	}
	rec.run = new(reports.Run)
	return decode(runName, text, rec.run)
}

// entry reads an entry by its line, and checks its digest.
func (rec *Record) entry(i int) ([]byte, error) {
	s := rec.sums[i]
	b, err := rec.u.read(rec.u.entries[rec.first+i], nil)
	if err != nil {
		return nil, err
	}
	if digestOf(b) != s.digest {
		return nil, fmt.Errorf("%s: %w", s.name, ErrChanged)
	}
	return b, nil
}

// agrees holds head, run and names against each other.
func (rec *Record) agrees() error {
	h := headOf(rec.run)
	h.Leaves, h.Root, h.Sums = rec.head.Leaves, rec.head.Root, rec.head.Sums
	if h != rec.head {
		return fmt.Errorf("%w: %s says another thing of the run than %s", ErrContradiction, headName, runName)
	}
	numbers := make([][]int, len(rec.run.Scenarios))
	for i, s := range rec.sums[1:] {
		p, err := readPlace(s.name)
		if err != nil {
			return err
		}
		if p.scenario > len(numbers) {
			return fmt.Errorf("%w: %s is of scenario %d, and the run has %d", ErrAdded, s.name, p.scenario, len(numbers))
		}
		if want := word(rec.run.Scenarios[p.scenario-1].Name); p.word != want {
			return fmt.Errorf("%w: %s is where %s of the run should be", ErrContradiction, s.name, want)
		}
		if !p.trace {
			numbers[p.scenario-1] = append(numbers[p.scenario-1], p.trial)
			rec.trials = append(rec.trials, i+1)
		}
	}
	for _, s := range rec.run.Scenarios {
		if s.Trials != nil {
			return fmt.Errorf("%s: %w: there are trials in it", runName, ErrForm)
		}
	}
	if rec.IsExcerpt() {
		return nil
	}
	var err error
	rec.gaps, err = complete(rec.run, numbers)
	return err
}

// Head is what the signature is of.
func (rec *Record) Head() Head { return rec.head }

// HeadText is head.json as it is in the file.
func (rec *Record) HeadText() []byte { return rec.text }

// Signature is the signature as it is in the file, nil where there is none.
func (rec *Record) Signature() []byte { return rec.signature }

// Run is the run without its trials. It is not to be changed.
func (rec *Record) Run() *reports.Run { return rec.run }

// IsExcerpt says that the file shows one trial of a record, without the rest.
func (rec *Record) IsExcerpt() bool { return rec.proof != nil }

// Gaps are the scenarios of which fewer trials were performed than asked for, and
// which the run does not say to be passed. None are told of an excerpt.
func (rec *Record) Gaps() []Gap { return rec.gaps }
