package logbook

import (
	"bytes"
	"database/sql"
	"encoding/json"
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"pintle/reports"
	"pintle/reports/tracefile"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// last is the name of the run that was entered last, whatever the clock said by then.
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
	Certified  int // how many certificates rest on it
	Dropped    int // trials whose trace was dropped
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
func (l *Logbook) Run(name string) (*reports.Run, error) { return l.part(name, nil) }

// Part gives a run as Run does, with the trials of the named scenarios alone: the
// others have none, and no verdict is worked out from that.
func (l *Logbook) Part(name string, scenarios ...string) (*reports.Run, error) {
	return l.part(name, func(s string) bool { return slices.Contains(scenarios, s) })
}

func (l *Logbook) part(name string, wanted func(string) bool) (*reports.Run, error) {
	var run *reports.Run
	// In one transaction, so that a run that is being written is seen at one instant.
	err := l.read(func(tx *sql.Tx) (err error) {
		run, err = l.run(tx, name, wanted)
		return err
	})
	if err != nil {
		return nil, fmt.Errorf("logbook %s: run %s: %w", l.name, name, l.engine.explain(err))
	}
	return run, nil
}

// read performs a function in one transaction that only reads.
func (l *Logbook) read(do func(*sql.Tx) error) error {
	tx, err := l.db.BeginTx(background, &sql.TxOptions{ReadOnly: true, Isolation: l.engine.dialect().snapshot})
	if err != nil {
		return err
	}
	return errors.Join(do(tx), tx.Rollback())
}

func (l *Logbook) run(q querier, name string, wanted func(string) bool) (*reports.Run, error) {
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
	if err := readTrials(q, run, wanted); err != nil {
		return nil, err
	}
	switch {
	case s == finished || wanted != nil:
	case s == broken:
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
		err := q.QueryRow(`SELECT id FROM runs ORDER BY entered DESC, began DESC, id DESC LIMIT 1`).Scan(&id)
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

// readTrials puts a run's trials back, in the order of their numbers: of the scenarios
// that are wanted, or of all.
func readTrials(q querier, run *reports.Run, wanted func(string) bool) error {
	if wanted == nil {
		return readTrialsOf(q, run, `run = $1`, run.ID)
	}
	var errs []error
	for _, s := range run.Scenarios {
		if wanted(s.Name) {
			errs = append(errs, readTrialsOf(q, run, `run = $1 AND scenario = $2`, run.ID, s.Name))
		}
	}
	return errors.Join(errs...)
}

func readTrialsOf(q querier, run *reports.Run, which string, args ...any) error {
	at := map[string]int{}
	for i, s := range run.Scenarios {
		at[s.Name] = i
	}
	rows, err := q.Query(`SELECT scenario, trace, dropped, trial FROM trials WHERE `+which+` ORDER BY scenario, number`, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		var scenario, body string
		var trace sql.NullString
		var dropped int64
		if err := rows.Scan(&scenario, &trace, &dropped, &body); err != nil {
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
		if dropped == 0 && trial.Trace != trace.String || dropped != 0 && trace.Valid {
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
		return nil, fmt.Errorf("logbook %s: trace of run %s, %s trial %d: %w", l.name, run, scenario, trial, l.engine.explain(err))
	}
	t, err := tracefile.Read(bytes.NewReader(b), int64(len(b)))
	if err != nil {
		return nil, fmt.Errorf("logbook %s: trace of run %s, %s trial %d: %w", l.name, run, scenario, trial, err)
	}
	return t, nil
}

// TraceFile gives the trace of a trial as the Parquet file that its digest is of.
func (l *Logbook) TraceFile(run, scenario string, trial int) ([]byte, error) {
	b, err := l.traceFile(run, scenario, trial)
	if err != nil {
		return nil, fmt.Errorf("logbook %s: trace of run %s, %s trial %d: %w", l.name, run, scenario, trial, l.engine.explain(err))
	}
	return b, nil
}

func (l *Logbook) traceFile(run, scenario string, trial int) ([]byte, error) {
	id, err := find(l.db, run)
	if err != nil {
		return nil, err
	}
	var sum sql.NullString
	var dropped int64
	var b []byte
	err = l.db.QueryRow(`SELECT t.trace, t.dropped, c.data FROM trials t LEFT JOIN traces c ON c.sha256 = t.trace
		WHERE t.run = $1 AND t.scenario = $2 AND t.number = $3`, id, scenario, trial).Scan(&sum, &dropped, &b)
	switch {
	case errors.Is(err, sql.ErrNoRows):
		return nil, fmt.Errorf("the trial is %w", ErrNoRun)
	case err != nil:
		return nil, err
	case dropped != 0:
		return nil, fmt.Errorf("%w (on %s)", ErrDropped, time.Unix(0, dropped).UTC().Format(time.DateOnly))
	case !sum.Valid:
		return nil, fmt.Errorf("%w: the trial has no trace", ErrNoRun)
	case digest(b) != sum.String:
		return nil, fmt.Errorf("%w: the trace is not what it was when it was kept", ErrNotLogbook)
	}
	return b, nil
}
