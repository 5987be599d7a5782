package logbook

import (
	"database/sql"
	"fmt"
	"time"
)

// A Certified tells of a certificate that rests on a run.
type Certified struct {
	Run    string
	Signed time.Time // when it was made
	Root   string    // of the record's tree, in hexadecimal; empty where there is no record
	File   string    // that it was written to; empty where that is not known
}

// Certify enters that a certificate rests on a run, so that no trial and no trace of
// the run is ever dropped. To enter it before the certificate appears leaves no
// instant at which one rests on nothing. The same certificate again is entered once.
func (l *Logbook) Certify(c Certified) error {
	return l.tx("enter the certificate of run "+c.Run, func(tx *sql.Tx) error {
		id, err := find(tx, c.Run)
		if err != nil {
			return err
		}
		if err := openOrOver(tx, id, l.engine.dialect().share); err != nil {
			return err
		}
		_, err = tx.Exec(`INSERT INTO certified (run, signed, root, file) VALUES ($1, $2, $3, $4)
			ON CONFLICT (run, root, file) DO NOTHING`, id, c.Signed.UnixNano(), c.Root, c.File)
		return err
	})
}

// openOrOver keeps a run from being dropped until the transaction ends.
func openOrOver(tx *sql.Tx, id, share string) error {
	var s state
	return tx.QueryRow(`SELECT state FROM runs WHERE id = $1`+share, id).Scan(&s)
}

// Certificates lists what was certified of a run, the earliest first; of every run
// where none is named.
func (l *Logbook) Certificates(run string) ([]Certified, error) {
	all, err := l.certificates(run)
	if err != nil {
		return nil, fmt.Errorf("logbook %s: list certificates: %w", l.name, l.engine.explain(err))
	}
	return all, nil
}

func (l *Logbook) certificates(run string) ([]Certified, error) {
	var c condition
	if run != "" {
		id, err := find(l.db, run)
		if err != nil {
			return nil, err
		}
		c.add(`run = ?`, id)
	}
	rows, err := l.db.Query(`SELECT run, signed, root, file FROM certified`+c.String()+` ORDER BY signed, run, file`, c.args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var all []Certified
	for rows.Next() {
		var c Certified
		var signed int64
		if err := rows.Scan(&c.Run, &signed, &c.Root, &c.File); err != nil {
			return nil, err
		}
		c.Signed = time.Unix(0, signed).UTC()
		all = append(all, c)
	}
	return all, rows.Err()
}
