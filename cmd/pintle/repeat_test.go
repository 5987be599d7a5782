package main

import (
	"bytes"
	"context"
	"io"
	"path/filepath"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/require"

	"pintle/reports/logbook"
)

// A trial that is performed again by its number is the same to the byte, nature's day
// included, whether it stood in a demonstration or not.
func TestATrialPerformedAgainIsTheSame(t *testing.T) {
	const scenario = "press-in-mid-travel"
	for _, c := range []struct {
		name           string
		whole, repeats []string
		trial          int
	}{
		{"trials", []string{"--trials", "6", "--seed", "77"}, []string{"--seed", "77"}, 5},
		{"first", []string{"--trials", "2"}, nil, 1},
		{"demonstration", []string{"--demonstrate", "50/90", "--seed", "9"}, []string{"--demonstrate", "50/90", "--seed", "9"}, 3},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			all, one := filepath.Join(dir, "all.db"), filepath.Join(dir, "one.db")
			performInto(t, append([]string{scenario, "--log", all}, c.whole...)...)
			performInto(t, append([]string{scenario, "--log", one, "--trial", strconv.Itoa(c.trial)}, c.repeats...)...)
			want, day := traceFile(t, all, scenario, c.trial)
			got, again := traceFile(t, one, scenario, c.trial)
			require.Equal(t, day, again)
			require.Greater(t, len(want), 1000)
			require.True(t, bytes.Equal(want, got), "the traces differ")
			if other, _ := traceFile(t, all, scenario, c.trial%2+1); bytes.Equal(other, got) {
				t.Fatal("another trial has the same trace: this test cannot tell")
			}
		})
	}
}

func performInto(t *testing.T, args ...string) {
	args = append([]string{"run"}, args...)
	if !slices.Contains(args, "--trial") { // of one trial alone there is none
		args = append(args, "--certificate", filepath.Join(t.TempDir(), "c.pdf"))
	}
	require.Equal(t, 0, pintle(context.Background(), args, io.Discard, io.Discard))
}

func traceFile(t *testing.T, file, scenario string, trial int) (data []byte, day string) {
	log, err := logbook.Open(file)
	require.NoError(t, err)
	defer log.Close()
	run, err := log.Run("last")
	require.NoError(t, err)
	for _, tr := range run.Scenarios[0].Trials {
		if tr.Number == trial {
			day = tr.Day
		}
	}
	data, err = log.TraceFile(run.ID, scenario, trial)
	require.NoError(t, err)
	return data, day
}
