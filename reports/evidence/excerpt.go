package evidence

import (
	"fmt"
	"io"

	"pintle/reports/merkle"
	"pintle/reports/record"
)

// A proof shows that entries are of a record without the others.
type proof struct {
	Entries []inclusion `json:"entries"`
}

// An inclusion is the way from one entry to the tree hash.
type inclusion struct {
	Leaf int      `json:"leaf"` // from 0
	Name string   `json:"name"`
	Path []string `json:"path"` // hexadecimal, the nearest first
}

// Excerpt writes one trial out of a whole record: the same head and signature, the
// run, the trial, and the proof that both are of that record. It checks what it
// copies, but the signature.
func Excerpt(w io.Writer, rec *Record, scenario string, trial int) error {
	if err := excerpt(w, rec, scenario, trial); err != nil {
		return fmt.Errorf("excerpt of %s trial %d from run %s: %w", scenario, trial, rec.head.Run, err)
	}
	return nil
}

func excerpt(w io.Writer, rec *Record, scenario string, trial int) error {
	if rec.IsExcerpt() {
		return fmt.Errorf("%w: it is an excerpt itself", ErrNoTrial)
	}
	i, err := rec.find(scenario, trial)
	if err != nil {
		return err
	}
	performed, err := rec.at(i, nil)
	if err != nil {
		return err
	}
	lines := []int{0, rec.trials[i]}
	if performed.Trace != nil {
		lines = append(lines, rec.trials[i]+1)
	}
	p := &packer{w: w}
	if err := p.add(headName, rec.text); err != nil {
		return err
	}
	if rec.signature != nil {
		if err := p.add(signName, rec.signature); err != nil {
			return err
		}
	}
	for _, line := range lines {
		b, err := rec.entry(line)
		if err != nil {
			return err
		}
		if err := p.add(rec.sums[line].name, b); err != nil {
			return err
		}
	}
	text, err := rec.prove(lines)
	if err != nil {
		return err
	}
	if err := p.add(proofName, text); err != nil {
		return err
	}
	return p.close()
}

// find gives the index of a trial.
func (rec *Record) find(scenario string, trial int) (int, error) {
	for i, line := range rec.trials {
		at, err := readPlace(rec.sums[line].name)
		if err == nil && at.trial == trial && rec.run.Scenarios[at.scenario-1].Name == scenario {
			return i, nil
		}
	}
	return 0, ErrNoTrial
}

// prove writes proof.json for some lines.
func (rec *Record) prove(lines []int) ([]byte, error) {
	all := leaves(rec.sums)
	var p proof
	for _, line := range lines {
		path, err := merkle.Path(all, line)
		if err != nil {
			return nil, err
		}
		in := inclusion{Leaf: line, Name: rec.sums[line].name, Path: []string{}}
		for _, h := range path {
			in.Path = append(in.Path, h.String())
		}
		p.Entries = append(p.Entries, in)
	}
	return record.Value(p)
}

// openExcerpt reads what only an excerpt has. Its lines are those that its own
// entries come to; the proof then has to lead from each to the tree hash.
func (rec *Record) openExcerpt() error {
	u := rec.u
	rec.proof, rec.first = new(proof), len(u.entries)
	if err := rec.excerptEntries(); err != nil {
		return err
	}
	text, err := u.take(proofName)
	if err != nil {
		return err
	}
	if err := u.end(); err != nil {
		return err
	}
	if err := decode(proofName, text, rec.proof); err != nil {
		return err
	}
	if err := rec.proven(); err != nil {
		return err
	}
	return rec.readRun()
}

// excerptEntries reads the entries of an excerpt into lines: the run, one trial, and
// that trial's trace where there is one.
func (rec *Record) excerptEntries() error {
	u := rec.u
	u.expect(runName, proofName)
	var last place
	for name := runName; ; {
		b, err := u.take(name)
		if err != nil {
			return err
		}
		rec.sums = append(rec.sums, sum{digestOf(b), name})
		if name, err = u.peek(); err != nil {
			return err
		}
		if name == proofName || last.trace || last.trial > 0 && !sameTrial(last, name) {
			break
		}
		if last, err = readPlace(name); err != nil {
			return u.differs()
		}
		u.expect(name)
	}
	if u.all = true; last.trial == 0 {
		return fmt.Errorf("%w: the trial of the excerpt", ErrRemoved)
	}
	return inOrder(rec.sums)
}

// sameTrial says that a name is that of the trace of a trial.
func sameTrial(of place, name string) bool {
	of.trace = true
	return of.name() == name
}

// proven checks the way from each entry to the tree hash.
func (rec *Record) proven() error {
	root, err := merkle.Parse(rec.head.Root)
	if err != nil {
		return err
	}
	if len(rec.proof.Entries) != len(rec.sums) {
		return fmt.Errorf("%s: %w: it is of %d entries, and there are %d", proofName, ErrContradiction, len(rec.proof.Entries), len(rec.sums))
	}
	for i, in := range rec.proof.Entries {
		if in.Name != rec.sums[i].name {
			return fmt.Errorf("%s: %w: it is of %q where %s is", proofName, ErrContradiction, clip(in.Name), rec.sums[i].name)
		}
		path, err := in.hashes()
		if err != nil {
			return err
		}
		if !merkle.Included(merkle.Leaf([]byte(rec.sums[i].line())), in.Leaf, rec.head.Leaves, path, root) {
			return fmt.Errorf("%s: %w, or its proof was: it does not lead to the tree hash in %s", in.Name, ErrChanged, headName)
		}
	}
	return nil
}

// hashes reads a path.
func (in inclusion) hashes() ([]merkle.Hash, error) {
	var path []merkle.Hash
	for _, text := range in.Path {
		h, err := merkle.Parse(text)
		if err != nil {
			return nil, fmt.Errorf("%s: %w: %w", proofName, ErrForm, err)
		}
		path = append(path, h)
	}
	return path, nil
}
