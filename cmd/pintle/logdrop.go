package main

import (
	"fmt"
	"regexp"
	"strconv"
	"time"

	"pintle/reports/logbook"
	"pintle/rig/wording"
)

// drop says what is old enough to go, and lets it go where that was asked for.
func (a *app) drop(log *logbook.Logbook, o logOptions, now time.Time) error {
	before, err := instant(o.olderThan, now, false)
	if err != nil {
		return usage(fmt.Errorf("--drop-older-than %w", err))
	}
	d := logbook.Drop{Filter: o.filter, Before: before, KeepLast: o.keepLast, TracesOnly: o.tracesOnly, At: now.UTC()}
	do := log.Plan
	if o.reallyDo {
		do = log.Drop
	}
	went, err := do(d)
	if err == nil || len(went.Runs) > 0 {
		a.tellDropped(went, o)
	}
	if err != nil {
		return usage(err)
	}
	return nil
}

func (a *app) tellDropped(went logbook.Dropped, o logOptions) {
	verb, what := "would go", "the run and its traces"
	if o.reallyDo {
		verb = "gone"
	}
	if o.tracesOnly {
		what = "its traces; findings and verdicts stay"
	}
	for _, r := range went.Runs {
		fmt.Fprintf(a.out, "%-8s  %-20s %-13s %s: %s\n", verb, r.ID, verdictOf(r), r.Controller.Called(), what)
	}
	for _, r := range went.Stay {
		fmt.Fprintf(a.out, "%-8s  %-20s %-13s %s: %s\n", "stays", r.ID, verdictOf(r.Entry), r.Controller.Called(), r.Why)
	}
	fmt.Fprintf(a.out, "%s: %s, %s, %s, %s\n", verb, wording.Count(len(went.Runs), "run"), wording.Count(went.Trials, "trial"), wording.Count(went.Traces, "trace"), size(went.Bytes))
	if !o.reallyDo && len(went.Runs) > 0 {
		fmt.Fprintln(a.out, "nothing was dropped; with --yes it is")
	}
}

// size writes a number of bytes for people.
func size(n int64) string {
	for _, u := range []struct {
		of   int64
		name string
	}{{1e9, "GB"}, {1e6, "MB"}, {1e3, "kB"}} {
		if n >= u.of {
			return fmt.Sprintf("%.1f %s", float64(n)/float64(u.of), u.name)
		}
	}
	return fmt.Sprintf("%d bytes", n)
}

var age = regexp.MustCompile(`^([0-9]{1,5})(h|d|w|mo|y)$`)

// instant understands a date, a date and time, or an age; empty is no instant. A date
// is that day's beginning here, or the next one's where its end is meant.
func instant(text string, now time.Time, end bool) (time.Time, error) {
	if text == "" {
		return time.Time{}, nil
	}
	if m := age.FindStringSubmatch(text); m != nil {
		n, _ := strconv.Atoi(m[1])
		switch m[2] {
		case "h":
			return now.Add(-time.Duration(n) * time.Hour), nil
		case "d":
			return now.AddDate(0, 0, -n), nil
		case "w":
			return now.AddDate(0, 0, -7*n), nil
		case "mo":
			return now.AddDate(0, -n, 0), nil
		}
		return now.AddDate(-n, 0, 0), nil
	}
	if t, err := time.ParseInLocation(time.DateOnly, text, now.Location()); err == nil {
		if end {
			t = t.AddDate(0, 0, 1)
		}
		return t, nil
	}
	for _, layout := range []string{"2006-01-02T15:04", "2006-01-02T15:04:05"} {
		if t, err := time.ParseInLocation(layout, text, now.Location()); err == nil {
			return t, nil
		}
	}
	if t, err := time.Parse(time.RFC3339Nano, text); err == nil {
		return t, nil
	}
	return time.Time{}, fmt.Errorf("%q: it is a date such as 2031-05-04, a date and time such as 2031-05-04T18:00, or an age such as 36h, 30d, 6w, 3mo or 2y", text)
}

// tellNoTrace says why there is no strip chart.
func (a *app) tellNoTrace(dropped error) error {
	_, err := fmt.Fprintf(a.out, "\nno strip chart: %v\n", dropped)
	return err
}
