package main

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/require"

	"pintle/rig/rule"
	"pintle/scenarios"
	"pintle/scenarios/starter"
)

// mine is the starter's own scenario.
const mine = "scenarios/my-first-scenario.yaml"

// switchedOn switches on what a file of the starter shows switched off.
func switchedOn(text string) string {
	return regexp.MustCompile(`(?m)^( *)#(\S.*)$`).ReplaceAllString(text, "$1$2")
}

// What the starter's scenario shows switched off is worth switching on: pintle check finds
// nothing to warn of.
func TestTheStartersExamplesProveSomething(t *testing.T) {
	job := starterWith(t, mine, switchedOn)
	require.Empty(t, vacuous(job))
	require.Empty(t, misspelled(job))
	s, ok := job.Scenario("my-first-scenario")
	require.True(t, ok)
	require.Greater(t, len(s.Rules), len(rule.Patterns), "some are shown twice")

	dull := starterWith(t, mine, func(text string) string {
		return strings.Replace(text, "rules:\n", "rules:\n  - current over: 0A\n", 1)
	})
	require.Len(t, vacuous(dull), 1, "the test can fail")
}

// A sound controller passes the rules on current that are shown there.
func TestTheStartersExamplesOnCurrentAreKept(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.CopyFS(dir, starter.Folder()))
	text, err := os.ReadFile(filepath.Join(dir, mine))
	require.NoError(t, err)
	others, current, found := strings.Cut(string(text), "  #- current under")
	require.True(t, found)
	require.NoError(t, os.WriteFile(filepath.Join(dir, mine), []byte(others+switchedOn("  #- current under"+current)), 0o644))
	var out, errs strings.Builder
	require.Equal(t, 0, pintle(t.Context(), []string{"run", dir, "my-first-scenario", "--trials", "3"}, &out, &errs), "%s%s", &out, &errs)
	require.Contains(t, out.String(), "3 pass")
}

// starterWith is the starter job with one file changed, and its own scenario alone.
func starterWith(t *testing.T, name string, change func(string) string) *scenarios.Job {
	t.Helper()
	files := fstest.MapFS{}
	for _, of := range []string{"bench.yaml", "gate.yaml", "controller.yaml", name} {
		text, err := fs.ReadFile(starter.Folder(), of)
		require.NoError(t, err)
		files[of] = &fstest.MapFile{Data: text}
	}
	files[name].Data = []byte(change(string(files[name].Data)))
	job, err := scenarios.Load(files, "", equipment())
	require.NoError(t, err)
	return job
}
