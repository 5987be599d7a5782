package logbook

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"

	"pintle/reports"
	"pintle/reports/tracefile"
	"pintle/rig/rule"
	"pintle/rig/signal"
	"pintle/rig/wording"
)

// background is the context of what is not given up.
var background = context.Background()

// Check reads the whole logbook: the file's own structure, the digest of every
// text, trace, run and trial, every trace, and every run with its trials. It gives all faults
// found, or nil. It changes nothing.
func (l *Logbook) Check() error {
	err := l.read(func(tx *sql.Tx) error {
		return errors.Join(l.structure(tx), checkReferences(tx), checkTexts(tx), checkTraces(tx), l.checkRuns(tx))
	})
	if err != nil {
		return fmt.Errorf("logbook %s: check: %w", l.name, l.engine.explain(err))
	}
	return nil
}

// structure asks the engine.
func (l *Logbook) structure(q querier) error {
	said, err := l.engine.structure(q)
	errs := []error{err}
	for _, s := range said {
		errs = append(errs, fmt.Errorf("%w: %s", ErrNotLogbook, s))
	}
	return errors.Join(errs...)
}

// references are what each row that refers to another must find, with what to say of
// one that does not.
var references = []string{
	`SELECT 'the trace of trial ' || t.number || ' of ' || t.scenario || ' of run ' || t.run || ' is not there' FROM trials t
		WHERE t.trace IS NOT NULL AND NOT EXISTS (SELECT 1 FROM traces c WHERE c.sha256 = t.trace)`,
	`SELECT 'the run ' || t.run || ' of trial ' || t.number || ' of ' || t.scenario || ' is not there' FROM trials t
		WHERE NOT EXISTS (SELECT 1 FROM runs r WHERE r.id = t.run)`,
	`SELECT 'a text of run ' || x.run || ' is not there' FROM run_texts x
		WHERE NOT EXISTS (SELECT 1 FROM texts c WHERE c.sha256 = x.sha256)`,
	`SELECT 'the run ' || x.run || ' of a text is not there' FROM run_texts x
		WHERE NOT EXISTS (SELECT 1 FROM runs r WHERE r.id = x.run)`,
	`SELECT 'the run ' || c.run || ', which a certificate rests on, is not there' FROM certified c
		WHERE NOT EXISTS (SELECT 1 FROM runs r WHERE r.id = c.run)`,
	`SELECT 'a trace was dropped of run ' || t.run || ', which a certificate rests on' FROM trials t
		WHERE t.dropped <> 0 AND EXISTS (SELECT 1 FROM certified c WHERE c.run = t.run AND c.signed <= t.dropped)`,
}

// checkReferences looks for rows that refer to one that is not there.
func checkReferences(q querier) error {
	var errs []error
	for _, query := range references {
		said, err := texts(q, query)
		errs = append(errs, err)
		for _, s := range said {
			errs = append(errs, fmt.Errorf("%w: %s", ErrNotLogbook, s))
		}
	}
	return errors.Join(errs...)
}

// checkTexts compares the texts with their digests.
func checkTexts(q querier) error {
	rows, err := q.Query(`SELECT sha256, text FROM texts`)
	if err != nil {
		return err
	}
	defer rows.Close()
	var errs []error
	for rows.Next() {
		var sum, text string
		if err := rows.Scan(&sum, &text); err != nil {
			return errors.Join(append(errs, err)...)
		}
		if digest([]byte(text)) != sum {
			errs = append(errs, fmt.Errorf("%w: text %s is not what it was", ErrNotLogbook, sum))
		}
	}
	return errors.Join(append(errs, rows.Err())...)
}

// checkTraces compares the traces with their digests and reads them.
func checkTraces(q querier) error {
	rows, err := q.Query(`SELECT sha256, size, data FROM traces`)
	if err != nil {
		return err
	}
	defer rows.Close()
	var errs []error
	var r tracefile.Reader
	var t signal.Trace
	for rows.Next() {
		var sum string
		var size int64
		var data sql.RawBytes
		if err := rows.Scan(&sum, &size, &data); err != nil {
			return errors.Join(append(errs, err)...)
		}
		if digest(data) != sum || size != int64(len(data)) {
			errs = append(errs, fmt.Errorf("%w: trace %s is not what it was", ErrNotLogbook, sum))
		} else if err := r.Read(bytes.NewReader(data), size, &t); err != nil {
			errs = append(errs, fmt.Errorf("trace %s: %w", sum, err))
		}
	}
	return errors.Join(append(errs, rows.Err())...)
}

// checkRuns reads every run.
func (l *Logbook) checkRuns(q querier) error {
	ids, err := texts(q, `SELECT id FROM runs ORDER BY began, id`)
	errs := []error{err}
	for _, id := range ids {
		run, err := l.run(q, id, nil)
		if err == nil {
			err = errors.Join(checkLookup(q, id, run), checkDigests(q, id, run))
		}
		if err != nil {
			errs = append(errs, fmt.Errorf("run %s: %w", id, err))
		}
	}
	return errors.Join(errs...)
}

// checkDigests holds a run and its trials to the digests that they were entered with, what
// stands beside them to themselves, and their number to what the run was finished with.
func checkDigests(q querier, id string, run *reports.Run) error {
	var s state
	var body, sum string
	var verdict rule.Verdict
	var performed int
	err := q.QueryRow(`SELECT state, verdict, performed, run, sha256 FROM runs WHERE id = $1`, id).Scan(&s, &verdict, &performed, &body, &sum)
	if err != nil {
		return err
	}
	var errs []error
	if digest([]byte(body)) != sum || s == finished && verdict != run.Verdict {
		errs = append(errs, fmt.Errorf("%w: it is not what it was", ErrNotLogbook))
	}
	all, err := trialRows(q, id)
	if err != nil {
		return err
	}
	if s == finished && len(all) != performed {
		errs = append(errs, fmt.Errorf("%w: it has %s, and was finished with %d", ErrNotLogbook, wording.Count(len(all), "trial"), performed))
	}
	for _, t := range all {
		if t.now != t.kept {
			errs = append(errs, fmt.Errorf("%w: trial %d of %s is not what it was", ErrNotLogbook, t.number, t.scenario))
		}
	}
	return errors.Join(errs...)
}

// checkLookup holds what a run is looked up by against the run itself.
func checkLookup(q querier, id string, run *reports.Run) error {
	var job string
	var c reports.Controller
	err := q.QueryRow(`SELECT job, board, serial, firmware, digest FROM runs WHERE id = $1`, id).
		Scan(&job, &c.Board, &c.Serial, &c.Firmware, &c.Digest)
	is := run.Controller
	if err == nil && (job != run.Job || c.Board != is.Board || c.Serial != is.Serial || c.Firmware != is.Firmware || c.Digest != is.Digest) {
		return fmt.Errorf("%w: it is looked up by a job or a controller that is not its own", ErrNotLogbook)
	}
	return err
}
