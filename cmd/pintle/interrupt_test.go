package main

import (
	"bytes"
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/reports/logbook"
	"pintle/rig/rule"
)

// TestAnInterruptedRunIsWholeAndVoid stops a long run at some instant, as Ctrl-C
// does: what was performed is in the logbook, the rest is said to be missing. On a
// machine too slow for a single trial by then it is stopped later.
func TestAnInterruptedRunIsWholeAndVoid(t *testing.T) {
	for after := 300 * time.Millisecond; ; after *= 3 {
		require.Less(t, after, time.Minute, "not a single trial was performed")
		if interrupted(t, after) > 0 {
			return
		}
	}
}

// interrupted stops a run after a time and gives how many trials of its first
// scenario were performed by then.
func interrupted(t *testing.T, after time.Duration) int {
	t.Chdir(t.TempDir())
	ctx, cancel := context.WithTimeout(context.Background(), after)
	defer cancel()
	var out, errs bytes.Buffer
	status := pintle(ctx, []string{"run", "--trials", "100000", "--log", "log.db", "--certificate", "c.pdf"}, &out, &errs)
	assert.Equal(t, statusVoid, status, errs.String())
	assert.Contains(t, out.String(), "of 100000 trials were performed")

	log, err := logbook.Open("log.db")
	require.NoError(t, err)
	defer log.Close()
	require.NoError(t, log.Check())
	run, err := log.Run("last")
	require.NoError(t, err)
	assert.Equal(t, rule.Void, run.Verdict)
	assert.Equal(t, "the run was interrupted", run.Reason)
	assert.FileExists(t, "c.pdf")
	return len(run.Scenarios[0].Trials)
}
