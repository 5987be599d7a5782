package main

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/spf13/cobra"

	"pintle/reports"
	"pintle/reports/logbook"
	"pintle/reports/trend"
	"pintle/rig/fold"
	"pintle/rig/rule"
	"pintle/rig/wording"
)

// logOptions are the flags of pintle log.
type logOptions struct {
	filter               logbook.Filter
	verdict              string
	since, until         string
	json                 bool
	trend, svg           string
	backup               string
	check                bool
	olderThan            string
	keepLast             int
	tracesOnly, reallyDo bool
}

func logCommand(a *app) *cobra.Command {
	var file string
	var o logOptions
	c := &cobra.Command{
		Use:   "log",
		Short: "the runs in the logbook",
		Long: `Lists the runs in the logbook, the earliest first. The filters take words as they were
written, whatever their letter case; * stands for any letters. A time is a date such as
2031-05-04, a date and time such as 2031-05-04T18:00, or an age: 36h, 30d, 6w, 3mo, 2y.

--trend follows a claim, a scenario or one rule of it through the runs listed: median,
worst value and margin in each.

--drop-older-than and --keep-last make room. They say what would go; only with --yes
does it. A run that a certificate rests on, or that is under way, never goes. With
--traces-only findings and verdicts stay, and only the raw traces go: what was measured
can then no longer be judged anew.

--backup writes a copy while runs go on, and reads it through before it has its name.
--check reads all that is in the logbook, and says what is not as it was written.`,
		Args: cobra.NoArgs,
		RunE: func(c *cobra.Command, _ []string) error {
			now := time.Now()
			for flag, n := range map[string]int{"last": o.filter.Last, "keep-last": o.keepLast} {
				if n < 1 && c.Flags().Changed(flag) {
					return usage(fmt.Errorf("--%s %d: it takes a number from 1 up", flag, n))
				}
			}
			if err := o.read(now); err != nil {
				return usage(err)
			}
			log, err := openLog(file)
			if err != nil {
				return err
			}
			defer log.Close()
			return a.log(log, o, now)
		},
	}
	logFlag(c, &file)
	o.flags(c)
	return c
}

func (o *logOptions) flags(c *cobra.Command) {
	f := c.Flags()
	f.StringVar(&o.filter.Job, "job", "", "runs of this `JOB`")
	f.StringVar(&o.filter.Board, "board", "", "of this `BOARD`")
	f.StringVar(&o.filter.Serial, "serial", "", "of the board with this serial `NUMBER`")
	f.StringVar(&o.filter.Firmware, "firmware", "", "of this `FIRMWARE`: its name, or the first eight figures or more of its digest")
	f.StringVar(&o.filter.Scenario, "scenario", "", "that performed this `SCENARIO`")
	f.StringVar(&o.verdict, "verdict", "", "only runs with this `VERDICT`: pass, fail, inconclusive or void")
	f.StringVar(&o.since, "since", "", "begun at this `TIME` or later")
	f.StringVar(&o.until, "until", "", "begun at this `TIME` or earlier; a date counts to its end")
	f.IntVar(&o.filter.Last, "last", 0, "the latest `N` of them")
	f.BoolVar(&o.json, "json", false, "print JSON")
	f.StringVar(&o.trend, "trend", "", "follow a `CLAIM`, SCENARIO or SCENARIO/RULE through the runs")
	f.StringVar(&o.svg, "svg", "", "with --trend: write the picture to `FILE`")
	f.StringVar(&o.backup, "backup", "", "write a copy of the whole logbook to `FILE`")
	f.BoolVar(&o.check, "check", false, "read everything and say what is damaged")
	f.StringVar(&o.olderThan, "drop-older-than", "", "drop runs begun before this `TIME` or age, such as 2y")
	f.IntVar(&o.keepLast, "keep-last", 0, "drop all runs but the latest `N`; with --drop-older-than: keep these however old")
	f.BoolVar(&o.tracesOnly, "traces-only", false, "drop traces alone; findings and verdicts stay")
	f.BoolVar(&o.reallyDo, "yes", false, "do what would be done")
	c.MarkFlagsMutuallyExclusive("trend", "backup", "check", "drop-older-than")
	c.MarkFlagsMutuallyExclusive("trend", "backup", "check", "keep-last")
	for _, flag := range []string{"drop-older-than", "keep-last"} {
		c.MarkFlagsMutuallyExclusive("json", flag)
		c.MarkFlagsMutuallyExclusive("last", flag)
	}
}

// read understands what is more than a word, and says all that is wrong.
func (o *logOptions) read(now time.Time) error {
	var errs []error
	for _, v := range []rule.Verdict{rule.Pass, rule.Fail, rule.Inconclusive, rule.Void} {
		if strings.EqualFold(o.verdict, v.String()) {
			o.filter.Verdict = v
		}
	}
	if o.verdict != "" && o.filter.Verdict == rule.Unsettled {
		errs = append(errs, fmt.Errorf("--verdict %q: it is pass, fail, inconclusive or void", o.verdict))
	}
	for _, t := range []struct {
		flag, text string
		to         *time.Time
		end        bool
	}{{"since", o.since, &o.filter.Since, false}, {"until", o.until, &o.filter.Until, true}} {
		at, err := instant(t.text, now, t.end)
		if err != nil {
			errs = append(errs, fmt.Errorf("--%s %w", t.flag, err))
		}
		*t.to = at
	}
	if dropping := o.olderThan != "" || o.keepLast > 0; !dropping && (o.tracesOnly || o.reallyDo) {
		errs = append(errs, errors.New("--traces-only and --yes go with --drop-older-than or --keep-last"))
	}
	if o.svg != "" && o.trend == "" {
		errs = append(errs, errors.New("--svg goes with --trend"))
	}
	return errors.Join(errs...)
}

// backUp writes a copy of the logbook, under a name that is still free.
func (a *app) backUp(log *logbook.Logbook, to string) error {
	if err := os.MkdirAll(filepath.Dir(to), 0o755); err != nil {
		return elsewhere(fmt.Errorf("make the folder of %s: %w", to, err))
	}
	err := log.Backup(to)
	if errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("%w; a backup overwrites nothing: name a file that is not there yet", err)
	}
	if err != nil {
		return elsewhere(err)
	}
	fmt.Fprintf(a.out, "backup %s: written, and read through without a fault\n", to)
	return nil
}

// log does what was asked for.
func (a *app) log(log *logbook.Logbook, o logOptions, now time.Time) error {
	switch {
	case o.check:
		if err := log.Check(); err != nil {
			return usage(err)
		}
		fmt.Fprintln(a.out, "the logbook is whole: every run, text and trace in it is as it was written")
		return nil
	case o.backup != "":
		if err := a.backUp(log, o.backup); err != nil {
			return usage(err)
		}
		return nil
	case o.olderThan != "" || o.keepLast > 0:
		return a.drop(log, o, now)
	}
	runs, err := log.Select(o.filter)
	if err != nil {
		return usage(err)
	}
	switch {
	case o.trend != "":
		return a.trend(log, runs, o)
	case o.json:
		return a.listJSON(runs)
	}
	return a.listRuns(runs)
}

func (a *app) listRuns(runs []logbook.Entry) error {
	if len(runs) == 0 {
		fmt.Fprintln(a.out, "no runs")
	}
	for _, r := range runs {
		fmt.Fprintf(a.out, "%-20s %-13s %s, %s\n", r.ID, verdictOf(r),
			wording.Count(r.Scenarios, "scenario"), wording.Count(r.Trials, "trial"))
		for _, note := range notes(r) {
			fmt.Fprint(a.out, fold.Hanging("    ", note, a.wide()))
		}
	}
	return nil
}

// notes are what else there is to say of a run.
func notes(r logbook.Entry) []string {
	all := []string{r.Controller.Called()}
	if r.Reason != "" {
		all = append(all, r.Reason)
	}
	if r.Certified > 0 {
		all = append(all, "a certificate rests on it")
	}
	if r.Dropped > 0 {
		all = append(all, fmt.Sprintf("the traces of %s were dropped; findings and verdicts stay", wording.Count(r.Dropped, "trial")))
	}
	return all
}

// verdictOf is a run's verdict, or that it is under way.
func verdictOf(r logbook.Entry) string {
	if r.UnderWay {
		return "under way"
	}
	return r.Verdict.String()
}

// A logEntry is a run of the list as JSON.
type logEntry struct {
	Run       string     `json:"run"`
	Began     time.Time  `json:"began"`
	Ended     *time.Time `json:"ended,omitempty"`
	Job       string     `json:"job"`
	Board     string     `json:"board"`
	Serial    string     `json:"serial,omitempty"`
	Firmware  string     `json:"firmware,omitempty"`
	Digest    string     `json:"firmwareDigest,omitempty"`
	Bench     string     `json:"bench"`
	Scenarios int        `json:"scenarios"`
	Trials    int        `json:"trials"`
	Verdict   string     `json:"verdict"`
	Reason    string     `json:"reason,omitempty"`
	Certified int        `json:"certificates"`
	Dropped   int        `json:"tracesDropped"`
}

func (a *app) listJSON(runs []logbook.Entry) error {
	all := []logEntry{}
	for _, r := range runs {
		c := r.Controller
		e := logEntry{Run: r.ID, Began: r.Began, Job: r.Job, Board: c.Board, Serial: c.Serial, Firmware: c.Firmware, Digest: c.Digest,
			Bench: r.Bench, Scenarios: r.Scenarios, Trials: r.Trials, Verdict: verdictOf(r), Reason: r.Reason, Certified: r.Certified, Dropped: r.Dropped}
		if !r.Ended.IsZero() {
			e.Ended = &r.Ended
		}
		all = append(all, e)
	}
	return reports.WriteJSON(a.raw, all)
}

// trend follows what was asked for through the runs.
func (a *app) trend(log *logbook.Logbook, runs []logbook.Entry, o logOptions) error {
	var ids []string
	for _, r := range runs {
		if !r.UnderWay {
			ids = append(ids, r.ID)
		}
	}
	t, err := trend.Of(log, ids, o.trend)
	var unknown *trend.Unknown
	switch {
	case errors.As(err, &unknown):
		return usage(fmt.Errorf("--trend %w%s", err, then(suggestion(o.trend, unknown.Known), "pintle list names scenarios and claims")))
	case err != nil:
		return usage(err)
	}
	if o.svg != "" {
		if err := write(o.svg, t.SVG); err != nil {
			return err
		}
	}
	if o.json {
		return reports.WriteJSON(a.raw, t)
	}
	return t.Text(a.out, tableColumns(a.out))
}
