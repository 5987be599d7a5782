package logbook

import (
	"database/sql"
	"errors"
	"fmt"
	"time"
)

// A Drop says which runs have been kept for long enough.
type Drop struct {
	Filter     Filter    // of what it lets through, those that follow
	Before     time.Time // that began before; zero: of any age
	KeepLast   int       // but the latest so many
	TracesOnly bool      // drop their traces; findings and verdicts stay
	At         time.Time // the present instant, which is entered with a trace that goes
}

// A Dropped is what goes, and what would but for its worth.
type Dropped struct {
	Runs   []Entry
	Stay   []Staying
	Trials int   // that go, or whose trace goes
	Traces int   // that no other run has
	Texts  int   // likewise
	Bytes  int64 // of those traces and texts
}

// A Staying is a run that is old enough to go, and why it stays.
type Staying struct {
	Entry
	Why string
}

// Plan says what Drop would do. It changes nothing.
func (l *Logbook) Plan(d Drop) (Dropped, error) { return l.drop(d, false) }

// Drop drops runs in one stroke and gives their room back. A run that a certificate
// rests on, or that is under way, stays whatever its age. Where the error is only that
// the room could not be given back, the runs are gone and what went is told.
func (l *Logbook) Drop(d Drop) (Dropped, error) {
	went, err := l.drop(d, true)
	if err != nil || len(went.Runs) == 0 {
		return went, err
	}
	if err := l.engine.giveBack(); err != nil {
		return went, fmt.Errorf("logbook %s: what was to be dropped is gone, but its room could not be given back yet: %w", l.name, l.engine.explain(err))
	}
	return went, nil
}

// errOnlyAsked ends a transaction that was to change nothing.
var errOnlyAsked = errors.New("only asked")

func (l *Logbook) drop(d Drop, really bool) (Dropped, error) {
	var went Dropped
	if d.Before.IsZero() && d.KeepLast <= 0 || d.At.IsZero() {
		return went, fmt.Errorf("logbook %s: drop runs: nobody said how old, or how many are to stay", l.name)
	}
	err := l.tx("drop runs", func(tx *sql.Tx) (err error) {
		if alone := l.engine.dialect().alone; really && alone != "" {
			if _, err := tx.Exec(alone); err != nil {
				return err
			}
		}
		if went, err = chosen(tx, d); err != nil || len(went.Runs) == 0 {
			return err
		}
		if err := l.going(tx, &went); err != nil {
			return err
		}
		if !really {
			return errOnlyAsked
		}
		if err := remove(tx, d); err != nil {
			return err
		}
		_, err = tx.Exec(`DROP TABLE going`)
		return err
	})
	if errors.Is(err, errOnlyAsked) {
		err = nil
	}
	return went, err
}

// chosen sorts the runs into those that go and those that stay for their worth.
func chosen(q querier, d Drop) (Dropped, error) {
	var went Dropped
	all, err := selected(q, d.Filter)
	if err != nil {
		return went, err
	}
	for _, e := range all[:max(0, len(all)-d.KeepLast)] {
		switch {
		case !d.Before.IsZero() && !e.Began.Before(d.Before):
		case d.TracesOnly && e.Dropped == e.Trials:
		case e.Certified > 0:
			went.Stay = append(went.Stay, Staying{e, "a certificate rests on it"})
		case e.UnderWay:
			went.Stay = append(went.Stay, Staying{e, "it is under way"})
		default:
			went.Runs = append(went.Runs, e)
		}
	}
	return went, nil
}

// counts are of what goes with the runs in the table going.
const (
	countTrials = `SELECT COUNT(*), 0 FROM trials WHERE run IN (SELECT id FROM going)`
	countTraces = `SELECT COUNT(*), CAST(COALESCE(SUM(size), 0) AS BIGINT) FROM traces
		WHERE sha256 IN (SELECT trace FROM trials WHERE run IN (SELECT id FROM going))
		AND sha256 NOT IN (SELECT trace FROM trials WHERE trace IS NOT NULL AND run NOT IN (SELECT id FROM going))`
	countTexts = `SELECT COUNT(*), CAST(COALESCE(SUM(LENGTH(text)), 0) AS BIGINT) FROM texts
		WHERE sha256 IN (SELECT sha256 FROM run_texts WHERE run IN (SELECT id FROM going))
		AND sha256 NOT IN (SELECT sha256 FROM run_texts WHERE run NOT IN (SELECT id FROM going))`
)

// going names the runs that go in a table of this transaction, and counts what goes
// with them.
func (l *Logbook) going(tx *sql.Tx, went *Dropped) error {
	if _, err := tx.Exec(l.engine.script(`CREATE TEMPORARY TABLE going (id TEXT PRIMARY KEY)`)); err != nil {
		return err
	}
	for _, e := range went.Runs {
		if _, err := tx.Exec(`INSERT INTO going (id) VALUES ($1)`, e.ID); err != nil {
			return err
		}
	}
	var none int64
	var traces, texts int64
	err := errors.Join(
		tx.QueryRow(countTrials).Scan(&went.Trials, &none),
		tx.QueryRow(countTraces).Scan(&went.Traces, &traces),
		tx.QueryRow(countTexts).Scan(&went.Texts, &texts))
	went.Bytes = traces + texts
	return err
}

// remove takes the runs of the table going away, or their traces alone.
func remove(tx *sql.Tx, d Drop) error {
	steps := []string{
		`DELETE FROM trials WHERE run IN (SELECT id FROM going)`,
		`DELETE FROM run_texts WHERE run IN (SELECT id FROM going)`,
		`DELETE FROM runs WHERE id IN (SELECT id FROM going)`,
		`DELETE FROM texts WHERE NOT EXISTS (SELECT 1 FROM run_texts x WHERE x.sha256 = texts.sha256)`,
	}
	if d.TracesOnly {
		steps = []string{fmt.Sprintf(`UPDATE trials SET trace = NULL, dropped = %d
			WHERE trace IS NOT NULL AND run IN (SELECT id FROM going)`, d.At.UnixNano())}
	}
	steps = append(steps, `DELETE FROM traces WHERE NOT EXISTS (SELECT 1 FROM trials t WHERE t.trace = traces.sha256)`)
	for _, s := range steps {
		if _, err := tx.Exec(s); err != nil {
			return err
		}
	}
	return nil
}
