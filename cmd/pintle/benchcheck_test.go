package main

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig/fitness"
	"pintle/rig/rule"
	"pintle/scenarios"
)

// A check holds for the bench that it was made of: whoever writes another pin or another
// polarity into bench.yaml afterwards is told at each run, and so is who reads its paper.
func TestACheckOfABenchThatIsDescribedOtherwiseSince(t *testing.T) {
	for name, edit := range map[string]func([]byte) []byte{
		"as it was": func(b []byte) []byte { return b },
		"changed":   func(b []byte) []byte { return bytes.Replace(b, []byte("\n"), []byte("\n# another pin\n"), 1) },
	} {
		t.Run(name, func(t *testing.T) {
			job, err := scenarios.Demo(equipment())
			require.NoError(t, err)
			job.Bench.Kind.Text = "pi"
			dir := t.TempDir()
			require.NoError(t, keepCheck(filepath.Join(dir, checkFile),
				&fitness.Report{Verdict: rule.Pass, Date: time.Now().Add(-time.Hour), Described: describedBy(job)}))
			for i := range job.Files {
				if job.Files[i].Name == "bench.yaml" {
					job.Files[i].Text = edit(job.Files[i].Text)
				}
			}
			var errs bytes.Buffer
			lines, err := (&app{err: &errs}).vetBench(job, dir)
			require.NoError(t, err)
			require.NotEmpty(t, lines)
			is := name == "changed"
			assert.Equal(t, is, bytes.Contains(errs.Bytes(), []byte("bench.yaml was changed since")), errs.String())
			assert.Equal(t, is, bytes.Contains([]byte(lines[0]), []byte("bench.yaml was changed since")), lines[0])
			assert.Equal(t, is, bytes.Contains([]byte(checkWords(job, dir).Text), []byte("bench.yaml was changed since")))
		})
	}
}

// A check that knows nothing of what described its bench, made by an earlier program, says
// nothing of it.
func TestAnOlderCheckIsReadAsItWas(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, keepCheck(filepath.Join(dir, checkFile), &fitness.Report{Bench: "b", Verdict: rule.Pass, Date: time.Now()}))
	text, err := os.ReadFile(filepath.Join(dir, checkFile))
	require.NoError(t, err)
	require.NotContains(t, string(text), "described")
	r, err := lastCheck(dir)
	require.NoError(t, err)
	job, err := scenarios.Demo(equipment())
	require.NoError(t, err)
	assert.False(t, redescribed(r, job))
}
