package evidence

import (
	"fmt"
	"io"

	"pintle/reports"
	"pintle/reports/record"
)

// Traces gives the trace of a trial as the Parquet file that its digest is of.
type Traces interface {
	TraceFile(run, scenario string, trial int) ([]byte, error)
}

// Write writes the record of a run. The same run and key give the same bytes.
//
// It goes through the traces once, and holds one of them at a time: what goes before
// them in the file needs their digests only, which the trials have. Each trial is
// turned into JSON twice instead. sign is nil for a record without a signature.
// After an error what was written is of no use.
func Write(w io.Writer, run *reports.Run, traces Traces, sign Signer) (Head, error) {
	h, err := write(w, run, traces, sign)
	if err != nil {
		return Head{}, fmt.Errorf("write the record of run %s: %w", run.ID, err)
	}
	return h, nil
}

func write(w io.Writer, run *reports.Run, traces Traces, sign Signer) (Head, error) {
	if err := fit(run); err != nil {
		return Head{}, err
	}
	bare, err := record.Value(without(run))
	if err != nil {
		return Head{}, err
	}
	sums, err := summed(run, bare)
	if err != nil {
		return Head{}, err
	}
	p := &packer{w: w}
	h, err := begin(p, run, sums, sign)
	if err != nil {
		return Head{}, err
	}
	if err := p.add(runName, bare); err != nil {
		return Head{}, err
	}
	if err := eachTrial(run, func(s *reports.Scenario, t *reports.Trial, at place) error {
		return addTrial(p, run.ID, s.Name, t, at, traces)
	}); err != nil {
		return Head{}, err
	}
	return h, p.close()
}

// fit refuses a run that the reader would refuse.
func fit(run *reports.Run) error {
	numbers := make([][]int, len(run.Scenarios))
	for i := range run.Scenarios {
		for _, t := range run.Scenarios[i].Trials {
			numbers[i] = append(numbers[i], t.Number)
		}
	}
	_, err := complete(run, numbers)
	return err
}

// without is a run without its trials.
func without(run *reports.Run) *reports.Run {
	bare := *run
	bare.Scenarios = make([]reports.Scenario, len(run.Scenarios))
	for i, s := range run.Scenarios {
		s.Trials = nil
		bare.Scenarios[i] = s
	}
	if run.Scenarios == nil {
		bare.Scenarios = nil
	}
	return &bare
}

// eachTrial goes through all trials with their places.
func eachTrial(run *reports.Run, do func(s *reports.Scenario, t *reports.Trial, at place) error) error {
	for i := range run.Scenarios {
		s := &run.Scenarios[i]
		for j := range s.Trials {
			t := &s.Trials[j]
			if err := do(s, t, place{scenario: i + 1, word: word(s.Name), trial: t.Number}); err != nil {
				return fmt.Errorf("%s trial %d: %w", s.Name, t.Number, err)
			}
		}
	}
	return nil
}

// summed gives the lines of SHA256SUMS.
func summed(run *reports.Run, bare []byte) ([]sum, error) {
	sums := []sum{{digestOf(bare), runName}}
	err := eachTrial(run, func(_ *reports.Scenario, t *reports.Trial, at place) error {
		text, err := record.Value(t)
		if err != nil {
			return err
		}
		sums = append(sums, sum{digestOf(text), at.name()})
		if t.Trace != "" {
			at.trace = true
			sums = append(sums, sum{t.Trace, at.name()})
		}
		return nil
	})
	return sums, err
}

// begin writes what goes before the run.
func begin(p *packer, run *reports.Run, sums []sum, sign Signer) (Head, error) {
	text, root := total(sums)
	h := headOf(run)
	h.Leaves, h.Root, h.Sums = len(sums), root.String(), digestOf(text)
	head, err := record.Value(h)
	if err != nil {
		return h, err
	}
	if err := p.add(headName, head); err != nil {
		return h, err
	}
	if sign != nil {
		signature, err := sign(head, h.Comment())
		if err != nil {
			return h, fmt.Errorf("sign it: %w", err)
		}
		if err := readSignature(h, signature); err != nil {
			return h, err
		}
		if err := p.add(signName, signature); err != nil {
			return h, err
		}
	}
	return h, p.add(sumsName, text)
}

// addTrial writes a trial and its trace.
func addTrial(p *packer, run, scenario string, t *reports.Trial, at place, traces Traces) error {
	text, err := record.Value(t)
	if err != nil {
		return err
	}
	if err := p.add(at.name(), text); err != nil {
		return err
	}
	if t.Trace == "" {
		return nil
	}
	trace, err := traces.TraceFile(run, scenario, t.Number)
	if err != nil {
		return err
	}
	if got := digestOf(trace); got != t.Trace {
		return fmt.Errorf("%w: it should have the digest %s, and has %s", ErrSwapped, t.Trace, got)
	}
	at.trace = true
	return p.add(at.name(), trace)
}
