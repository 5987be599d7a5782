package logbook

import (
	"context"
	"database/sql"
	"errors"
	"fmt"
	"math/rand/v2"
	"net/url"
	"regexp"
	"strconv"
	"strings"
	"time"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgconn"
	"github.com/jackc/pgx/v5/stdlib"
)

// IsAddress says whether the name of a logbook is the address of a server, not a path.
func IsAddress(name string) bool {
	return strings.HasPrefix(name, "postgres://") || strings.HasPrefix(name, "postgresql://")
}

// Name is what to call a logbook in what people read: a path as it is, an address
// without its password.
func Name(name string) string {
	if !IsAddress(name) {
		return name
	}
	u, err := url.Parse(name)
	if err != nil {
		return "postgres://..." // it may be anywhere in it
	}
	shown := url.URL{Scheme: u.Scheme, Host: u.Host, Path: u.Path}
	if u.User != nil && u.User.Username() != "" {
		shown.User = url.User(u.User.Username())
	}
	return shown.String()
}

// A server is the engine of a logbook in a PostgreSQL database, in the schema that is
// current there.
//
// A process that performs runs writes them all in one session, and that session holds
// an advisory lock as long as it lives: the server lets go of it when the session
// ends, at the latest when the process does.
type server struct {
	db      *sql.DB
	key     int64 // of the lock; 0: nothing was begun yet
	session *sql.Conn
}

var _ engine = (*server)(nil)

// patience is how long the server is waited for to accept a session.
const patience = 20 * time.Second

// openServer opens a database.
func openServer(address string) (*server, error) {
	c, err := pgx.ParseConfig(address)
	if err != nil {
		// What the parser says can hold a part of the password.
		return nil, errors.New("the address cannot be read: it goes postgres://USER@HOST:PORT/DATABASE, " +
			"with signs such as / # @ in a name or password written %2F %23 %40; a password is best left to the file ~/.pgpass")
	}
	if c.ConnectTimeout == 0 {
		c.ConnectTimeout = patience
	}
	for name, value := range map[string]string{
		"application_name": "pintle", "synchronous_commit": "on",
		// A bench that loses its power must not look alive for hours.
		"tcp_keepalives_idle": "30", "tcp_keepalives_interval": "10", "tcp_keepalives_count": "3",
	} {
		if _, given := c.RuntimeParams[name]; !given || name == "synchronous_commit" {
			c.RuntimeParams[name] = value
		}
	}
	db := stdlib.OpenDB(*c)
	db.SetMaxIdleConns(4)
	return &server{db: db}, nil
}

// prepare wants a server that writes to the disk what it acknowledges.
func (s *server) prepare() error {
	var fsync string
	if err := s.db.QueryRow(`SHOW fsync`).Scan(&fsync); err != nil {
		return err
	}
	if fsync != "on" {
		return fmt.Errorf("the server has fsync %s: what it acknowledges can be lost with its power, and a logbook must not be", fsync)
	}
	return nil
}

func (s *server) version(q querier) (int, error) {
	var schema sql.NullString
	var ours, others int
	err := q.QueryRow(`SELECT current_schema(),
		(SELECT COUNT(*) FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace WHERE n.nspname = current_schema() AND c.relname = 'pintle_logbook'),
		(SELECT COUNT(*) FROM pg_class c JOIN pg_namespace n ON n.oid = c.relnamespace WHERE n.nspname = current_schema()
			AND c.relname IN ('texts', 'traces', 'runs', 'run_texts', 'trials', 'certified'))`).Scan(&schema, &ours, &others)
	switch {
	case err != nil:
		return 0, err
	case !schema.Valid:
		return 0, fmt.Errorf("%w: the database has no schema to look in: see its search_path", ErrNotLogbook)
	case ours == 0 && others != 0:
		return 0, fmt.Errorf("%w: schema %s has tables of another program", ErrNotLogbook, schema.String)
	case ours == 0:
		return 0, nil
	}
	var version int
	err = q.QueryRow(`SELECT version FROM pintle_logbook`).Scan(&version)
	if errors.Is(err, sql.ErrNoRows) || err == nil && version < 1 {
		return 0, fmt.Errorf("%w: it does not say its version", ErrNotLogbook)
	}
	return version, err
}

func (s *server) setVersion(tx *sql.Tx, version int) error {
	_, err := tx.Exec(fmt.Sprintf(`CREATE TABLE IF NOT EXISTS pintle_logbook (version BIGINT NOT NULL);
		DELETE FROM pintle_logbook; INSERT INTO pintle_logbook VALUES (%d)`, version))
	return err
}

var types = regexp.MustCompile(`\b(TEXT|BLOB)\b`)

// script sorts texts by their bytes, as SQLite does, whatever the server's language.
func (s *server) script(text string) string {
	return types.ReplaceAllStringFunc(text, func(t string) string {
		if t == "BLOB" {
			return "BYTEA"
		}
		return `TEXT COLLATE "C"`
	})
}

func (s *server) dialect() dialect {
	// The session of the runs is one, and a session does one thing at a time.
	return dialect{serial: true, snapshot: sql.LevelRepeatableRead, share: " FOR SHARE",
		alone: "LOCK TABLE texts, traces, runs, run_texts, trials, certified IN EXCLUSIVE MODE"}
}

// begin writes in the session that holds the lock, where there is one. If that was
// lost between two transactions, nothing was lost with it, and it is made anew.
func (s *server) begin(migrate bool) (*sql.Tx, error) {
	if migrate {
		return s.beginMigration()
	}
	if s.key == 0 {
		return s.db.Begin()
	}
	if s.session != nil {
		tx, err := s.session.BeginTx(background, nil)
		if err == nil {
			return tx, nil
		}
		s.session.Close() // it may be broken in any way; nothing was written by it
		s.session = nil
	}
	if err := s.hold(); err != nil {
		return nil, err
	}
	return s.session.BeginTx(background, nil)
}

func (s *server) beginMigration() (*sql.Tx, error) {
	tx, err := s.db.Begin()
	if err != nil {
		return nil, err
	}
	if _, err := tx.Exec(`SELECT pg_advisory_xact_lock($1)`, int64(applicationID)); err != nil {
		return nil, errors.Join(err, tx.Rollback())
	}
	return tx, nil
}

// hold makes a session and takes the lock in it.
func (s *server) hold() error {
	session, err := s.db.Conn(background)
	if err != nil {
		return err
	}
	// Others hold the lock for an instant when they look; a session of before, which
	// the server does not know to be lost, would for long.
	_, err = session.ExecContext(background, fmt.Sprintf(`SET lock_timeout = '10s'; SELECT pg_advisory_lock(%d); SET lock_timeout = 0`, s.key))
	if err != nil {
		return errors.Join(fmt.Errorf("take the lock that says that this program is alive: %w", err), session.Close())
	}
	s.session = session
	return nil
}

// live takes a lock of a number that nobody else has.
func (s *server) live() (string, error) {
	if s.key == 0 {
		s.key = rand.Int64() | 1
		if err := s.hold(); err != nil {
			s.key = 0
			return "", err
		}
	}
	return strconv.FormatInt(s.key, 10), nil
}

// gone tries the lock, and lets go of it in the same breath.
func (s *server) gone(token string) (bool, error) {
	key, err := strconv.ParseInt(token, 10, 64)
	if err != nil {
		return true, nil // nobody can hold that
	}
	var free bool
	err = s.db.QueryRow(`SELECT pg_try_advisory_xact_lock($1)`, key).Scan(&free)
	return free, err
}

// release ends the session, and the lock with it.
func (s *server) release(bool) error {
	if s.session == nil {
		return nil
	}
	// The server notices the end of a session a moment later: who looks at once would find
	// its runs alive still. A session that is broken cannot say so, nor has to.
	_, _ = s.session.ExecContext(background, `SELECT pg_advisory_unlock($1)`, s.key)
	// Back into the pool it would keep the lock.
	err := s.session.Raw(func(driver any) error {
		return driver.(*stdlib.Conn).Conn().Close(background)
	})
	s.session.Close()
	s.session = nil
	return err
}

func (s *server) structure(querier) ([]string, error) { return nil, nil }

// giveBack lets the server use the room again. What is at the end of its files it
// gives back to the disk; more than that would lock every bench out meanwhile.
func (s *server) giveBack() error {
	_, err := s.db.Exec(`VACUUM (ANALYZE) texts, traces, runs, run_texts, trials`)
	return err
}

// explain adds what an error means for a logbook.
func (s *server) explain(err error) error {
	var refused *pgconn.ConnectError
	var e *pgconn.PgError
	switch {
	case errors.As(err, &refused):
		return fmt.Errorf("%w: %w", ErrUnreachable, err)
	case errors.As(err, &e) && e.Code[:2] == "57":
		return fmt.Errorf("the server ended the session: %w", err)
	case errors.As(err, &e) && e.Code[:2] == "53":
		return fmt.Errorf("the server has no room or no session left: %w", err)
	case errors.As(err, &e) && e.Code[:2] == "XX":
		return fmt.Errorf("%w: %w", ErrNotLogbook, err)
	case errors.As(err, &e), err == nil, errors.Is(err, ErrNoRun), errors.Is(err, ErrNotLogbook):
		return err
	case pgconn.SafeToRetry(err), errors.Is(err, context.DeadlineExceeded):
		return fmt.Errorf("the connection to the server was lost: %w", err)
	}
	return err
}
