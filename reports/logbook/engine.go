package logbook

import "database/sql"

// An engine is what keeps a logbook: SQLite in a file, or a PostgreSQL server. All
// else is SQL that both understand.
type engine interface {
	// prepare makes an opened database ready, once it is known to be a logbook or empty.
	prepare() error
	// version is the logbook's version, 0 where there is none yet.
	version(q querier) (int, error)
	setVersion(tx *sql.Tx, version int) error
	// script puts a migration into the engine's own words.
	script(string) string

	// begin begins a transaction that writes, and takes whatever it needs so that no
	// two migrate at once.
	begin(migrate bool) (*sql.Tx, error)
	dialect() dialect

	// live gives a token that others can tell by whether this process is still there.
	live() (string, error)
	// gone says whether the process that a token is of is gone.
	gone(token string) (bool, error)
	// release ends it. Runs are left without an end where keep says so.
	release(keep bool) error

	// structure lets the engine check itself.
	structure(q querier) ([]string, error)
	// giveBack returns the room of what was dropped.
	giveBack() error
	explain(error) error
}

// A dialect is where the two engines' SQL differs.
type dialect struct {
	serial   bool               // writers of one process are best kept apart here
	snapshot sql.IsolationLevel // of a transaction that reads one instant
	share    string             // at the end of a SELECT: the row stays as it is until the end of the transaction
	alone    string             // a statement that keeps all other writers out until then; empty: it is so anyway
}

// querier is what a database and a transaction have in common.
type querier interface {
	QueryRow(query string, args ...any) *sql.Row
	Query(query string, args ...any) (*sql.Rows, error)
}
