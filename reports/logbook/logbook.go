package logbook

import (
	"database/sql"
	"errors"
	"fmt"
	"sync"

	"pintle/reports"
)

var (
	// ErrNoRun says that a logbook has no such run, scenario, trial or trace.
	ErrNoRun = errors.New("not in the logbook")
	// ErrAmbiguous says that several runs begin with the letters given.
	ErrAmbiguous = errors.New("more than one run begins so")
	// ErrTaken says that a run cannot have the name that it was to have.
	ErrTaken = errors.New("there is a run of that name already")
	// ErrUnreachable says that the server of a database gave no session.
	ErrUnreachable = errors.New("the server cannot be reached, or lets nobody in")
	// ErrNotLogbook says that a file is no logbook, or one that is damaged.
	ErrNotLogbook = errors.New("not a logbook, or a damaged one")
	// ErrNewer says that a logbook was written by a newer program.
	ErrNewer = errors.New("the logbook was written by a newer program")
	// ErrDropped says that a trace was dropped on purpose, to make room.
	ErrDropped = errors.New("the trace was dropped from the logbook; findings and verdicts stay")
)

// A Logbook is an open logbook. It is safe for use by many goroutines.
type Logbook struct {
	path   string // or address, as it was opened
	name   string // the same for people: without a password
	db     *sql.DB
	engine engine

	writing sync.Mutex // held while this process writes, where the engine wants that

	mu        sync.Mutex
	open      int // runs begun here and not finished
	recovered []string
}

var _ reports.TraceSource = (*Logbook)(nil)

// Open opens the logbook at a path or at the address of a PostgreSQL database, makes
// it where there is none, brings one of an older version up to date, and marks void
// the runs whose program is gone.
func Open(path string) (*Logbook, error) {
	l, err := open(path)
	if err != nil {
		return nil, err
	}
	if err = l.migrate(); err == nil {
		_, err = l.Recover()
	}
	if err != nil {
		return nil, errors.Join(fmt.Errorf("logbook %s: %w", l.name, l.engine.explain(err)), l.db.Close())
	}
	return l, nil
}

// open opens what is there as it is.
func open(path string) (*Logbook, error) {
	if IsAddress(path) {
		s, err := openServer(path)
		if err != nil {
			return nil, fmt.Errorf("logbook %s: %w", Name(path), err)
		}
		return &Logbook{path: path, name: Name(path), db: s.db, engine: s}, nil
	}
	f, err := openFile(path)
	if err != nil {
		return nil, fmt.Errorf("logbook %s: %w", path, err)
	}
	return &Logbook{path: f.path, name: f.path, db: f.db, engine: f}, nil
}

// Close closes the logbook. Runs that were begun here and not finished are then
// without a program, and the next to open the logbook marks them void.
func (l *Logbook) Close() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	err := l.engine.release(l.open > 0)
	if err = errors.Join(err, l.db.Close()); err != nil {
		return fmt.Errorf("logbook %s: close: %w", l.name, err)
	}
	return nil
}

// tx performs a function in one writing transaction, which is on the disk when tx
// returns nil.
func (l *Logbook) tx(what string, do func(*sql.Tx) error) error {
	err := func() error {
		if l.engine.dialect().serial {
			l.writing.Lock()
			defer l.writing.Unlock()
		}
		tx, err := l.engine.begin(false)
		if err != nil {
			return err
		}
		if err := do(tx); err != nil {
			return errors.Join(err, tx.Rollback())
		}
		return tx.Commit()
	}()
	if err != nil {
		return fmt.Errorf("logbook %s: %s: %w", l.name, what, l.engine.explain(err))
	}
	return nil
}
