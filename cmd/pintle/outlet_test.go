package main

import (
	"bytes"
	"fmt"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"
)

// A full takes so many bytes, and then has no room.
type full struct{ room int }

func (f *full) Write(b []byte) (int, error) {
	if f.room -= len(b); f.room < 0 {
		return 0, fmt.Errorf("write: %w", syscall.ENOSPC)
	}
	return len(b), nil
}

// Results that cannot be written are no success, and do not stop what is under way.
func TestResultsThatCannotBeWritten(t *testing.T) {
	t.Chdir(t.TempDir()) // where a run leaves its certificate
	log := filepath.Join(t.TempDir(), "log.db")
	for _, c := range []struct {
		status int
		args   []string
	}{
		{statusUnwritten, []string{"list"}},
		{statusUnwritten, []string{"check"}},
		{statusUnwritten, []string{"derive", "--json"}},
		{statusUnwritten, []string{"explain", "fail"}},
		{statusUnwritten, []string{"--help"}},
		{statusUnwritten, []string{"run", "normal-cycle", "short-press", "--json", "--trials", "2", "--logbook", log}},
		{statusUnwritten, []string{"export", "last", "--as", "json", "--logbook", log}},
		{statusUsage, []string{"export", "last", "--as", "csv", "--logbook", log}},
	} {
		var errs bytes.Buffer
		require.Equal(t, c.status, pintle(t.Context(), c.args, &full{room: 20}, &errs), "%v: %s", c.args, errs.String())
		if c.status == statusUnwritten {
			require.Contains(t, errs.String(), "standard output: "+syscall.ENOSPC.Error(), "%v", c.args)
		}
	}
	var out, errs bytes.Buffer
	require.Zero(t, pintle(t.Context(), []string{"log", "--logbook", log}, &out, &errs))
	require.Contains(t, out.String(), "2 scenarios, 4 trials", "the run went on to its end")
}
