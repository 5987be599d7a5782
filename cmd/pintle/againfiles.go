package main

import (
	"crypto/sha256"
	"encoding/hex"
	"slices"
	"strings"

	"pintle/reports"
	"pintle/rig/fitness"
	"pintle/rig/rule"
	"pintle/scenarios"
)

// files holds what the record says of the job against what its own files say.
func (a *again) files() {
	a.finest.Do(a.reach)
	x, y := a.run, a.ledger.run
	for _, f := range x.Files {
		sum := sha256.Sum256([]byte(f.Text))
		a.differ("file "+f.Name, "digest", f.SHA256, hex.EncodeToString(sum[:]))
	}
	for _, part := range []struct {
		name          string
		recorded, now any
	}{
		{"title of the job", x.Job, y.Job}, {"place", x.Place, y.Place}, {"gate", x.Gate, y.Gate},
		{"controller", x.Controller, asCalled(y.Controller, x.Controller)},
		{"decision rule", []any{x.Decision, x.DecisionBy, x.Coverage}, []any{y.Decision, y.DecisionBy, y.Coverage}},
		{"sources of uncertainty", x.Sources, sourcesThen(max(len(x.Sources), a.source))}, {"scenarios left out", x.LeftOut, y.LeftOut},
		{"demonstration", x.Demonstration, y.Demonstration},
		{"who performed it for whom", []any{x.Laboratory, x.Customer, x.At}, []any{y.Laboratory, y.Customer, y.At}},
		{"kind of bench", recordedBench(&x.Bench), benchOfFiles(a.job)}, {"what counts as moving", moving(&x.Bench), moving(&y.Bench)},
		{"what meter and clock may be off by", x.Bench.Description[:min(1, len(x.Bench.Description))], y.Bench.Description},
		{"last check of the bench", checkThen(&x.Bench), checkOfFiles(a.job)},
		{"what the bench can tell", x.Bench.Finest, y.Bench.Finest}, {"deviations", x.Deviations, y.Deviations},
		{"scenarios not performed", x.NotPerformed, listedThen(x.NotPerformed, y.NotPerformed)}, {"number of trials", x.Trials, a.asked()},
	} {
		a.same("run", part.name, part.recorded, part.now)
	}
	for i := range x.Scenarios {
		s, now := &x.Scenarios[i], &y.Scenarios[i]
		a.same(s.Name, "title", []any{s.Title, s.Why}, []any{now.Title, now.Why})
		a.same(s.Name, "rules", s.Rules, now.Rules)
		a.same(s.Name, "faults", s.Faults, now.Faults)
	}
	known := map[string]bool{}
	for _, f := range a.job.Files {
		known[f.Name] = true
	}
	for _, f := range x.Files {
		if !known[f.Name] {
			a.differ("file "+f.Name, "use", "a file that the run rests on", "no job has it")
		}
	}
}

// firstSources is how many sources of uncertainty a program has known at the least.
const firstSources = 20

// named notes the last source of uncertainty that findings name: no table is shorter.
func (a *again) named(all []rule.Finding) {
	a.mu.Lock()
	defer a.mu.Unlock()
	for i := range all {
		if all[i].Appraisal == nil {
			continue
		}
		for _, line := range all[i].Appraisal.Lines {
			a.source = max(a.source, int(line.Source))
		}
	}
}

// sourcesThen is the table of sources as it was when it had so many: more are added at its
// end, and a record made before that is as good as it was.
func sourcesThen(n int) []reports.Source {
	all := sources()
	return all[:min(max(n, firstSources), len(all))]
}

// listedThen is what a record lists of scenarios that were not performed, by what its files
// come to: nothing in one that was made before records listed them. Their number stands
// in its deviations in any case, which have to agree.
func listedThen(recorded, now []reports.LeftOut) []reports.LeftOut {
	if len(recorded) == 0 {
		return recorded
	}
	return now
}

// asCalled puts in what no file of a job says of its controller, but the call of the run did:
// the digest of a firmware, and the name of the file that holds it.
func asCalled(now, recorded reports.Controller) reports.Controller {
	if now.Digest == "" {
		now.Digest = recorded.Digest
	}
	now.DigestOf = recorded.DigestOf
	return now
}

// recordedBench is what a record says of its bench that the bench file says as well. Most
// of all, a rehearsal must not pass for a run on hardware.
func recordedBench(b *reports.Bench) []any {
	return []any{b.Virtual, b.Simulated, b.Interval, b.Window, b.LeastDelay, b.MostDelay, b.Resolution, b.Noise}
}

// moving is from which current on, and for how long, a motor counts as moving.
func moving(b *reports.Bench) []any { return []any{b.Runs, b.Stops, b.Settle} }

func benchOfFiles(job *scenarios.Job) []any {
	m, facts := &job.Bench.Meter, meterFacts(job)
	return []any{anyPace(job), !kindOfBench(job).Pins, m.Interval.Value, m.Window.Value, facts.Least, facts.Most, m.Resolution.Value, m.Noise.Value}
}

// checkThen is what a record says of the last check of its bench, but for whether that was
// long ago: it gives the date. Earlier programs told times without a space before their
// unit, and their records hold all the same: spaces do not count.
func checkThen(b *reports.Bench) (all []string) {
	for _, line := range append([]string{b.LastCheck}, b.Description[min(1, len(b.Description)):]...) {
		all = append(all, unspaced(strings.Replace(line, longAgo, "", 1)))
	}
	return all
}

func unspaced(line string) string { return strings.ReplaceAll(line, " ", "") }

func checkOfFiles(job *scenarios.Job) []string {
	r, err := attachedCheck(job)
	if err != nil {
		return []string{err.Error()}
	}
	age := fitness.Fresh
	if r == nil || r.Date.IsZero() {
		age = fitness.None
	}
	lines := checkedLines(job, r, age)
	if len(lines) == 0 {
		return []string{""}
	}
	all := append([]string{lines[0]}, lines...)
	for i := range all {
		all[i] = unspaced(all[i])
	}
	return all
}

// lend gives a job the check of the bench that the traces of another were taken on.
func lend(job, played *scenarios.Job) {
	theirs := func(f scenarios.File) bool { return f.Name == checkFile }
	job.Files = slices.DeleteFunc(job.Files, theirs)
	if i := slices.IndexFunc(played.Files, theirs); i >= 0 {
		job.Files = append(job.Files, played.Files[i])
	}
}

// asked is how many trials there were to be of each scenario.
func (a *again) asked() int {
	shows, err := demonstrationOf(a.run)
	if err != nil {
		return 0
	}
	return shows.trials
}
