package rig_test

import (
	"encoding/json"
	"os/exec"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// layers holds, for each part of the house, what it must not import, with the
// reason. A part is a package and all below it.
var layers = []struct {
	part   string
	banned map[string]string
}{
	{part: "pintle/rig/signal", banned: map[string]string{
		"pintle/rig": "plain data knows nobody who uses it",
	}},
	{part: "pintle/rig/fold", banned: map[string]string{
		"pintle/rig": "lines break alike, whatever they say",
	}},
	{part: "pintle/rig/share", banned: map[string]string{
		"pintle/rig": "a part of a whole is that, whatever the whole is",
	}},
	{part: "pintle/rig/wording", banned: map[string]string{
		"pintle/rig": "English is the same, whatever it tells",
	}},
	{part: "pintle/rig/motion", banned: map[string]string{
		"pintle/rig/rule":  "what the motor does is seen before it is judged",
		"pintle/rig/gate":  "the motor is watched, not modelled, here",
		"pintle/rig/fault": "faults are at the lines, not at the meter",
	}},
	{part: "pintle/rig/gate", banned: map[string]string{
		"pintle/rig/rule":  "the gate moves whatever the rules are",
		"pintle/rig/fault": "a fault bends what the gate says, the gate does not know of it",
	}},
	{part: "pintle/rig/fault", banned: map[string]string{
		"pintle/rig/gate": "a fault works on any line, whoever moves it",
		"pintle/rig/rule": "a fault does not know what is being judged",
	}},
	{part: "pintle/rig/rule", banned: map[string]string{
		"pintle/rig/gate":  "rules judge what was seen, not what the model thinks",
		"pintle/rig/fault": "rules must not know which fault they are to find",
	}},
	{part: "pintle/rig/thermal", banned: map[string]string{
		"pintle/rig/motion": "a part heats whatever the motor does",
		"pintle/rig/rule":   "a part heats whatever is asked of it",
		"pintle/rig/gate":   "a part heats whatever moves",
		"pintle/rig/fault":  "a part heats whatever is wrong with a line",
	}},
	{part: "pintle/rig/uncertainty", banned: map[string]string{
		"pintle/rig/motion": "a figure is as uncertain as its inputs, whatever moves",
		"pintle/rig/rule":   "how far a figure may be trusted is known before it is judged",
		"pintle/rig/gate":   "a budget is of what was measured, not of a model",
		"pintle/rig/fault":  "a budget is that of a bench that is well",
		"pintle/rig/derive": "claims are not known to what holds them against a reading",
	}},
	{part: "pintle/rig/reliability", banned: map[string]string{
		"pintle/rig": "how much trials prove does not hang on what was tried",
	}},
	{part: "pintle/rig/shift", banned: map[string]string{
		"pintle/rig": "samples differ or not, whatever they are of",
	}},
	{part: "pintle/rig/appraise", banned: map[string]string{
		"pintle/rig/gate":   "a value is trusted for how it was measured, not for what the model thinks",
		"pintle/rig/fault":  "how far a value may be trusted does not hang on what went wrong",
		"pintle/rig/derive": "claims are held against values, not made from them",
	}},
	{part: "pintle/rig/fitness", banned: map[string]string{
		"pintle/rig/gate":   "a bench is put to the test without a gate",
		"pintle/rig/fault":  "a bench is put to the test with nothing wrong on purpose",
		"pintle/rig/derive": "what the controller claims is no matter of the bench",
	}},
	{part: "pintle/rig/derive", banned: map[string]string{
		"pintle/rig/gate":   "a practitioner's figures are enough, the model is not asked",
		"pintle/rig/rule":   "claims are worked out before anything is judged",
		"pintle/rig/motion": "nothing moves while claims are worked out",
		"pintle/rig/fault":  "claims are those of a gate that is well",
	}},
	{part: "pintle/rig", banned: map[string]string{
		"pintle/scenarios": "the conductor knows no file format",
		"pintle/drivers":   "the conductor knows no device",
		"pintle/reports":   "the conductor knows no screen and no paper",
		"pintle/cmd":       "imports point down",
	}},
	{part: "pintle/scenarios", banned: map[string]string{
		"pintle/drivers": "scenarios must be read without hardware",
		"pintle/reports": "what is written before a run knows nothing of what is written after",
		"pintle/cmd":     "imports point down",
	}},
	{part: "pintle/drivers", banned: map[string]string{
		"pintle/scenarios": "a driver that knew the scenario could cheat",
		"pintle/reports":   "a driver that knew the report could flatter",
		"pintle/cmd":       "imports point down",
	}},
	{part: "pintle/reports/merkle", banned: map[string]string{
		"pintle/rig":     "a tree of digests does not hang on what they are of",
		"pintle/reports": "a tree of digests does not hang on what they are of",
	}},
	{part: "pintle/reports/evidence", banned: map[string]string{
		"pintle/reports/logbook":   "a record is read where there is no logbook",
		"pintle/reports/tracefile": "what is in a trace is judged by others; here it is bytes with a digest",
	}},
	{part: "pintle/reports", banned: map[string]string{
		"pintle/scenarios": "a report must be readable when the files are gone",
		"pintle/drivers":   "a report is the same from every bench",
		"pintle/cmd":       "imports point down",
	}},
}

// A parent's ban on its own subtree is no ban on itself: rig may import rig/gate.
func within(pkg, part string) bool { return pkg == part || strings.HasPrefix(pkg, part+"/") }

func TestImportsPointDown(t *testing.T) {
	imports := packages(t)
	for _, layer := range layers {
		found := false
		for pkg, deps := range imports {
			if !within(pkg, layer.part) {
				continue
			}
			found = true
			for _, dep := range deps {
				for banned, why := range layer.banned {
					if within(dep, banned) && !within(dep, layer.part) {
						t.Errorf("%s imports %s: %s", pkg, dep, why)
					}
				}
			}
		}
		require.True(t, found, "there is no package %s any more: mend the table", layer.part)
		for banned := range layer.banned {
			known := false
			for pkg := range imports {
				known = known || within(pkg, banned)
			}
			require.True(t, known, "the ban on %s names no package: mend the table", banned)
		}
	}
}

// TestOnePackageComment holds every package to one sentence of its own.
func TestOnePackageComment(t *testing.T) {
	out, err := exec.Command("go", "list", "-f", "{{.ImportPath}}\t{{.Doc}}", "pintle/...").Output()
	require.NoError(t, err)
	for line := range strings.Lines(string(out)) {
		pkg, doc, _ := strings.Cut(strings.TrimSpace(line), "\t")
		require.NotEmpty(t, doc, "%s has no package comment", pkg)
	}
}

// packages gives the direct imports of each package of the project, without
// those of its tests.
func packages(t *testing.T) map[string][]string {
	t.Helper()
	out, err := exec.Command("go", "list", "-json=ImportPath,Imports", "pintle/...").Output()
	require.NoError(t, err, "list the project's packages")
	all := map[string][]string{}
	for dec := json.NewDecoder(strings.NewReader(string(out))); dec.More(); {
		var p struct {
			ImportPath string
			Imports    []string
		}
		require.NoError(t, dec.Decode(&p))
		all[p.ImportPath] = p.Imports
	}
	require.NotEmpty(t, all)
	return all
}
