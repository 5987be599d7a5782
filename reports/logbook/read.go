package logbook

import (
	"bytes"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"strings"
	"time"

	"pintle/reports"
	"pintle/reports/tracefile"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// last is the name of the run that was begun last.
const last = "last"

// An Entry is a run in the list of runs.
type Entry struct {
	ID         string
	Began      time.Time
	Ended      time.Time // zero of a run that has no end
	UnderWay   bool      // its program is still at it
	Job        string
	Controller reports.Controller
	Bench      string
	Scenarios  int
	Trials     int // performed, of all scenarios
	Verdict    rule.Verdict
	Reason     string
}

// Runs lists all runs, the earliest first.
func (l *Logbook) Runs() ([]Entry, error) {
	entries, err := l.runs()
	if err != nil {
		return nil, fmt.Errorf("logbook %s: list the runs: %w", l.path, explain(err))
	}
	return entries, nil
}

func (l *Logbook) runs() ([]Entry, error) {
	rows, err := l.db.Query(`SELECT r.state, r.run, (SELECT COUNT(*) FROM trials t WHERE t.run = r.id)
		FROM runs r ORDER BY r.began, r.id`)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var all []Entry
	for rows.Next() {
		var s state
		var body string
		var trials int
		if err := rows.Scan(&s, &body, &trials); err != nil {
			return nil, err
		}
		run, err := decodeRun(body, s)
		if err != nil {
			return nil, err
		}
		all = append(all, Entry{
			ID: run.ID, Began: run.Began, Ended: run.Ended, UnderWay: s == underWay,
			Job: run.Job, Controller: run.Controller, Bench: run.Bench.Name,
			Scenarios: len(run.Scenarios), Trials: trials, Verdict: run.Verdict, Reason: run.Reason,
		})
	}
	return all, rows.Err()
}

// decodeRun reads a run without its trials. A run that has no end says so by its
// verdict: whatever its skeleton had at the beginning is none.
func decodeRun(body string, s state) (*reports.Run, error) {
	run := new(reports.Run)
	if err := json.Unmarshal([]byte(body), run); err != nil {
		return nil, fmt.Errorf("%w: a run is unreadable: %w", ErrNotLogbook, err)
	}
	switch s {
	case finished:
	case broken:
		run.Ended, run.Verdict, run.Reason = time.Time{}, rule.Void, Broken
	default:
		run.Ended, run.Verdict, run.Reason = time.Time{}, rule.Unsettled, "the run is under way"
	}
	return run, nil
}

// Run gives a run with its trials, by its name, by the first letters of it that no
// other shares, or by "last". Of a run that was marked void, or that is under way,
// it gives what was performed.
func (l *Logbook) Run(name string) (*reports.Run, error) {
	var run *reports.Run
	// In one transaction, so that a run that is being written is seen at one instant.
	err := l.read(func(tx *sql.Tx) (err error) {
		run, err = l.run(tx, name)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("logbook %s: run %s: %w", l.path, name, explain(err))
	}
	return run, nil
}

// read performs a function in one transaction that only reads.
func (l *Logbook) read(do func(*sql.Tx) error) error {
	tx, err := l.db.BeginTx(background, &sql.TxOptions{ReadOnly: true})
	if err != nil {
		return err
	}
	return errors.Join(do(tx), tx.Rollback())
}

func (l *Logbook) run(q querier, name string) (*reports.Run, error) {
	id, err := find(q, name)
	if err != nil {
		return nil, err
	}
	var s state
	var body string
	if err := q.QueryRow(`SELECT state, run FROM runs WHERE id = $1`, id).Scan(&s, &body); err != nil {
		return nil, err
	}
	run, err := decodeRun(body, s)
	if err != nil {
		return nil, err
	}
	if err := readTexts(q, run); err != nil {
		return nil, err
	}
	if err := readTrials(q, run); err != nil {
		return nil, err
	}
	switch s {
	case finished:
	case broken:
		abandon(run)
	default:
		settle(run)
	}
	return run, nil
}

// find gives the full name of a run.
func find(q querier, name string) (string, error) {
	if name == last {
		var id string
		err := q.QueryRow(`SELECT id FROM runs ORDER BY began DESC, id DESC LIMIT 1`).Scan(&id)
		if errors.Is(err, sql.ErrNoRows) {
			return "", fmt.Errorf("%w: it has no runs yet", ErrNoRun)
		}
		return id, err
	}
	if name == "" {
		return "", fmt.Errorf("%w: no name was given", ErrNoRun)
	}
	ids, err := texts(q, `SELECT id FROM runs WHERE substr(id, 1, length($1)) = $1 ORDER BY began, id`, name)
	if err != nil {
		return "", err
	}
	switch {
	case len(ids) == 0:
		return "", ErrNoRun
	case len(ids) == 1:
		return ids[0], nil
	}
	for _, id := range ids {
		if id == name {
			return id, nil
		}
	}
	return "", fmt.Errorf("%w: %s", ErrAmbiguous, strings.Join(ids, ", "))
}

// texts gives the one column of a query.
func texts(q querier, query string, args ...any) ([]string, error) {
	rows, err := q.Query(query, args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var all []string
	for rows.Next() {
		var s string
		if err := rows.Scan(&s); err != nil {
			return nil, err
		}
		all = append(all, s)
	}
	return all, rows.Err()
}

// readTexts puts the texts of a run's files back.
func readTexts(q querier, run *reports.Run) error {
	for i := range run.Files {
		f := &run.Files[i]
		err := q.QueryRow(`SELECT text FROM texts WHERE sha256 = $1`, f.SHA256).Scan(&f.Text)
		if err != nil && !errors.Is(err, sql.ErrNoRows) {
			return err
		}
		if err == nil && digest([]byte(f.Text)) != f.SHA256 {
			return fmt.Errorf("%w: the text of file %s is not what it was", ErrNotLogbook, f.Name)
		}
	}
	return nil
}

// readTrials puts a run's trials back, in the order of their numbers.
func readTrials(q querier, run *reports.Run) error {
	at := map[string]int{}
	for i, s := range run.Scenarios {
		at[s.Name] = i
	}
	rows, err := q.Query(`SELECT scenario, trace, trial FROM trials WHERE run = $1 ORDER BY scenario, number`, run.ID)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var scenario, body string
		var trace sql.NullString
		if err := rows.Scan(&scenario, &trace, &body); err != nil {
			return err
		}
		i, ok := at[scenario]
		if !ok {
			return fmt.Errorf("%w: it has a trial of scenario %s, which the run does not have", ErrNotLogbook, scenario)
		}
		var trial reports.Trial
		if err := json.Unmarshal([]byte(body), &trial); err != nil {
			return fmt.Errorf("%w: a trial of %s is unreadable: %w", ErrNotLogbook, scenario, err)
		}
		if trial.Trace != trace.String {
			return fmt.Errorf("%w: trial %d of %s is of another trace than the one kept for it", ErrNotLogbook, trial.Number, scenario)
		}
		run.Scenarios[i].Trials = append(run.Scenarios[i].Trials, trial)
	}
	return rows.Err()
}

// Trace gives the trace of a trial, after checking its digest. The run is named
// as for Run.
func (l *Logbook) Trace(run, scenario string, trial int) (*signal.Trace, error) {
	b, err := l.traceFile(run, scenario, trial)
	if err != nil {
		return nil, fmt.Errorf("logbook %s: trace of run %s, %s trial %d: %w", l.path, run, scenario, trial, explain(err))
	}
	t, err := tracefile.Read(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		return nil, fmt.Errorf("logbook %s: trace of run %s, %s trial %d: %w", l.path, run, scenario, trial, err)
	}
	return t, nil
}

// TraceFile gives the trace of a trial as the Parquet file that its digest is of.
func (l *Logbook) TraceFile(run, scenario string, trial int) ([]byte, error) {
	b, err := l.traceFile(run, scenario, trial)
	if err != nil {
		return nil, fmt.Errorf("logbook %s: trace of run %s, %s trial %d: %w", l.path, run, scenario, trial, explain(err))
	}
	return b, nil
}

func (l *Logbook) traceFile(run, scenario string, trial int) ([]byte, error) {
	id, err := find(l.db, run)
	if err != nil {
		return nil, err
	}
	var sum sql.NullString
	var b []byte
	err = l.db.QueryRow(`SELECT t.trace, c.data FROM trials t LEFT JOIN traces c ON c.sha256 = t.trace
		WHERE t.run = $1 AND t.scenario = $2 AND t.number = $3`, id, scenario, trial).Scan(&sum, &b)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return nil, fmt.Errorf("the trial is %w", ErrNoRun)
	case err != nil:
		return nil, err
	case !sum.Valid:
		return nil, fmt.Errorf("%w: the trial has no trace", ErrNoRun)
	case digest(b) != sum.String:
		return nil, fmt.Errorf("%w: the trace is not what it was when it was kept", ErrNotLogbook)
	}
	return b, nil
}
