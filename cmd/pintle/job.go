package main

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"pintle/drivers/virtual"
	"pintle/scenarios"
	"pintle/scenarios/yamlfile"
)

// loadJob reads a job folder; without one, the demo.
func loadJob(dir string) (*scenarios.Job, error) {
	if dir == "" {
		return scenarios.Demo(equipment())
	}
	switch info, err := os.Stat(dir); {
	case errors.Is(err, fs.ErrNotExist):
		return nil, usage(noFolder(dir))
	case err == nil && !info.IsDir():
		return nil, usage(fmt.Errorf("%s is a file, and a job is the folder that holds bench.yaml, gate.yaml and controller.yaml%s", dir, meant(dir)))
	}
	job, err := scenarios.Load(os.DirFS(dir), dir, equipment())
	if err != nil {
		return nil, usage(describe(err))
	}
	if err := checkDefects(job); err != nil {
		return nil, usage(err)
	}
	return job, attachCheck(job, dir)
}

// noFolder says that a folder is not there. The word may have been meant as a
// scenario of the demo.
func noFolder(dir string) error {
	known := jobFolders(filepath.Dir(dir))
	if demo, err := scenarios.Demo(equipment()); err == nil {
		for _, s := range demo.Scenarios {
			known = append(known, s.Name)
		}
	}
	if near := suggestion(dir, known); near != "" {
		return fmt.Errorf("%s: there is no such folder, and no such scenario in the demo%s", dir, near)
	}
	return fmt.Errorf("%s: there is no such folder, and no such scenario in the demo; pintle init %s makes a job folder, pintle list lists the scenarios", dir, quoteArg(dir))
}

// meant asks whether the job was meant that a file belongs to, where it does to one.
func meant(file string) string {
	for dir := filepath.Dir(file); ; dir = filepath.Dir(dir) {
		if _, err := os.Stat(filepath.Join(dir, "controller.yaml")); err == nil {
			return fmt.Sprintf(": did you mean %q?", dir)
		}
		if dir == filepath.Dir(dir) {
			return ""
		}
	}
}

// jobFolders are the folders in one that look like those of jobs.
func jobFolders(in string) (found []string) {
	files, _ := filepath.Glob(filepath.Join(in, "*", "controller.yaml"))
	for _, f := range files {
		found = append(found, filepath.Dir(f))
	}
	return found
}

// describe introduces the mistakes in files, which speak for themselves.
func describe(err error) error {
	var all yamlfile.Mistakes
	if !errors.As(err, &all) || len(all) == 1 {
		return err
	}
	return fmt.Errorf("%d mistakes:\n%w", len(all), err)
}

// checkDefects knows the defects of the simulated controller, which the files'
// reader cannot.
func checkDefects(job *scenarios.Job) error {
	var names []string
	for _, d := range virtual.Defects() {
		names = append(names, d.Name)
	}
	var bad yamlfile.Mistakes
	for _, d := range job.Controller.Defects {
		known := false
		for _, n := range names {
			known = known || n == d.Text
		}
		if !known {
			bad = append(bad, d.Wrong(fmt.Sprintf("the simulated controller has no defect %q", d.Text), yamlfile.DidYouMean(d.Text, names)))
		}
	}
	return bad.Err()
}

// split takes a call's arguments apart: a job folder, if the first is one, then
// the names of scenarios.
func split(args []string) (dir string, names []string) {
	if len(args) == 0 {
		return "", nil
	}
	if info, err := os.Stat(args[0]); err == nil && info.IsDir() {
		return args[0], args[1:]
	}
	if demo, err := scenarios.Demo(equipment()); err == nil {
		if _, ok := demo.Scenario(args[0]); ok {
			return "", args
		}
	}
	return args[0], args[1:]
}

// choose gives the scenarios named, or all that apply.
func choose(job *scenarios.Job, names []string) ([]scenarios.Scenario, error) {
	if len(names) == 0 {
		all := job.Applicable()
		if len(all) == 0 {
			return nil, usage(errors.New("no scenario applies to this job: see pintle list"))
		}
		return all, nil
	}
	var known []string
	for _, s := range job.Scenarios {
		known = append(known, s.Name)
	}
	var chosen []scenarios.Scenario
	var errs []error
	for i, n := range names {
		s, ok := job.Scenario(n)
		switch {
		case ok && slices.Contains(names[:i], n):
			errs = append(errs, fmt.Errorf("scenario %s is named twice; --trials N performs it more often", n))
		case !ok && isFolder(n):
			errs = append(errs, fmt.Errorf("%s is a folder, and %s is performed already: one job at a time, and then the names of its scenarios", n, cmp.Or(job.Dir, "the demo")))
		case !ok:
			errs = append(errs, fmt.Errorf("there is no scenario %q%s", n, another(job, n, known)))
		case s.NotApplicable != "":
			errs = append(errs, fmt.Errorf("scenario %s does not apply to this job: %s; bench.yaml tells what the bench has", n, s.NotApplicable))
		default:
			chosen = append(chosen, *s)
		}
	}
	if len(errs) > 0 {
		return nil, usage(errors.Join(errs...))
	}
	return chosen, nil
}

// another says what may have been meant by a scenario's name that is none.
func another(job *scenarios.Job, name string, known []string) string {
	switch bare := strings.TrimSuffix(filepath.Base(name), ".yaml"); {
	case strings.HasPrefix(name, "–") || strings.HasPrefix(name, "—"):
		return ": a flag begins with two hyphens, --, and this begins with a longer dash"
	case slices.Contains(known, bare):
		return fmt.Sprintf(": did you mean %q?", bare)
	case strings.Contains(name, ","):
		return "; several names go apart by spaces"
	}
	if near := suggestion(name, known); near != "" {
		return near
	}
	return strings.TrimSuffix("; pintle list "+quoteArg(job.Dir), " ") + " lists them"
}

func isFolder(name string) bool {
	info, err := os.Stat(name)
	return err == nil && info.IsDir()
}

// suggestion offers the nearest of the words known.
func suggestion(word string, known []string) string {
	if near, ok := yamlfile.Nearest(word, known); ok {
		return fmt.Sprintf(": did you mean %q?", near)
	}
	return ""
}
