package evidence

import (
	"fmt"
	"iter"

	"pintle/reports"
)

// A Performed is a trial with its trace.
type Performed struct {
	Scenario string
	Index    int // of the scenario in the run
	Trial    *reports.Trial
	Trace    []byte // the Parquet file; nil where the trial left none
}

// Len is the number of trials.
func (rec *Record) Len() int { return len(rec.trials) }

// At reads trial i, counted from 0 over all scenarios, and checks it: its digest, its
// form, its number and its trace. It may be called by several goroutines.
func (rec *Record) At(i int) (Performed, error) { return rec.Into(i, nil) }

// Into is At with the trace in the memory that is given, where that has room for it.
func (rec *Record) Into(i int, memory []byte) (Performed, error) {
	p, err := rec.at(i, memory)
	if err != nil {
		return Performed{}, fmt.Errorf("read a record: %w", err)
	}
	return p, nil
}

func (rec *Record) at(i int, memory []byte) (Performed, error) {
	line := rec.trials[i]
	at, err := readPlace(rec.sums[line].name)
	if err != nil {
		return Performed{}, err
	}
	text, err := rec.entry(line)
	if err != nil {
		return Performed{}, err
	}
	p := Performed{Scenario: rec.run.Scenarios[at.scenario-1].Name, Index: at.scenario - 1, Trial: new(reports.Trial)}
	if err := decode(at.name(), text, p.Trial); err != nil {
		return Performed{}, err
	}
	if p.Trial.Number != at.trial {
		return Performed{}, fmt.Errorf("%s: %w: it is trial %d", at.name(), ErrReordered, p.Trial.Number)
	}
	p.Trace, err = rec.trace(line, p.Trial, memory)
	return p, err
}

// trace reads the trace of the trial on a line.
func (rec *Record) trace(line int, t *reports.Trial, memory []byte) ([]byte, error) {
	var own place
	if line+1 < len(rec.sums) {
		own, _ = readPlace(rec.sums[line+1].name)
	}
	switch {
	case !own.trace && t.Trace == "":
		return nil, nil
	case !own.trace:
		return nil, fmt.Errorf("%s: %w: its trace", rec.sums[line].name, ErrRemoved)
	case t.Trace == "":
		return nil, fmt.Errorf("%s: %w: its trial left no trace", rec.sums[line+1].name, ErrAdded)
	}
	b, err := rec.u.read(rec.u.entries[rec.first+line+1], memory)
	if err != nil {
		return nil, err
	}
	if got := digestOf(b); got != t.Trace {
		return nil, rec.otherTrace(line+1, got)
	}
	if t.Trace != rec.sums[line+1].digest {
		return nil, fmt.Errorf("%s: %w", rec.sums[line+1].name, ErrChanged)
	}
	return b, nil
}

// otherTrace tells a trace put in another's place from one that was changed.
func (rec *Record) otherTrace(line int, got string) error {
	for _, s := range rec.sums {
		if s.digest == got {
			return fmt.Errorf("%s: %w", rec.sums[line].name, ErrSwapped)
		}
	}
	return fmt.Errorf("%s: %w", rec.sums[line].name, ErrChanged)
}

// Trials reads all trials in their order, one at a time, each checked as At does. It
// ends at the first that is not as it should be.
func (rec *Record) Trials() iter.Seq2[Performed, error] {
	return func(yield func(Performed, error) bool) {
		for i := range rec.trials {
			p, err := rec.At(i)
			if !yield(p, err) || err != nil {
				return
			}
		}
	}
}

// Check reads everything, and verifies the signature first. With no verifier it says
// nothing of who made the record, only that it is whole and agrees with itself.
func (rec *Record) Check(verify Verifier) error {
	if verify != nil {
		if err := rec.Verify(verify); err != nil {
			return err
		}
	}
	for _, err := range rec.Trials() {
		if err != nil {
			return err
		}
	}
	return nil
}

// Verify verifies the signature alone. What it covers stands once Open and each trial
// have been read without an error.
func (rec *Record) Verify(verify Verifier) error {
	if rec.signature == nil {
		return fmt.Errorf("verify run %s: %w", rec.head.Run, ErrUnsigned)
	}
	if err := verify(rec.text, rec.signature); err != nil {
		return fmt.Errorf("verify run %s: %w", rec.head.Run, asSignature(err))
	}
	return nil
}
