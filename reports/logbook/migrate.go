package logbook

import (
	"database/sql"
	"embed"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"

	"pintle/reports"
)

// The files are performed in the order of their names; the number of a logbook's
// version is how many of them it has seen. One that was ever released is never
// changed.
//
//go:embed migrations/*.sql
var migrations embed.FS

// fills put into new columns what SQL alone cannot, by the version that has them.
var fills = map[int]func(*sql.Tx) error{2: fillLookup, 4: fillDigests}

// scripts gives the migrations in their order.
func scripts() ([]string, error) {
	names, err := fs.Glob(migrations, "migrations/*.sql") // sorted by name
	if err != nil {
		return nil, err
	}
	var all []string
	for _, name := range names {
		b, err := migrations.ReadFile(name)
		if err != nil {
			return nil, err
		}
		all = append(all, string(b))
	}
	return all, nil
}

// migrate brings the logbook to the version that this program knows.
func (l *Logbook) migrate() error {
	all, err := scripts()
	if err != nil {
		return err
	}
	version, err := l.version(l.db, len(all))
	if err != nil {
		return err
	}
	if err := l.engine.prepare(); err != nil {
		return err
	}
	if version == len(all) {
		return nil
	}
	tx, err := l.engine.begin(true)
	if err != nil {
		return err
	}
	// Another process may have done it while this one waited for its turn.
	if version, err = l.version(tx, len(all)); err == nil {
		err = step(l.engine, tx, all, version)
	}
	if err != nil {
		return errors.Join(err, tx.Rollback())
	}
	return tx.Commit()
}

// version gives the logbook's version, if it is not above the one that is known.
func (l *Logbook) version(q querier, known int) (int, error) {
	version, err := l.engine.version(q)
	if err == nil && version > known {
		return 0, fmt.Errorf("%w: it is of version %d, and this program knows up to %d", ErrNewer, version, known)
	}
	return version, err
}

// step performs the migrations that a logbook has not seen.
func step(e engine, tx *sql.Tx, all []string, version int) error {
	for i := version; i < len(all); i++ {
		_, err := tx.Exec(e.script(all[i]))
		if fill := fills[i+1]; err == nil && fill != nil {
			err = fill(tx)
		}
		if err != nil {
			return fmt.Errorf("bring it to version %d: %w", i+1, err)
		}
	}
	return e.setVersion(tx, len(all))
}

// fillLookup fills in what runs are looked up by. A run that cannot be read keeps no
// other from being read: Check tells of it.
func fillLookup(tx *sql.Tx) error {
	ids, err := texts(tx, `SELECT id FROM runs`)
	if err != nil {
		return err
	}
	for _, id := range ids {
		var body string
		if err := tx.QueryRow(`SELECT run FROM runs WHERE id = $1`, id).Scan(&body); err != nil {
			return err
		}
		var run reports.Run
		if json.Unmarshal([]byte(body), &run) != nil {
			continue
		}
		if err := putLookup(tx, id, &run); err != nil {
			return err
		}
	}
	return nil
}

// fillDigests fills in the digests of what is there: from then on it is known whether that
// was changed.
func fillDigests(tx *sql.Tx) error {
	ids, err := texts(tx, `SELECT id FROM runs`)
	if err != nil {
		return err
	}
	for _, id := range ids {
		var body string
		if err := tx.QueryRow(`SELECT run FROM runs WHERE id = $1`, id).Scan(&body); err != nil {
			return err
		}
		if _, err := tx.Exec(`UPDATE runs SET sha256 = $1, performed = (SELECT COUNT(*) FROM trials t WHERE t.run = runs.id) WHERE id = $2`,
			digest([]byte(body)), id); err != nil {
			return err
		}
		if err := fillTrials(tx, id); err != nil {
			return err
		}
	}
	return nil
}

// fillTrials fills in the digests of a run's trials.
func fillTrials(tx *sql.Tx, run string) error {
	all, err := trialRows(tx, run)
	if err != nil {
		return err
	}
	for _, t := range all {
		if _, err := tx.Exec(`UPDATE trials SET sha256 = $1 WHERE run = $2 AND scenario = $3 AND number = $4`, t.now, run, t.scenario, t.number); err != nil {
			return err
		}
	}
	return nil
}

// A trialRow is which trial it is, and what digests its JSON has and should have.
type trialRow struct {
	scenario  string
	number    int64
	now, kept string
}

// trialRows reads the trials of a run, of each its digest alone.
func trialRows(q querier, run string) ([]trialRow, error) {
	rows, err := q.Query(`SELECT scenario, number, trial, sha256 FROM trials WHERE run = $1 ORDER BY scenario, number`, run)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var all []trialRow
	for rows.Next() {
		var t trialRow
		var body string
		if err := rows.Scan(&t.scenario, &t.number, &body, &t.kept); err != nil {
			return nil, err
		}
		t.now = digest([]byte(body))
		all = append(all, t)
	}
	return all, rows.Err()
}

// putLookup puts beside a run what it is looked up by.
func putLookup(tx *sql.Tx, id string, run *reports.Run) error {
	c := run.Controller
	_, err := tx.Exec(`UPDATE runs SET job = $1, board = $2, serial = $3, firmware = $4, digest = $5 WHERE id = $6`,
		run.Job, c.Board, c.Serial, c.Firmware, c.Digest, id)
	return err
}
