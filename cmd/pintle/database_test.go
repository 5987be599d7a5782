package main

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/reports"
	"pintle/reports/logbook/testserver"
)

// With --logbook and an address every command works in a PostgreSQL database as in a file,
// and two benches write to one at once.
func TestLogbookInADatabase(t *testing.T) {
	t.Setenv("LC_ALL", "C.UTF-8")
	t.Setenv("XDG_CONFIG_HOME", t.TempDir())
	server := testserver.Need(t)
	t.Cleanup(testserver.Stop)
	book := server.Schema(t)
	t.Chdir(t.TempDir())
	require.NoError(t, os.WriteFile("phrase", []byte("a phrase that is long enough\n"), 0o600))
	call := func(want string, words ...string) string {
		t.Helper()
		var out, errs bytes.Buffer
		require.Zero(t, pintle(t.Context(), words, &out, &errs), "pintle %v: %s", words, errs.String())
		require.Contains(t, out.String()+errs.String(), want)
		require.NotContains(t, out.String()+errs.String(), "pa55word", "the password is shown")
		return out.String()
	}
	call("no runs", "log", "--logbook", book)

	// Two benches at once.
	var benches sync.WaitGroup
	status := make([]int, 2)
	var said [2]bytes.Buffer
	for i, scenario := range []string{"normal-cycle", "run-time-cut-out"} {
		benches.Go(func() {
			status[i] = pintle(t.Context(), []string{"run", scenario, "--trials", "20", "--workers", "1", "--logbook", book, "--certificate", scenario + ".pdf"}, &said[i], &said[i])
		})
	}
	benches.Wait()
	require.Equal(t, []int{0, 0}, status, "%s%s", said[0].String(), said[1].String())
	runs := regexp.MustCompile(`(?m)^(\d{8}-\d{6}\.\d{3})\s+pass +1 scenario, 20 trials$`).FindAllStringSubmatch(call("", "log", "--logbook", book), -1)
	require.Len(t, runs, 2, "both runs are in the logbook, whole")
	require.NotEqual(t, runs[0][1], runs[1][1])
	call("the logbook is whole", "log", "--check", "--logbook", book)

	call("run-time-cut-out: It runs and never gets there", "show", runOf(said[1].String()), "run-time-cut-out/20", "--logbook", book)
	call("public key", "key", "new", "--passphrase-file", "phrase")
	call("signed with key", "certify", runOf(said[0].String()), "--logbook", book, "--out", "a.pdf", "--record", "a.zip", "--passphrase-file", "phrase")
	call("verified: the verdict of the run is pass", "verify", "a.zip")
	call("a certificate rests on it", "log", "--logbook", book)
	call("backup copy.db", "log", "--backup", "copy.db", "--logbook", book)
	require.Equal(t, call("", "log", "--logbook", book), call("", "log", "--logbook", "copy.db"), "the copy in a file holds the same")
	files, err := filepath.Glob("pintle-demo/*")
	require.NoError(t, err)
	require.Empty(t, files, "a file was made beside the database")
}

// What is wrong with an address is said with what to do about it, and without a password.
func TestLogbookInNoDatabase(t *testing.T) {
	var out, errs bytes.Buffer
	address := "postgres://bench:pa55word@/pintle?host=" + t.TempDir()
	require.Equal(t, statusUsage, pintle(t.Context(), []string{"log", "--logbook", address}, &out, &errs))
	require.NotContains(t, errs.String(), "pa55word")
	require.Contains(t, errs.String(), "--logbook")
}

// runOf is the name of the run that was performed.
func runOf(said string) string {
	_, after, _ := strings.Cut(said, "\nrun ")
	id, _, _ := strings.Cut(after, " ")
	return id
}

// Two benches that begin in the same millisecond both get a run.
func TestTwoRunsOfOneMillisecond(t *testing.T) {
	log, err := makeLog(filepath.Join(t.TempDir(), "log.db"))
	require.NoError(t, err)
	defer log.Close()
	began := time.Date(2031, 5, 4, 23, 59, 59, 999e6, time.UTC)
	for _, want := range []string{"20310504-235959.999", "20310505-000000.000", "20310505-000000.001"} {
		run := reports.Run{ID: runID(began), Began: began}
		require.NoError(t, enter(log, &run))
		require.Equal(t, want, run.ID)
	}
}
