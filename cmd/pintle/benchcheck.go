package main

import (
	"context"
	"crypto/sha256"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"pintle/reports"
	"pintle/rig"
	"pintle/rig/fitness"
	"pintle/rig/rule"
	"pintle/rig/share"
	"pintle/rig/signal"
	"pintle/scenarios"
)

// checkFile is where the latest check of a bench is kept, in the job's folder.
const checkFile = "bench-check.json"

func checkPath(dir string) string {
	if dir == "" {
		dir = demoFolder
	}
	return filepath.Join(dir, checkFile)
}

// checkBench puts the bench itself to the test, prints what came of it, and keeps it.
func (a *app) checkBench(ctx context.Context, dir string, quick bool) error {
	job, err := loadJob(dir)
	if err != nil {
		return err
	}
	open, _, err := opener(job)
	if err != nil {
		return err
	}
	bench, facts, err := open()
	if err != nil {
		return void(fmt.Errorf("open the bench: %w", err))
	}
	setup := setupOf(job, facts)
	setup.Tell = a.tellPart
	if guarded := kindOfBench(job).guarded; guarded != nil {
		setup.Guard = func(most signal.Current) (rig.Bench, func() error, error) { return guarded(job, bench, most) }
	}
	if quick {
		setup.Lateness, setup.Rest, setup.Steps, setup.Drops = 5*time.Second, 5*time.Second, 8, 2
	}
	fmt.Fprintln(a.err, "The bench drives its lines and the motor now: keep clear of all that moves.")
	report, failed := fitness.Run(ctx, bench, setup)
	failed = errors.Join(failed, bench.Close())
	report.Date, report.Described = time.Now().UTC().Truncate(time.Second), describedBy(job)
	if err := keepCheck(checkPath(dir), &report); err != nil {
		return err
	}
	if err := report.Text(a.out); err != nil {
		return err
	}
	fmt.Fprintf(a.out, "Kept, with all figures and limits, in %s.\n", checkPath(dir))
	a.next(afterCheck(&report, dir))
	if failed != nil {
		return void(failed)
	}
	if report.Verdict == rule.Fail { // of the bench, not of any controller
		return &ended{status: statusVoid}
	}
	return done(report.Verdict)
}

// setupOf is what a job says of the bench that is put to the test.
func setupOf(job *scenarios.Job, facts rig.Facts) fitness.Setup {
	s := fitness.Setup{Facts: facts, Identity: facts.Meter.Says, Expected: job.Bench.Meter.Identity.Text, Motion: thresholdsOf(job),
		Clock: share.Of(job.Bench.Clock.Value), Protect: guardOf(job)}
	for _, e := range job.Bench.Lines {
		if l, ok := signal.LineNamed(e.Name.Text); ok && e.Value.ReadBy.Given() {
			s.Pairs = append(s.Pairs, fitness.Pair{Output: l, Input: e.Value.ReadBy.Line})
		}
	}
	return s
}

// afterCheck is what a person does with a bench that was checked: mends it and checks it
// again, or lets it judge.
func afterCheck(r *fitness.Report, dir string) string {
	in := ""
	if dir != "" {
		in = " " + quoteArg(dir)
	}
	if r.Refuses() != nil {
		return "pintle check" + in + " --bench"
	}
	return "pintle run" + in + " normal-cycle"
}

// tellPart tells a part of the check as it comes: it takes minutes.
func (a *app) tellPart(r fitness.Result) { fmt.Fprintf(a.err, "%-13s %s\n", r.Verdict, r.Name) }

func keepCheck(path string, r *fitness.Report) error {
	return write(path, func(w io.Writer) error { return reports.WriteJSON(w, r) })
}

// lastCheck is the latest check of the bench; nil where there is none.
func lastCheck(dir string) (*fitness.Report, error) {
	text, err := os.ReadFile(checkPath(dir))
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	if err != nil {
		return nil, usage(fmt.Errorf("read the bench's last check: %w", err))
	}
	return readCheck(checkPath(dir), text)
}

func readCheck(name string, text []byte) (*fitness.Report, error) {
	var r fitness.Report
	if err := json.Unmarshal(text, &r); err != nil {
		return nil, usage(fmt.Errorf("read the bench's last check, %s: %w; check the bench anew: pintle check --bench", name, err))
	}
	return &r, nil
}

// attachCheck makes the latest check of the bench one of the files that a job rests on.
// The demo's bench is the same everywhere and rests on none.
func attachCheck(job *scenarios.Job, dir string) error {
	if dir == "" {
		return nil
	}
	job.Files = slices.DeleteFunc(job.Files, func(f scenarios.File) bool { return f.Name == checkFile })
	text, err := os.ReadFile(checkPath(dir))
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return usage(fmt.Errorf("read the bench's last check: %w", err))
	}
	job.Files = append(job.Files, scenarios.File{Name: checkFile, Text: text})
	slices.SortFunc(job.Files, func(a, b scenarios.File) int { return strings.Compare(a.Name, b.Name) })
	return nil
}

// attachedCheck is the check among the files that a job rests on; nil where there is none.
func attachedCheck(job *scenarios.Job) (*fitness.Report, error) {
	for _, f := range job.Files {
		if f.Name == checkFile {
			return readCheck(f.Name, f.Text)
		}
	}
	return nil, nil
}

// vetBench refuses a real bench that failed its check, and says when there is none or
// an old one. It gives lines for the certificate.
func (a *app) vetBench(job *scenarios.Job, dir string) ([]string, error) {
	if err := attachCheck(job, dir); err != nil {
		return nil, err
	}
	if !kindOfBench(job).checked {
		return nil, nil
	}
	r, err := attachedCheck(job)
	if err != nil {
		return nil, err
	}
	age := r.Age(time.Now(), 0)
	if age == fitness.None {
		const none = "this bench has not been put to the test: pintle check --bench"
		fmt.Fprintln(a.err, "pintle: "+none)
		return checkedLines(job, nil, age), nil
	}
	if err := r.Refuses(); err != nil {
		return nil, void(fmt.Errorf("%w on %s: %v; mend it and check it anew: pintle check --bench", err, r.Date.Format(time.DateOnly), strings.Join(r.Failed(), ", ")))
	}
	if age == fitness.Old {
		fmt.Fprintf(a.err, "pintle: the bench was last put to the test on %s, which is long ago: pintle check --bench\n", r.Date.Format(time.DateOnly))
	}
	if redescribed(r, job) {
		fmt.Fprintf(a.err, "pintle: bench.yaml was changed since the bench was put to the test on %s: pintle check --bench\n", r.Date.Format(time.DateOnly))
	}
	return checkedLines(job, r, age), nil
}

const longAgo = "; long ago"

// checkedLines tells of the check of a job's bench, for record and certificate.
func checkedLines(job *scenarios.Job, r *fitness.Report, age fitness.Age) []string {
	if !kindOfBench(job).checked {
		return nil
	}
	if age == fitness.None {
		return []string{"not put to the test before this run"}
	}
	line := fmt.Sprintf("checked on %s: %v", r.Date.Format(time.DateOnly), r.Verdict)
	if len(r.Open) > 0 {
		line += "; could not be told: " + strings.Join(r.Open, ", ")
	}
	if age == fitness.Old {
		line += longAgo
	}
	if redescribed(r, job) {
		line += "; bench.yaml was changed since"
	}
	return append([]string{line}, r.Measured.Words()...)
}

// describedBy is the digest of the file that says what the bench is.
func describedBy(job *scenarios.Job) string {
	for _, f := range job.Files {
		if f.Name == "bench.yaml" {
			return fmt.Sprintf("%x", sha256.Sum256(f.Text))
		}
	}
	return ""
}

// redescribed says that the bench was described otherwise when it was checked: a pin or a
// polarity that is wrong now was not seen then.
func redescribed(r *fitness.Report, job *scenarios.Job) bool {
	return r.Described != "" && r.Described != describedBy(job)
}

// offOf is the meter's noise and its reading of no current, for budgets: what was stated,
// or what the last check of a real bench measured where that is more.
func offOf(job *scenarios.Job) (noise, zero signal.Current) {
	noise, zero = job.Bench.Meter.Noise.Value, job.Bench.Meter.Zero.Value
	if !kindOfBench(job).checked {
		return noise, zero
	}
	r, err := attachedCheck(job)
	if err != nil || r.Age(time.Now(), 0) == fitness.None {
		return noise, zero
	}
	if m := r.Measured.Noise; m != nil {
		noise = max(noise, *m)
	}
	if m := r.Measured.Zero; m != nil {
		zero = max(zero, m.Abs())
	}
	return noise, zero
}
