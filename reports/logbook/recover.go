package logbook

import (
	"database/sql"
	"fmt"
	"slices"

	"pintle/rig/rule"
)

// Recover marks void every run that has no end and whose program is gone, with the
// reason Broken, and gives the names of all that it marked since the logbook was
// opened; opening does the same first. A run that another program, or this one, is
// performing is left alone.
func (l *Logbook) Recover() ([]string, error) {
	marked, err := l.recover()
	if err != nil {
		return nil, fmt.Errorf("logbook %s: look for runs without an end: %w", l.name, l.engine.explain(err))
	}
	l.mu.Lock()
	defer l.mu.Unlock()
	l.recovered = append(l.recovered, marked...)
	return slices.Clone(l.recovered), nil
}

func (l *Logbook) recover() ([]string, error) {
	open, err := l.underWay()
	if err != nil {
		return nil, err
	}
	var marked []string
	dead := map[string]bool{}
	for _, r := range open {
		if _, known := dead[r.alive]; !known {
			if dead[r.alive], err = l.engine.gone(r.alive); err != nil {
				return marked, err
			}
		}
		if !dead[r.alive] {
			continue
		}
		if err := l.mark(r.id); err != nil {
			return marked, err
		}
		marked = append(marked, r.id)
	}
	return marked, nil
}

// An openRunRow is a run that has no end.
type openRunRow struct{ id, alive string }

// underWay lists the runs that have no end, the earliest first.
func (l *Logbook) underWay() ([]openRunRow, error) {
	rows, err := l.db.Query(`SELECT id, alive FROM runs WHERE state = $1 ORDER BY began, id`, underWay)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var all []openRunRow
	for rows.Next() {
		var r openRunRow
		if err := rows.Scan(&r.id, &r.alive); err != nil {
			return nil, err
		}
		all = append(all, r)
	}
	return all, rows.Err()
}

// mark marks a run void, unless another process was quicker.
func (l *Logbook) mark(id string) error {
	return l.tx("mark run "+id+" void", func(tx *sql.Tx) error {
		_, err := tx.Exec(`UPDATE runs SET state = $1, verdict = $2, reason = $3 WHERE id = $4 AND state = $5`,
			broken, int64(rule.Void), Broken, id, underWay)
		return err
	})
}
