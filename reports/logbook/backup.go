package logbook

import (
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"pintle/rig/atomicfile"
)

// Backup writes all that is in the logbook at one instant into a new file, which is a
// logbook itself: SQLite, wherever this one is kept. Runs may go on meanwhile. The
// copy was read in full and found good before it has its name; a file that is there
// already is left as it is.
func (l *Logbook) Backup(path string) error {
	if err := l.backup(path); err != nil {
		return fmt.Errorf("logbook %s: back up to %s: %w", l.name, path, l.engine.explain(err))
	}
	return nil
}

func (l *Logbook) backup(path string) (err error) {
	if _, err := os.Lstat(path); !errors.Is(err, fs.ErrNotExist) {
		return errors.Join(fs.ErrExist, err)
	}
	part, err := os.CreateTemp(filepath.Dir(path), atomicfile.Prefix+"*"+atomicfile.Suffix)
	if err != nil {
		return err
	}
	defer os.Remove(part.Name())
	if err := part.Close(); err != nil {
		return err
	}
	if err := l.copyTo(part.Name()); err != nil {
		return err
	}
	if err := vet(part.Name()); err != nil {
		return fmt.Errorf("the copy is not good: %w", err)
	}
	return settleFile(part.Name(), path)
}

// vet checks a copy without changing it.
func vet(path string) error {
	c, err := open(path)
	if err != nil {
		return err
	}
	return errors.Join(c.Check(), c.db.Close())
}

// settleFile puts a finished file on the disk under a name that is free.
func settleFile(part, path string) error {
	f, err := os.OpenFile(part, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	if err := errors.Join(f.Sync(), f.Close()); err != nil {
		return err
	}
	// A link never takes another's place; not every disk has them.
	if err := os.Link(part, path); errors.Is(err, fs.ErrExist) {
		return err
	} else if err != nil {
		if err := os.Rename(part, path); err != nil {
			return err
		}
	}
	return atomicfile.SyncDir(filepath.Dir(path))
}

// copyTo copies all into an empty file.
func (l *Logbook) copyTo(path string) error {
	if !IsAddress(l.path) {
		_, err := l.db.Exec(`VACUUM INTO $1`, path)
		return err
	}
	c, err := open(path)
	if err != nil {
		return err
	}
	if err = c.migrate(); err == nil {
		err = l.read(func(from *sql.Tx) error {
			return c.tx("copy", func(to *sql.Tx) error { return copyTables(from, to) })
		})
	}
	return errors.Join(err, c.db.Close())
}

// tables are all that a logbook has, each after those that it refers to.
var tables = []struct{ name, columns string }{
	{"texts", "sha256, text"},
	{"traces", "sha256, size, data"},
	{"runs", "id, began, ended, state, alive, verdict, reason, run, job, board, serial, firmware, digest, entered, sha256, performed"},
	{"run_texts", "run, sha256"},
	{"trials", "run, scenario, number, verdict, trace, trial, dropped, sha256"},
	{"certified", "run, signed, root, file"},
}

func copyTables(from, to *sql.Tx) error {
	for _, t := range tables {
		if err := copyRows(from, to, t.name, t.columns); err != nil {
			return fmt.Errorf("copy %s: %w", t.name, err)
		}
	}
	return nil
}

func copyRows(from, to *sql.Tx, table, columns string) error {
	n := strings.Count(columns, ",") + 1
	values, places, marks := make([]any, n), make([]any, n), make([]string, n)
	for i := range values {
		places[i], marks[i] = &values[i], fmt.Sprintf("$%d", i+1)
	}
	rows, err := from.Query("SELECT " + columns + " FROM " + table)
	if err != nil {
		return err
	}
	defer rows.Close()
	put, err := to.Prepare("INSERT INTO " + table + " (" + columns + ") VALUES (" + strings.Join(marks, ", ") + ")")
	if err != nil {
		return err
	}
	defer put.Close()
	for rows.Next() {
		if err := rows.Scan(places...); err != nil {
			return err
		}
		if _, err := put.Exec(values...); err != nil {
			return err
		}
	}
	return rows.Err()
}
