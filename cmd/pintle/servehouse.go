package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"maps"
	"runtime"
	"slices"
	"strings"
	"time"

	"pintle/drivers/live"
	"pintle/reports/livepage"
	"pintle/reports/logbook"
	"pintle/rig"
	"pintle/scenarios"
)

// shownBench is what the page calls the bench. What is rehearsed there looks like the work of a
// real one, so that it has to be said.
func shownBench(job *scenarios.Job) string {
	if kindOfBench(job).simulated {
		return benchName(job) + ": a rehearsal with a simulated controller, no evidence about any hardware"
	}
	return benchName(job)
}

// houseOf tells the page what there is, and how a run is performed.
func houseOf(a *app, job *scenarios.Job, dir, file string, log *logbook.Logbook, pace float64) (*livepage.House, error) {
	all, err := choose(job, nil)
	if err != nil {
		return nil, err
	}
	h := &livepage.House{Title: job.Title, Place: job.Place, Controller: controllerOf(job).Called(), Gate: job.Gate.Spec.Title, Bench: shownBench(job),
		AnyPace: anyPace(job), Pace: pace, Lines: job.Lines(), Log: log, Warnings: mistakable(job),
		Changed: func() error { return sinceRead(job, dir) },
		Check:   func() livepage.Check { return checkWords(job, dir) },
		Papers:  papers(log),
	}
	for i := range all {
		s := livepage.Scenario{Name: all[i].Name, Title: all[i].Title, Why: all[i].Why}
		for r, rule := range all[i].Rules {
			s.Rules = append(s.Rules, livepage.Rule{Name: rule.Name, Limit: all[i].LimitTexts[r]})
		}
		h.Scenarios = append(h.Scenarios, s)
	}
	h.Perform = func(ctx context.Context, c livepage.Choice, witness func() rig.Witness) (livepage.Result, error) {
		return performFor(ctx, job, dir, file, c, witness)
	}
	return h, nil
}

// sinceRead says which of a job's files are not any more what they were when it was read.
// The pages show claims, lines and scenarios as they were then.
func sinceRead(job *scenarios.Job, dir string) error {
	if dir == "" {
		return nil // the demo is in the program
	}
	const next = "end pintle serve with Ctrl-C and start it again, so that the page and the run go by the same files"
	now, err := loadJob(dir)
	if err != nil {
		return fmt.Errorf("the job's files were changed after pintle serve had read them, and have mistakes now: %w; put them right, then %s", err, next)
	}
	if other := unlike(job.Files, now.Files); len(other) > 0 {
		return fmt.Errorf("the job's files were changed after pintle serve had read them (%s): %s", strings.Join(other, ", "), next)
	}
	return nil
}

// unlike names the files that are in one job and not in the other, or with another text.
// That of the bench's check may come and go: it is read again before each run.
func unlike(was, now []scenarios.File) []string {
	texts := map[string]string{}
	for _, f := range was {
		texts[f.Name] = string(f.Text)
	}
	var other []string
	for _, f := range now {
		if text, ok := texts[f.Name]; !ok || text != string(f.Text) {
			other = append(other, f.Name)
		}
		delete(texts, f.Name)
	}
	other = slices.DeleteFunc(slices.AppendSeq(other, maps.Keys(texts)), func(name string) bool { return name == checkFile })
	slices.Sort(other)
	return other
}

// performFor performs what was chosen on the page, as pintle run does.
func performFor(ctx context.Context, job *scenarios.Job, dir, file string, c livepage.Choice, witness func() rig.Witness) (livepage.Result, error) {
	quiet := &app{out: io.Discard, err: io.Discard, raw: io.Discard}
	chosen, err := choose(job, c.Scenarios)
	if err != nil {
		return livepage.Result{}, err
	}
	o := runOptions{trials: c.Trials, seed: c.Seed, workers: runtime.NumCPU(), log: file, shows: demonstration{trials: c.Trials}}
	if c.Pace > 0 {
		o.workers = 1
	}
	if o.checked, err = quiet.vetBench(job, dir); err != nil {
		return livepage.Result{}, err
	}
	p, err := quiet.prepare(job, chosen, o)
	if err != nil {
		return livepage.Result{}, err
	}
	defer p.log.Close()
	p.plan.Witness = witness
	if anyPace(job) && c.Pace > 0 {
		p.plan.Open = atPace(p.plan.Open, c.Pace)
	}
	performed, err := p.finish(ctx)
	if err != nil {
		performed = errors.Join(performed, err)
	}
	return livepage.Result{ID: p.run.ID, Verdict: p.run.Verdict, Reason: p.run.Reason}, performed
}

// atPace lets a bench whose time is simulated go no faster than people can watch.
func atPace(open openBench, pace float64) openBench {
	return func() (rig.Bench, rig.Facts, error) {
		b, facts, err := open()
		if err != nil {
			return nil, facts, err
		}
		return live.Paced(b, live.NewClock(), pace), facts, nil
	}
}

// checkWords tells of the bench's last check.
func checkWords(job *scenarios.Job, dir string) livepage.Check {
	r, err := lastCheck(dir)
	switch {
	case err != nil:
		return livepage.Check{Text: err.Error()}
	case r == nil && anyPace(job):
		return livepage.Check{Text: "This bench is simulated, and has not been put to the test; pintle check --bench does."}
	case r == nil:
		return livepage.Check{Text: "This bench has not been put to the test: pintle check --bench"}
	}
	var words []string
	if redescribed(r, job) {
		words = append(words, "bench.yaml was changed since")
	}
	if r.Aborted != "" {
		words = append(words, "it ended early: "+r.Aborted)
	}
	if failed := r.Failed(); len(failed) > 0 {
		words = append(words, "failed: "+strings.Join(failed, ", "))
	}
	if len(r.Open) > 0 {
		words = append(words, "could not be told: "+strings.Join(r.Open, ", "))
	}
	words = append(words, r.Measured.Words()...)
	return livepage.Check{Date: r.Date.Format(time.DateOnly), Verdict: r.Verdict.String(), Text: strings.Join(words, "; ")}
}
