package logbook

import (
	"bytes"
	"context"
	"database/sql"
	"errors"
	"fmt"

	"pintle/reports/tracefile"
	"pintle/rig/signal"
)

// background is the context of what is not given up.
var background = context.Background()

// Check reads the whole logbook: the file's own structure, the digest of every
// text and trace, every trace, and every run with its trials. It gives all faults
// found, or nil. It changes nothing.
func (l *Logbook) Check() error {
	err := l.read(func(tx *sql.Tx) error {
		return errors.Join(structure(tx), checkTexts(tx), checkTraces(tx), l.checkRuns(tx))
	})
	if err != nil {
		return fmt.Errorf("logbook %s: check: %w", l.path, explain(err))
	}
	return nil
}

// structure asks SQLite.
func structure(q querier) error {
	var errs []error
	said, err := texts(q, "PRAGMA integrity_check")
	if err != nil {
		return err
	}
	for _, s := range said {
		if s != "ok" {
			errs = append(errs, fmt.Errorf("%w: %s", ErrNotLogbook, s))
		}
	}
	lost, err := texts(q, `SELECT "table" || ' refers to a row of ' || parent || ' that is not there' FROM pragma_foreign_key_check`)
	if err != nil {
		return errors.Join(append(errs, err)...)
	}
	for _, s := range lost {
		errs = append(errs, fmt.Errorf("%w: %s", ErrNotLogbook, s))
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
		if _, err := l.run(q, id); err != nil {
			errs = append(errs, fmt.Errorf("run %s: %w", id, err))
		}
	}
	lone, err := texts(q, `SELECT scenario || ' trial ' || number || ' of run ' || run FROM trials
		WHERE NOT EXISTS (SELECT 1 FROM runs WHERE runs.id = trials.run)`)
	errs = append(errs, err)
	for _, s := range lone {
		errs = append(errs, fmt.Errorf("%w: %s has no run", ErrNotLogbook, s))
	}
	return errors.Join(errs...)
}
