package logbook

import (
	"database/sql"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"os"
	"path/filepath"
	"time"

	"modernc.org/sqlite" // the driver "sqlite"
	sqlite3 "modernc.org/sqlite/lib"
)

// applicationID stands in the header of every logbook: "pntl".
const applicationID = 0x706e746c

// pragmas are set on every connection.
var pragmas = []string{
	"busy_timeout(20000)", "synchronous(FULL)", "foreign_keys(1)",
}

// A file is the engine of a logbook in one SQLite file.
type file struct {
	path  string
	db    *sql.DB
	alive *alive // from the first live on
}

var _ engine = (*file)(nil)

// openFile opens a SQLite file, which need not be there yet.
func openFile(path string) (*file, error) {
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
	db, err := sql.Open("sqlite", fileAddress(full))
	if err != nil {
		return nil, err
	}
	return &file{path: full, db: db}, nil
}

// fileAddress is the driver's name for a file.
func fileAddress(path string) string {
	u := url.URL{Scheme: "file", OmitHost: true, Path: filepath.ToSlash(path)}
	q := url.Values{"_pragma": pragmas, "_txlock": {"immediate"}}
	return u.String() + "?" + q.Encode()
}

// prepare sets the journal's mode, which stays with the file. While another program
// changes it SQLite does not wait but gives up at once, so this waits in its stead, as
// long as for anything.
func (f *file) prepare() error {
	const pause, tries = 10 * time.Millisecond, 2000
	var err error
	for range tries {
		_, err = f.db.Exec("PRAGMA journal_mode = WAL")
		var e *sqlite.Error
		if !errors.As(err, &e) || e.Code()&0xFF != sqlite3.SQLITE_BUSY {
			return err
		}
		time.Sleep(pause)
	}
	return err
}

// version gives 0 for an empty file. Any other SQLite file is refused before it is
// changed.
func (f *file) version(q querier) (int, error) {
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
	return version, nil
}

func (f *file) setVersion(tx *sql.Tx, version int) error {
	_, err := tx.Exec(fmt.Sprintf("PRAGMA application_id = %d; PRAGMA user_version = %d", applicationID, version))
	return err
}

func (f *file) script(s string) string { return s }

// begin takes the one right to write that a SQLite file has.
func (f *file) begin(bool) (*sql.Tx, error) { return f.db.Begin() }

// SQLite would keep the writers of one process apart as well, but by looking again
// after a while.
func (f *file) dialect() dialect { return dialect{serial: true} }

func (f *file) structure(q querier) ([]string, error) {
	said, err := texts(q, "PRAGMA integrity_check")
	if len(said) == 1 && said[0] == "ok" {
		said = nil
	}
	return said, err
}

func (f *file) giveBack() error {
	_, err := f.db.Exec("VACUUM")
	if err == nil {
		// Readers of an earlier instant may keep the journal as long as it is.
		_, err = f.db.Exec("PRAGMA wal_checkpoint(TRUNCATE)")
	}
	return err
}

// unopened says why a file may not have been opened: SQLite does not.
func (f *file) unopened() string {
	what := "it cannot be opened"
	if _, err := os.Stat(f.path); errors.Is(err, fs.ErrNotExist) {
		what = "it is not there yet, and cannot be made in that folder"
	}
	return what + ": have the right to write there, or name another with --logbook"
}

// explain adds what an error of SQLite means for a logbook.
func (f *file) explain(err error) error {
	var e *sqlite.Error
	if !errors.As(err, &e) {
		return err
	}
	switch e.Code() & 0xFF {
	case sqlite3.SQLITE_NOTADB, sqlite3.SQLITE_CORRUPT:
		return fmt.Errorf("%w: %w", ErrNotLogbook, err)
	case sqlite3.SQLITE_BUSY:
		return fmt.Errorf("another program has kept it busy for too long: %w", err)
	case sqlite3.SQLITE_CANTOPEN:
		return fmt.Errorf("%s: %w", f.unopened(), err)
	case sqlite3.SQLITE_READONLY:
		return fmt.Errorf("nothing may be written to it: make it writable for yourself, copy it, or name another with --logbook: %w", err)
	case sqlite3.SQLITE_FULL:
		return fmt.Errorf("there is no room left on the disk: %w", err)
	}
	return err
}
