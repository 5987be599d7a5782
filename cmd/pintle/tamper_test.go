package main

import (
	"encoding/json"
	"fmt"
	"maps"
	"os"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"

	"pintle/reports"
	"pintle/rig"
	"pintle/rig/rule"
	"pintle/scenarios"
)

// toldParts are the parts of a run that its record holds nothing against: the program that
// made it says so, or the bench. All else is found where it was changed.
var toldParts = map[string]string{
	"id": "a name, which head.json has as well", "program": "nobody else saw it", "programDigest": "nor its file",
	"environment.system": "nor its machine", "environment.architecture": "", "environment.kernel": "", "environment.go": "", "environment.processors": "",
	"warnings[0]": "what looked like a mistake to that version", "warnings[]": "", "trial.took": "of a trial with its preparation, which is no part of the trace",
	"bench.name": "the bench calls itself so", "bench.meter": "so does the meter", "bench.lead": "how far ahead the bench wants to know",
	"uncertainties[]": "a table without its last row, which no finding here names, is that of an older program",
}

// Each part of a run is changed in turn, and each of a trial; every fourth where it must be
// quick. What is noticed by no one has to be known here.
func TestEachPartOfARunIsHeldAgainstItsFilesAndTraces(t *testing.T) {
	base, file := demonstrated(t)
	differs := func(run *reports.Run, trial *reports.Trial) bool {
		a, err := tamperedAgain(run)
		if err != nil {
			return true // it is refused
		}
		w := worker{again: a, judge: rig.NewRejudger(a.conducted), day: days(a.job, 1, run.Demonstration != nil)}
		if w.trial(&performed{0, trial, file}) != nil {
			return true
		}
		a.files()
		a.sums()
		return a.count > 0
	}
	require.False(t, differs(copied(t, base.run, &base.trial)))
	every, n := 4, 0
	if os.Getenv("PINTLE_REQUIRE") == "1" {
		every = 1
	}
	turn := func() bool { n++; return n%every == 0 }
	var free []string
	eachLeaf(t, base.run, "", func(path string, changed []byte) {
		var run reports.Run
		if !turn() || json.Unmarshal(changed, &run) != nil || len(run.Scenarios) == 0 { // the reader refuses a trial of none
			return
		}
		_, trial := copied(t, base.run, &base.trial)
		if !differs(&run, trial) {
			free = append(free, path)
		}
	})
	eachLeaf(t, &base.trial, "trial.", func(path string, changed []byte) {
		var trial reports.Trial
		if !turn() || json.Unmarshal(changed, &trial) != nil {
			return
		}
		run, _ := copied(t, base.run, &base.trial)
		if !differs(run, &trial) {
			free = append(free, path)
		}
	})
	told := slices.Sorted(maps.Keys(toldParts))
	require.Subset(t, told, free)
	if every == 1 {
		require.Equal(t, told, slices.Sorted(slices.Values(free)), "what is held is told no more")
	}
}

// demonstrated is a trial that shows a reliability, of a run with all that a record may hold.
func demonstrated(t *testing.T) (oneRun, []byte) {
	t.Helper()
	job, err := scenarios.Demo(equipment())
	require.NoError(t, err)
	s, ok := job.Scenario("missed-closed-limit")
	require.True(t, ok)
	base, file := oneTrial(t, job, s)
	shows, err := demonstrate(runOptions{demonstrate: "50/50", trials: 1})
	require.NoError(t, err)
	base.run.Demonstration, base.run.Trials = shows.record(), shows.trials
	base.run.Scenarios[0].Shown = shows.shown(&base.run.Scenarios[0])
	base.trial.Day = days(job, 1, true)(s.Name, 1).String() // but for the trace, it might have been that one
	base.run.Scenarios[0].Trials, base.run.Digest, base.run.Environment = nil, "ab", environment()
	base.run.Warnings = []string{"this looks like a mistake"}
	return base, file
}

// A table of sources that lacks one which a finding names is no older one.
func TestNoTableOfSourcesIsShorterThanWhatFindingsName(t *testing.T) {
	job, err := scenarios.Demo(equipment())
	require.NoError(t, err)
	s, ok := job.Scenario("normal-cycle")
	require.True(t, ok)
	base, _ := oneTrial(t, job, s)
	base.run.Sources = base.run.Sources[:firstSources]
	for last, want := range map[uint8]int{firstSources - 1: 0, firstSources: 0, firstSources + 1: 1} {
		a := readAgain(t, base.run)
		a.named([]rule.Finding{{}, {Appraisal: &rule.Appraisal{Lines: []rule.BudgetLine{{Source: 3}, {Source: last}}}}})
		a.files()
		require.Equal(t, want, a.count, "source %d: %v", last, a.differs)
	}
}

func tamperedAgain(run *reports.Run) (*again, error) {
	job, err := scenariosOf(run)
	if err != nil {
		return nil, err
	}
	return newAgain(run, job, job)
}

// scenariosOf is recordedJob, which takes its time, once for the same texts.
func scenariosOf(run *reports.Run) (*scenarios.Job, error) {
	key := ""
	for _, f := range run.Files {
		key += f.Name + "\x00" + f.Text + "\x00"
	}
	if known, ok := loaded.Load(key); ok {
		return known.(*scenarios.Job), nil
	}
	job, err := recordedJob(run)
	if err == nil {
		loaded.Store(key, job)
	}
	return job, err
}

// eachLeaf changes each leaf of a value's JSON in turn; of a list the first two, and its length.
func eachLeaf(t testing.TB, v any, prefix string, do func(path string, changed []byte)) {
	t.Helper()
	text, err := json.Marshal(v)
	require.NoError(t, err)
	var root map[string]any
	require.NoError(t, json.Unmarshal(text, &root))
	try := func(path string) {
		changed, err := json.Marshal(root)
		require.NoError(t, err)
		do(path, changed)
	}
	var walk func(path string, v any, set func(any))
	walk = func(path string, v any, set func(any)) {
		switch v := v.(type) {
		case map[string]any:
			for _, key := range slices.Sorted(maps.Keys(v)) {
				walk(path+"."+key, v[key], func(x any) { v[key] = x })
			}
			return
		case []any:
			for i := range v[:min(len(v), 2)] {
				walk(fmt.Sprintf("%s[%d]", path, i), v[i], func(x any) { v[i] = x })
			}
			if len(v) > 0 {
				set(v[:len(v)-1])
				try(path + "[]")
			}
		case string:
			set(v + "1")
			try(path)
		case float64:
			set(v + 1)
			try(path)
		case bool:
			set(!v)
			try(path)
		}
		set(v)
	}
	for _, key := range slices.Sorted(maps.Keys(root)) {
		walk(prefix+key, root[key], func(x any) { root[key] = x })
	}
}
