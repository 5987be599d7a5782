package logbook

import (
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"time"

	"modernc.org/sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// The files are performed in the order of their names; the number of a logbook's
// version is how many of them it has seen. One that was ever released is never
// changed.
//
//go:embed migrations/*.sql
var migrations embed.FS

// applicationID stands in the header of every logbook: "pntl".
const applicationID = 0x706e746c

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
	version, err := l.version(l.db)
	if err != nil {
		return err
	}
	if err := l.setMode(); err != nil {
		return err
	}
	if version == len(all) {
		return nil
	}
	tx, err := l.db.Begin()
	if err != nil {
		return err
	}
	// Another process may have done it while this one waited for its turn.
	if version, err = l.version(tx); err == nil {
		err = step(tx, all, version)
	}
	if err != nil {
		return errors.Join(err, tx.Rollback())
	}
	return tx.Commit()
}

// setMode sets the journal's mode, which stays with the file: only now that the file
// is known to be a logbook or empty. While another program changes it SQLite does
// not wait but gives up at once, so this waits in its stead, as long as for anything.
func (l *Logbook) setMode() error {
	const pause, tries = 10 * time.Millisecond, 2000
	var err error
	for range tries {
		_, err = l.db.Exec("PRAGMA journal_mode = WAL")
		var e *sqlite.Error
		if !errors.As(err, &e) || e.Code()&0xFF != sqlite3.SQLITE_BUSY {
			return err
		}
		time.Sleep(pause)
	}
	return err
}

// step performs the migrations that a logbook has not seen.
func step(tx *sql.Tx, all []string, version int) error {
	if version > len(all) {
		return fmt.Errorf("%w: it is of version %d, and this program knows up to %d", ErrNewer, version, len(all))
	}
	for i, script := range all[version:] {
		if _, err := tx.Exec(script); err != nil {
			return fmt.Errorf("bring it to version %d: %w", version+i+1, err)
		}
	}
	_, err := tx.Exec(fmt.Sprintf("PRAGMA application_id = %d; PRAGMA user_version = %d", applicationID, len(all)))
	return err
}

// querier is what a database and a transaction have in common.
type querier interface {
	QueryRow(query string, args ...any) *sql.Row
	Query(query string, args ...any) (*sql.Rows, error)
}

// version gives the logbook's version, 0 for an empty file. Any other SQLite file
// is refused before it is changed.
func (l *Logbook) version(q querier) (int, error) {
	// In one statement, and so of one instant: another program may be making the
	// logbook just now.
	var application, version, tables int
	err := q.QueryRow(`SELECT (SELECT application_id FROM pragma_application_id), (SELECT user_version FROM pragma_user_version),
		(SELECT COUNT(*) FROM sqlite_master)`).Scan(&application, &version, &tables)
	if err != nil {
		return 0, err
	}
	if application != applicationID && (application != 0 || version != 0 || tables != 0) {
		return 0, fmt.Errorf("%w: it is the SQLite file of another program", ErrNotLogbook)
	}
	if version < 0 {
		return 0, fmt.Errorf("%w: its version is %d", ErrNotLogbook, version)
	}
	all, err := scripts()
	if err == nil && version > len(all) {
		return 0, fmt.Errorf("%w: it is of version %d, and this program knows up to %d", ErrNewer, version, len(all))
	}
	return version, err
}

// explain adds what an error of SQLite means for a logbook.
func explain(err error) error {
	var e *sqlite.Error
	if !errors.As(err, &e) {
		return err
	}
	switch e.Code() & 0xFF {
	case sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_CORRUPT:
		return fmt.Errorf("%w: %w", ErrNotLogbook, err)
	case sqlite3.SQLITE_BUSY:
		return fmt.Errorf("another program has kept it busy for too long: %w", err)
	case sqlite3.SQLITE_FULL:
		return fmt.Errorf("there is no room left on the disk: %w", err)
	}
	return err
}
