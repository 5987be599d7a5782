package main

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/reports/livepage"
	"pintle/rig/fitness"
	"pintle/rig/rule"
	"pintle/rig/signal"
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

// What the page says of the bench's last check: what it came to, and what of it is not
// known, before what was measured.
func TestTheLastCheckInWords(t *testing.T) {
	dir := t.TempDir()
	job, err := loadJob("")
	require.NoError(t, err)
	require.Contains(t, checkWords(job, dir).Text, "pintle check --bench")
	noise, zero := signal.Current(20_000), signal.Current(-600)
	r := fitness.Report{Date: time.Date(2031, 4, 9, 6, 30, 0, 0, time.UTC), Verdict: rule.Void, Aborted: "the meter is gone", Described: "another",
		Results:  []fitness.Result{{Name: "meter: noise", Verdict: rule.Fail}, {Name: "the guard", Verdict: rule.Inconclusive}},
		Open:     []string{"the guard", "meter: interval"},
		Measured: fitness.Measured{Noise: &noise, Zero: &zero}}
	require.NoError(t, keepCheck(checkPath(dir), &r))
	require.Equal(t, livepage.Check{Date: "2031-04-09", Verdict: "void",
		Text: "bench.yaml was changed since; it ended early: the meter is gone; failed: meter: noise; could not be told: the guard, meter: interval; the meter's noise is at most 0.02 A; the meter reads -0.0006 A of no current"},
		checkWords(job, dir))
}
