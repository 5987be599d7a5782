package logbook

import (
	"database/sql"
	"errors"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"sync"

	_ "modernc.org/sqlite" // the driver "sqlite"

	"pintle/reports"
)

var (
	// ErrNoRun says that a logbook has no such run, scenario, trial or trace.
	ErrNoRun = errors.New("not in the logbook")
	// ErrAmbiguous says that several runs begin with the letters given.
	ErrAmbiguous = errors.New("more than one run begins so")
	// ErrNotLogbook says that a file is no logbook, or one that is damaged.
	ErrNotLogbook = errors.New("not a logbook, or a damaged one")
	// ErrNewer says that a logbook was written by a newer program.
	ErrNewer = errors.New("the logbook was written by a newer program")
)

// A Logbook is an open logbook. It is safe for use by many goroutines.
type Logbook struct {
	path string
	db   *sql.DB

	// writing is held while this process writes. SQLite would keep writers apart as
	// well, but by looking again after a while.
	writing sync.Mutex

	mu        sync.Mutex
	alive     *alive // from the first Begin on
	open      int    // runs begun here and not finished
	recovered []string
}

var _ reports.TraceSource = (*Logbook)(nil)

// pragmas are set on every connection.
var pragmas = []string{
	"busy_timeout(20000)", "synchronous(FULL)", "foreign_keys(1)",
}

// Open opens the logbook at a path, makes it where there is none, brings one of an
// older version up to date, and marks void the runs whose program is gone.
func Open(path string) (*Logbook, error) {
	l, err := open(path)
	if err != nil {
		return nil, fmt.Errorf("logbook %s: %w", path, explain(err))
	}
	return l, nil
}

func open(path string) (*Logbook, error) {
	full, err := filepath.Abs(path)
	if err != nil {
		return nil, err
	}
	if info, err := os.Stat(full); err == nil && info.IsDir() {
		return nil, fmt.Errorf("%w: it is a folder", ErrNotLogbook)
	}
	if _, err := os.Stat(filepath.Dir(full)); err != nil {
		return nil, err
	}
	db, err := sql.Open("sqlite", address(full))
	if err != nil {
		return nil, err
	}
	l := &Logbook{path: full, db: db}
	if err := l.migrate(); err != nil {
		return nil, errors.Join(err, db.Close())
	}
	if _, err := l.Recover(); err != nil {
		return nil, errors.Join(err, db.Close())
	}
	return l, nil
}

// address is the driver's name for a file.
func address(path string) string {
	u := url.URL{Scheme: "file", OmitHost: true, Path: filepath.ToSlash(path)}
	q := url.Values{"_pragma": pragmas, "_txlock": {"immediate"}}
	return u.String() + "?" + q.Encode()
}

// Close closes the logbook. Runs that were begun here and not finished are then
// without a program, and the next to open the logbook marks them void.
func (l *Logbook) Close() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	err := l.db.Close()
	if l.alive != nil {
		err = errors.Join(err, l.alive.release(l.open > 0))
		l.alive = nil
	}
	if err != nil {
		return fmt.Errorf("logbook %s: close: %w", l.path, err)
	}
	return nil
}

// tx performs a function in one writing transaction, which is on the disk when tx
// returns nil.
func (l *Logbook) tx(what string, do func(*sql.Tx) error) error {
	err := func() error {
		l.writing.Lock()
		defer l.writing.Unlock()
		tx, err := l.db.Begin()
		if err != nil {
			return err
		}
		if err := do(tx); err != nil {
			return errors.Join(err, tx.Rollback())
		}
		return tx.Commit()
	}()
	if err != nil {
		return fmt.Errorf("logbook %s: %s: %w", l.path, what, explain(err))
	}
	return nil
}
