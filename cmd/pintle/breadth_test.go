package main

import (
	"crypto/sha256"
	"encoding/hex"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pintle/reports"
	"pintle/scenarios"
)

// Whoever can sign can also take scenarios out of the files that a record rests on, leave
// them out by controller.yaml or word them anew: what is left agrees with itself, and is
// told for the part that it is.
func TestAPartOfTheBuiltInScenariosIsNotTakenForAll(t *testing.T) {
	job, err := scenarios.Demo(equipment())
	require.NoError(t, err)
	s, ok := job.Scenario("normal-cycle")
	require.True(t, ok)
	base, _ := oneTrial(t, job, s)
	const whole = "verified: the verdict of the run is pass, of 1 of 77 scenarios"
	own := scenarios.BuiltInFile("normal-cycle")
	for name, c := range map[string]struct {
		forge      func([]reports.File) []reports.File
		wants, not []string
	}{
		"as it is": {func(all []reports.File) []reports.File { return all }, []string{whole + "\n"}, []string{"built into this program"}},
		"taken out of the files": {func(all []reports.File) []reports.File {
			return slices.DeleteFunc(all, func(f reports.File) bool { return strings.HasPrefix(f.Name, "built-in/") && f.Name != own })
		}, []string{"verified: the verdict of the run is pass, of a job without 76 of the 77 scenarios built into this program\n",
			"not in the job of this record, 76 of the 77 scenarios built into this program: battery-declining, "}, nil},
		"left out by controller.yaml": {func(all []reports.File) []reports.File {
			all = slices.DeleteFunc(all, func(f reports.File) bool { return f.Name == "built-in/button-held.yaml" })
			return edited(t, all, "controller.yaml", func(text string) string { return text + "\nscenarios:\n  without: [button-held]\n" })
		}, []string{"of 1 of 76 scenarios, of a job without 1 of the 77 scenarios built into this program\n",
			"not in the job of this record, 1 of the 77 scenarios built into this program: button-held\n"}, nil},
		"worded anew": {func(all []reports.File) []reports.File {
			return edited(t, all, own, func(text string) string { return text + "\n# hardly anything\n" })
		}, []string{whole + "\n", "worded otherwise than in this program, 1 scenario that is built into it: normal-cycle\n"}, []string{"of a job without"}},
		"by one of the job's own": {func(all []reports.File) []reports.File {
			for i := range all {
				if all[i].Name == own {
					all[i].Name = "scenarios/normal-cycle.yaml"
				}
			}
			return all
		}, []string{whole + "\n", "worded otherwise than in this program, 1 scenario that is built into it: normal-cycle\n"}, nil},
	} {
		run, _ := copied(t, base.run, &base.trial)
		run.Files = c.forge(run.Files)
		read, err := recordedJob(run)
		require.NoError(t, err, name)
		v := verification{record: run, job: read, Result: resultGood, Verdict: "pass", Trials: 1}
		v.left()
		var text strings.Builder
		v.text(&text)
		for _, want := range c.wants {
			require.Contains(t, text.String(), want, name)
		}
		for _, not := range c.not {
			require.NotContains(t, text.String(), not, name)
		}
	}
}

// edited changes the text of a file, and its digest with it.
func edited(t testing.TB, all []reports.File, name string, change func(string) string) []reports.File {
	t.Helper()
	i := slices.IndexFunc(all, func(f reports.File) bool { return f.Name == name })
	require.GreaterOrEqual(t, i, 0, name)
	all[i].Text = change(all[i].Text)
	sum := sha256.Sum256([]byte(all[i].Text))
	all[i].SHA256 = hex.EncodeToString(sum[:])
	return all
}
