package logbook

import (
	"bytes"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"sync"

	"pintle/reports"
	"pintle/reports/tracefile"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// Begin enters a run that is about to be performed: everything that it rests on,
// and its scenarios. Trials that the run already has are ignored. When Begin
// returns nil the run is on the disk.
func (l *Logbook) Begin(run *reports.Run) error {
	if err := checkRun(run); err != nil {
		return fmt.Errorf("logbook %s: begin run %s: %w", l.name, run.ID, err)
	}
	body, err := skeleton(run)
	if err != nil {
		return fmt.Errorf("logbook %s: begin run %s: %w", l.name, run.ID, err)
	}
	base, err := l.live()
	if err != nil {
		return fmt.Errorf("logbook %s: begin run %s: %w", l.name, run.ID, err)
	}
	err = l.tx("begin run "+run.ID, func(tx *sql.Tx) error {
		r, err := tx.Exec(`INSERT INTO runs (id, began, ended, state, alive, verdict, reason, run, sha256, entered)
			VALUES ($1, $2, 0, $3, $4, $5, '', $6, $7, (SELECT COALESCE(MAX(entered), 0) + 1 FROM runs)) ON CONFLICT (id) DO NOTHING`,
			run.ID, run.Began.UnixNano(), underWay, base, int64(rule.Unsettled), string(body), digest(body))
		if err != nil {
			return err
		}
		if n, err := r.RowsAffected(); err != nil || n == 0 {
			return errors.Join(err, ErrTaken)
		}
		return errors.Join(putLookup(tx, run.ID, run), putTexts(tx, run))
	})
	if err == nil {
		l.mu.Lock()
		l.open++
		l.mu.Unlock()
	}
	return err
}

// live gives the token that tells others that this process is there.
func (l *Logbook) live() (string, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.engine.live()
}

// checkRun says what keeps a run from being entered.
func checkRun(run *reports.Run) error {
	var errs []error
	if run.ID == "" || run.ID == last {
		errs = append(errs, fmt.Errorf("a run cannot be called %q", run.ID))
	}
	seen := map[string]bool{}
	for _, s := range run.Scenarios {
		if seen[s.Name] {
			errs = append(errs, fmt.Errorf("two scenarios are called %q", s.Name))
		}
		seen[s.Name] = true
	}
	for _, f := range run.Files {
		if f.Text != "" && f.SHA256 != digest([]byte(f.Text)) {
			errs = append(errs, fmt.Errorf("the digest of file %s is not that of its text", f.Name))
		}
	}
	return errors.Join(errs...)
}

// putTexts keeps the texts that a run rests on, each once in the whole logbook.
func putTexts(tx *sql.Tx, run *reports.Run) error {
	// All in one order, so that no two that write the same texts wait for each other.
	files := slices.SortedFunc(slices.Values(run.Files), func(a, b reports.File) int { return strings.Compare(a.SHA256, b.SHA256) })
	for _, f := range files {
		if f.Text == "" {
			continue
		}
		if _, err := tx.Exec(`INSERT INTO texts (sha256, text) VALUES ($1, $2) ON CONFLICT (sha256) DO NOTHING`,
			f.SHA256, f.Text); err != nil {
			return err
		}
		if _, err := tx.Exec(`INSERT INTO run_texts (run, sha256) VALUES ($1, $2) ON CONFLICT (run, sha256) DO NOTHING`,
			run.ID, f.SHA256); err != nil {
			return err
		}
	}
	return nil
}

var buffers = sync.Pool{New: func() any { return new(bytes.Buffer) }}

// Trial adds a trial to a run that was begun and not finished, with its trace if
// it has one, and sets the trial's Trace to the digest under which the trace is
// kept. When Trial returns nil both are on the disk; they are never there one
// without the other. The trace is the caller's again when Trial returns.
func (l *Logbook) Trial(run, scenario string, trial *reports.Trial, trace *signal.Trace) error {
	what := fmt.Sprintf("add trial %d of %s to run %s", trial.Number, scenario, run)
	b := buffers.Get().(*bytes.Buffer)
	defer buffers.Put(b)
	b.Reset()
	trial.Trace = ""
	if trace != nil {
		if err := tracefile.Write(b, trace); err != nil {
			return fmt.Errorf("logbook %s: %s: %w", l.name, what, err)
		}
		trial.Trace = digest(b.Bytes())
	}
	body, err := json.Marshal(trial)
	if err != nil {
		return fmt.Errorf("logbook %s: %s: %w", l.name, what, err)
	}
	return l.tx(what, func(tx *sql.Tx) error {
		if err := openRun(tx, run, l.engine.dialect().share); err != nil {
			return err
		}
		if trace != nil {
			if _, err := tx.Exec(`INSERT INTO traces (sha256, size, data) VALUES ($1, $2, $3) ON CONFLICT (sha256) DO NOTHING`,
				trial.Trace, b.Len(), b.Bytes()); err != nil {
				return err
			}
		}
		new, err := putTrial(tx, run, scenario, trial, body)
		if err == nil && !new {
			err = errors.New("it is there already")
		}
		return err
	})
}

// openRun says whether a run is there to take trials, and keeps it so.
func openRun(tx *sql.Tx, run, share string) error {
	var s state
	err := tx.QueryRow(`SELECT state FROM runs WHERE id = $1`+share, run).Scan(&s)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return fmt.Errorf("the run is %w; it was never begun", ErrNoRun)
	case err != nil:
		return err
	case s == broken:
		return errors.New("the run was marked void: " + Broken)
	case s != underWay:
		return errors.New("the run is finished")
	}
	return nil
}

// putTrial adds a trial's row and says whether it was new.
func putTrial(tx *sql.Tx, run, scenario string, trial *reports.Trial, body []byte) (bool, error) {
	trace := sql.NullString{String: trial.Trace, Valid: trial.Trace != ""}
	r, err := tx.Exec(`INSERT INTO trials (run, scenario, number, verdict, trace, trial, sha256)
		VALUES ($1, $2, $3, $4, $5, $6, $7) ON CONFLICT (run, scenario, number) DO NOTHING`,
		run, scenario, trial.Number, int64(trial.Verdict), trace, string(body), digest(body))
	if err != nil {
		return false, err
	}
	n, err := r.RowsAffected()
	return n != 0, err
}

// Finish enters what a run came to. Trials of it that Trial never saw are added
// without a trace; of those that it saw, what was acknowledged stands. When Finish
// returns nil the run is on the disk as finished.
func (l *Logbook) Finish(run *reports.Run) error {
	what := "finish run " + run.ID
	err := checkRun(run)
	if err == nil && run.Ended.IsZero() {
		err = errors.New("it does not say when it ended")
	}
	if err != nil {
		return fmt.Errorf("logbook %s: %s: %w", l.name, what, err)
	}
	body, err := skeleton(run)
	if err != nil {
		return fmt.Errorf("logbook %s: %s: %w", l.name, what, err)
	}
	err = l.tx(what, func(tx *sql.Tx) error {
		if err := openRun(tx, run.ID, l.engine.dialect().share); err != nil {
			return err
		}
		if err := putMissing(tx, run); err != nil {
			return err
		}
		if err := putTexts(tx, run); err != nil {
			return err
		}
		if err := putLookup(tx, run.ID, run); err != nil {
			return err
		}
		_, err := tx.Exec(`UPDATE runs SET ended = $1, state = $2, verdict = $3, reason = $4, run = $5, sha256 = $6,
			performed = (SELECT COUNT(*) FROM trials t WHERE t.run = runs.id) WHERE id = $7`,
			run.Ended.UnixNano(), finished, int64(run.Verdict), run.Reason, string(body), digest(body), run.ID)
		return err
	})
	if err == nil {
		l.mu.Lock()
		l.open--
		l.mu.Unlock()
	}
	return err
}

// putMissing adds the trials that were never added.
func putMissing(tx *sql.Tx, run *reports.Run) error {
	for i := range run.Scenarios {
		s := &run.Scenarios[i]
		for j := range s.Trials {
			bare := s.Trials[j]
			bare.Trace = "" // a trace that was kept came with its trial
			body, err := json.Marshal(&bare)
			if err != nil {
				return err
			}
			if _, err := putTrial(tx, run.ID, s.Name, &bare, body); err != nil {
				return err
			}
		}
	}
	return nil
}
