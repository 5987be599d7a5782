package logbook

import (
	"fmt"
	"slices"
	"strings"
	"time"

	"pintle/rig/rule"
)

// A Filter says which runs are meant. What is zero leaves all in. In words, letter
// case does not count and * stands for any letters.
type Filter struct {
	Job, Board, Serial string
	Firmware           string // its name, or the beginning of its digest, eight figures at least
	Scenario           string // one that trials were performed of
	Verdict            rule.Verdict
	Since, Until       time.Time // of the beginning; Until is not in it
	Last               int       // of those that all else lets through, the latest so many
}

// leastDigest is how much of a digest names a firmware.
const leastDigest = 8

// A condition is a part of a WHERE clause, with what it asks for.
type condition struct {
	parts []string
	args  []any
}

// add adds a part in which each ? is one value.
func (c *condition) add(part string, arg any) {
	c.args = append(c.args, arg)
	c.parts = append(c.parts, strings.ReplaceAll(part, "?", fmt.Sprintf("$%d", len(c.args))))
}

func (c *condition) word(column, word string) {
	if word != "" {
		c.add(`LOWER(`+column+`) LIKE LOWER(?) ESCAPE '\'`, pattern(word))
	}
}

func (c *condition) String() string {
	if len(c.parts) == 0 {
		return ""
	}
	return " WHERE " + strings.Join(c.parts, " AND ")
}

// pattern is a word with * as LIKE has it.
func pattern(word string) string {
	return strings.NewReplacer(`\`, `\\`, `%`, `\%`, `_`, `\_`, `*`, `%`).Replace(word)
}

func (f Filter) where() condition {
	var c condition
	c.word("r.job", f.Job)
	c.word("r.board", f.Board)
	c.word("r.serial", f.Serial)
	if len(f.Firmware) >= leastDigest {
		c.add(`(LOWER(r.firmware) LIKE LOWER(?) ESCAPE '\' OR r.digest LIKE LOWER(?) || '%' ESCAPE '\')`, pattern(f.Firmware))
	} else {
		c.word("r.firmware", f.Firmware)
	}
	if f.Scenario != "" {
		c.add(`EXISTS (SELECT 1 FROM trials s WHERE s.run = r.id AND LOWER(s.scenario) LIKE LOWER(?) ESCAPE '\')`, pattern(f.Scenario))
	}
	if f.Verdict != rule.Unsettled {
		c.add(`r.verdict = ?`, int64(f.Verdict))
	}
	if !f.Since.IsZero() {
		c.add(`r.began >= ?`, f.Since.UnixNano())
	}
	if !f.Until.IsZero() {
		c.add(`r.began < ?`, f.Until.UnixNano())
	}
	return c
}

// Runs lists all runs, the one entered first before the others.
func (l *Logbook) Runs() ([]Entry, error) { return l.Select(Filter{}) }

// Select lists the runs that a filter lets through, in the order in which they were entered.
func (l *Logbook) Select(f Filter) ([]Entry, error) {
	entries, err := selected(l.db, f)
	if err != nil {
		return nil, fmt.Errorf("logbook %s: list the runs: %w", l.name, l.engine.explain(err))
	}
	return entries, nil
}

func selected(q querier, f Filter) ([]Entry, error) {
	c := f.where()
	limit := ""
	if f.Last > 0 {
		limit = fmt.Sprintf(" LIMIT %d", f.Last)
	}
	rows, err := q.Query(`SELECT r.state, r.run, (SELECT COUNT(*) FROM trials t WHERE t.run = r.id),
		(SELECT COUNT(*) FROM certified c WHERE c.run = r.id),
		(SELECT COUNT(*) FROM trials t WHERE t.run = r.id AND t.dropped <> 0)
		FROM runs r`+c.String()+` ORDER BY r.entered DESC, r.began DESC, r.id DESC`+limit, c.args...)
	if err != nil {
		return nil, err
	}
	defer rows.Close()
	var all []Entry
	for rows.Next() {
		var s state
		var body string
		var e Entry
		if err := rows.Scan(&s, &body, &e.Trials, &e.Certified, &e.Dropped); err != nil {
			return nil, err
		}
		run, err := decodeRun(body, s)
		if err != nil {
			return nil, err
		}
		e.ID, e.Began, e.Ended, e.UnderWay = run.ID, run.Began, run.Ended, s == underWay
		e.Job, e.Controller, e.Bench = run.Job, run.Controller, run.Bench.Name
		e.Scenarios, e.Verdict, e.Reason = len(run.Scenarios), run.Verdict, run.Reason
		all = append(all, e)
	}
	slices.Reverse(all)
	return all, rows.Err()
}
