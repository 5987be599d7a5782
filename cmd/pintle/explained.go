package main

import (
	"cmp"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"time"

	"pintle/reports"
	"pintle/reports/diagnosis"
	"pintle/rig/rule"
	"pintle/rig/signal"
	"pintle/scenarios"
)

// diagnoses explains all findings of a trial that are not a pass, the one that says
// most first; of a trial without any, the trial.
func diagnoses(run *reports.Run, s *reports.Scenario, trial int, trace *signal.Trace) []diagnosis.Diagnosis {
	t := &s.Trials[trial]
	main := diagnosis.OfTrial(run, s, trial, trace)
	if t.Verdict == rule.Pass {
		return nil
	}
	all := []diagnosis.Diagnosis{main}
	if t.Verdict == rule.Void {
		return all // of its findings nothing is said
	}
	for i, f := range t.Findings {
		if reports.Standing(t, f) == rule.Pass {
			continue
		}
		if d := diagnosis.Of(run, s, trial, i, trace); d.Rule != main.Rule {
			all = append(all, d)
		}
	}
	return all
}

// headline explains in a line why a scenario was not passed; empty where it was.
func headline(run *reports.Run, traces reports.TraceSource) func(s *reports.Scenario) string {
	return func(s *reports.Scenario) string {
		trial, ok := reports.WorstTrial(s)
		if !ok || s.Verdict == rule.Pass {
			return ""
		}
		trace, err := traces.Trace(run.ID, s.Name, s.Trials[trial].Number)
		if err != nil {
			trace = nil // it is told without
		}
		return diagnosis.OfTrial(run, s, trial, trace).Headline
	}
}

// repeat is the call that performs a trial again, and what stands in the way of its
// being the same.
func repeat(run *reports.Run, s *reports.Scenario, t *reports.Trial, log string) (call, but string) {
	dir := filepath.Dir(log)
	if _, err := os.Stat(filepath.Join(dir, "controller.yaml")); err != nil {
		dir = folderOf(run)
	}
	words := []string{"pintle", "run"}
	if dir != "" {
		words = append(words, quoteArg(dir))
	}
	words = append(words, s.Name, "--seed", fmt.Sprint(run.Seed), "--trial", fmt.Sprint(t.Number))
	if d := run.Demonstration; d != nil {
		words = append(words, "--demonstrate", fmt.Sprintf("%g/%g", float64(d.Reliability)/1e4, float64(d.Confidence)/1e4))
	}
	return strings.Join(words, " "), changed(run, dir)
}

// folderOf finds the folder of a run's job, which no run knows: none for the demo, else
// one here that has a job of that title, with the very files if there is such a one, else
// a word that stands for it.
func folderOf(run *reports.Run) string {
	if demo, err := scenarios.Demo(equipment()); err == nil && demo.Title == run.Job {
		return ""
	}
	alike := ""
	for _, dir := range append([]string{"."}, jobFolders(".")...) {
		if _, err := os.Stat(filepath.Join(dir, "controller.yaml")); err != nil {
			continue
		}
		job, err := loadJob(dir)
		if err != nil || job.Title != run.Job {
			continue
		}
		if len(others(run, job)) == 0 {
			return dir
		}
		alike = cmp.Or(alike, dir)
	}
	return cmp.Or(alike, "DIR")
}

// quoteArg makes a word safe for a shell.
func quoteArg(s string) string {
	if !strings.ContainsAny(s, " \t\n'\"\\$&;|<>()*?[]#~`!{}") {
		return s
	}
	return "'" + strings.ReplaceAll(s, "'", `'\''`) + "'"
}

// changed says which of the files that a run rests on are no longer what they were.
func changed(run *reports.Run, dir string) string {
	if dir == "DIR" {
		return fmt.Sprintf("DIR is the folder of the job %q, which is not here", run.Job)
	}
	job, err := loadJob(dir)
	if err != nil {
		return "the job's files have mistakes by now"
	}
	other := others(run, job)
	switch n := len(other); {
	case n == 0 && !run.Bench.Virtual:
		return "on a bench in real time no two trials are the same to the microsecond"
	case n == 0:
		return ""
	case n > 3:
		return fmt.Sprintf("%d of the files that the run rests on are not what they were", n)
	}
	return "not what they were: " + strings.Join(other, ", ")
}

// others are the files that a run rests on and a job has no longer as they were.
func others(run *reports.Run, job *scenarios.Job) (other []string) {
	now := map[string]string{}
	for _, f := range job.Files {
		now[f.Name] = string(f.Text)
	}
	for _, f := range run.Files {
		if text, ok := now[f.Name]; !ok || text != f.Text {
			other = append(other, f.Name)
		}
	}
	return other
}

// zoom reads a part of a trial, such as 12.3s..14s.
func zoom(text string) (from, to signal.Instant, err error) {
	if text == "" {
		return 0, 0, nil
	}
	a, b, ok := strings.Cut(text, "..")
	x, errA := time.ParseDuration(strings.TrimSpace(a))
	y, errB := time.ParseDuration(strings.TrimSpace(b))
	if !ok || errA != nil || errB != nil || x < 0 || y <= x {
		return 0, 0, usage(fmt.Errorf("--zoom %q: it takes two times of the trial, the earlier first, such as 12.3s..14s", text))
	}
	return signal.Instant(x), signal.Instant(y), nil
}
