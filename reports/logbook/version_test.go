package logbook

import (
	"bufio"
	"compress/gzip"
	"database/sql"
	"encoding/json"
	"fmt"
	"io"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"pintle/reports"
	"pintle/rig/rule"
)

// unpacked is what a compressed file under testdata holds.
func unpacked(t testing.TB, name string) []byte {
	t.Helper()
	f, err := os.Open(filepath.Join("testdata", name))
	require.NoError(t, err)
	defer f.Close()
	z, err := gzip.NewReader(f)
	require.NoError(t, err)
	b, err := io.ReadAll(z)
	require.NoError(t, err)
	return b
}

// version1 puts a logbook that the program of version 1 wrote at a place. It has one
// run more than version1.json: one whose program was killed.
func version1(t testing.TB, at place) string {
	t.Helper()
	path := at(t)
	if !IsAddress(path) {
		require.NoError(t, os.WriteFile(path, unpacked(t, "version1.db.gz"), 0o600))
		return path
	}
	// Version 1 knew no servers: its rows, in its tables.
	file := version1(t, func(t testing.TB) string { return filepath.Join(t.TempDir(), "1") })
	from, err := sql.Open("sqlite", fileAddress(file))
	require.NoError(t, err)
	defer from.Close()
	l, err := open(path)
	require.NoError(t, err)
	defer l.db.Close()
	all, err := scripts()
	require.NoError(t, err)
	to, err := l.db.Begin()
	require.NoError(t, err)
	require.NoError(t, step(l.engine, to, all[:1], 0))
	rows, err := from.Begin()
	require.NoError(t, err)
	for _, table := range []struct{ name, columns string }{
		{"texts", "sha256, text"}, {"traces", "sha256, size, data"}, {"runs", "id, began, ended, state, alive, verdict, reason, run"},
		{"run_texts", "run, sha256"}, {"trials", "run, scenario, number, verdict, trace, trial"},
	} {
		require.NoError(t, copyRows(rows, to, table.name, table.columns))
	}
	require.NoError(t, rows.Rollback())
	require.NoError(t, to.Commit())
	return path
}

// versionOf reads the version of a logbook as it is.
func versionOf(t testing.TB, path string) int {
	t.Helper()
	l, err := open(path)
	require.NoError(t, err)
	defer l.db.Close()
	v, err := l.engine.version(l.db)
	require.NoError(t, err)
	return v
}

func testEarlierVersion(t *testing.T, at place) {
	path := version1(t, at)
	require.Equal(t, 1, versionOf(t, path))
	readsAsVersion1(t, path)
}

// readsAsVersion1 opens a logbook of version 1 and holds all that is read to what the
// program of version 1 read.
func readsAsVersion1(t *testing.T, path string) {
	t.Helper()
	var want struct {
		Entries []Entry        `json:"entries"`
		Runs    []*reports.Run `json:"runs"`
	}
	require.NoError(t, json.Unmarshal(unpacked(t, "version1.json.gz"), &want))
	require.Len(t, want.Runs, 3)
	l, err := Open(path)
	require.NoError(t, err)
	defer l.Close()
	require.Equal(t, 3, versionOf(t, path))
	require.NoError(t, l.Check())
	entries, err := l.Runs()
	require.NoError(t, err)
	require.Equal(t, want.Entries, entries[:3])
	traces := 0
	for _, w := range want.Runs {
		got, err := l.Run(w.ID)
		require.NoError(t, err)
		require.Equal(t, w, got)
		for i, s := range got.Scenarios {
			for j, trial := range s.Trials {
				file, err := l.TraceFile(w.ID, s.Name, trial.Number)
				require.NoError(t, err)
				require.Equal(t, trial.Trace, digest(file))
				trace, err := l.Trace(w.ID, s.Name, trial.Number)
				require.NoError(t, err)
				if strings.HasPrefix(w.ID, "mixed") {
					_, wantTrace := performed(i + j + 1)
					require.Equal(t, wantTrace, trace)
				}
				traces++
			}
		}
	}
	require.Greater(t, traces, 10)
	require.Equal(t, rule.Void, entries[3].Verdict, "the run whose program was killed")
	require.Equal(t, Broken, entries[3].Reason)
	some, err := l.Select(Filter{Board: "tide board", Firmware: "2.5.0-β", Job: "fuel*"})
	require.NoError(t, err)
	require.Len(t, some, 1)
}

// migrateVar tells this test binary to begin a migration and be killed in it.
const migrateVar = "PINTLE_LOGBOOK_TEST_MIGRATE"

// halfMigrate does all of a migration but its end.
func halfMigrate(path string, out io.Writer) error {
	l, err := open(path)
	if err != nil {
		return err
	}
	if err := l.engine.prepare(); err != nil {
		return err
	}
	tx, err := l.engine.begin(true)
	if err != nil {
		return err
	}
	all, err := scripts()
	if err != nil {
		return err
	}
	if err := step(l.engine, tx, all, 1); err != nil {
		return err
	}
	fmt.Fprintln(out, "nearly")
	_, err = bufio.NewReader(os.Stdin).ReadString('\n') // until it is killed
	return err
}

func testHalfAMigration(t *testing.T, at place) {
	path := version1(t, at)
	for range 3 {
		cmd := exec.Command(os.Args[0])
		cmd.Env = append(os.Environ(), migrateVar+"="+path)
		_, err := cmd.StdinPipe()
		require.NoError(t, err)
		out, err := cmd.StdoutPipe()
		require.NoError(t, err)
		require.NoError(t, cmd.Start())
		line, err := bufio.NewReader(out).ReadString('\n')
		require.NoError(t, err)
		require.Equal(t, "nearly\n", line)
		require.NoError(t, cmd.Process.Kill())
		require.Error(t, cmd.Wait())
		require.Equal(t, 1, versionOf(t, path), "the old one is there as it was")
	}
	readsAsVersion1(t, path)
}

func testNewerVersion(t *testing.T, at place) {
	l := fresh(t, at)
	set := "PRAGMA user_version = 99"
	if IsAddress(l.path) {
		set = "UPDATE pintle_logbook SET version = 99"
	}
	_, err := l.db.Exec(set)
	require.NoError(t, err)
	require.NoError(t, l.Close())
	_, err = Open(l.path)
	require.ErrorIs(t, err, ErrNewer)
	require.ErrorContains(t, err, "version 99")
	require.Equal(t, 99, versionOf(t, l.path))
}

// The migrations that were released are as they were.
func TestReleasedMigrationsAreNeverChanged(t *testing.T) {
	for name, sum := range map[string]string{
		"001.sql": "ff99ba3246e9054b35c63294e5e54ce267159a89a3fbe58e0c045aa2f2a591f8",
		"002.sql": "a92461638623e350d09afbc0672db51a1afec922f461bf9d32232c5fcb2bd29a",
	} {
		b, err := migrations.ReadFile("migrations/" + name)
		require.NoError(t, err)
		require.Equal(t, sum, digest(b), name)
	}
}
