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
	"slices"
	"strings"
	"testing"
	"time"

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

// columns are those of each table, in the order in which tables rest on each other, and of
// which version they are.
var columns = []struct {
	version int
	name    string
	columns map[int]string
}{
	{1, "texts", map[int]string{1: "sha256, text"}},
	{1, "traces", map[int]string{1: "sha256, size, data"}},
	{1, "runs", map[int]string{1: "id, began, ended, state, alive, verdict, reason, run", 2: ", job, board, serial, firmware, digest", 3: ", entered"}},
	{1, "run_texts", map[int]string{1: "run, sha256"}},
	{1, "trials", map[int]string{1: "run, scenario, number, verdict, trace, trial", 2: ", dropped"}},
	{2, "certified", map[int]string{2: "run, signed, root, file"}},
}

// earlier puts a logbook that the program of an earlier version wrote at a place. Each has
// one run more than version1.json: one whose program was killed. That of version 2 was one of
// version 1 before; it has a run of its own whose traces were dropped, and a certificate. That
// of version 3 was this one before; it has a run more, begun by a clock that was set back.
func earlier(t testing.TB, at place, version int) string {
	t.Helper()
	path := at(t)
	if !IsAddress(path) {
		require.NoError(t, os.WriteFile(path, unpacked(t, fmt.Sprintf("version%d.db.gz", version)), 0o600))
		return path
	}
	// The files' rows, in a server's tables: version 1 knew no servers.
	file := earlier(t, func(t testing.TB) string { return filepath.Join(t.TempDir(), "1") }, version)
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
	require.NoError(t, step(l.engine, to, all[:version], 0))
	rows, err := from.Begin()
	require.NoError(t, err)
	for _, table := range columns {
		if table.version > version {
			continue
		}
		names := ""
		for v := 1; v <= version; v++ {
			names += table.columns[v]
		}
		require.NoError(t, copyRows(rows, to, table.name, names))
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
	all, err := scripts()
	require.NoError(t, err)
	for version := 1; version < len(all); version++ { // a logbook of each has to be there
		path := earlier(t, at, version)
		require.Equal(t, version, versionOf(t, path))
		readsAsItWas(t, path, version)
	}
}

// readsAsItWas opens a logbook of an earlier version and holds all that is read to what the
// program of version 1 read.
func readsAsItWas(t *testing.T, path string, version int) {
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
	all, err := scripts()
	require.NoError(t, err)
	require.Equal(t, len(all), versionOf(t, path))
	require.NoError(t, l.Check())
	entries, err := l.Runs()
	require.NoError(t, err)
	if version > 1 {
		entries = ofVersion2(t, l, entries)
	}
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

// ofVersion2 holds what version 2 added to what it was, and gives the entries as if it had not.
func ofVersion2(t *testing.T, l *Logbook, entries []Entry) []Entry {
	t.Helper()
	require.Equal(t, "mixed-7f3a", entries[0].ID)
	require.Equal(t, 1, entries[0].Certified)
	all, err := l.Certificates("mixed-7f3a")
	require.NoError(t, err)
	require.Equal(t, []Certified{{"mixed-7f3a", time.Date(2032, 1, 2, 3, 4, 5, 0, time.UTC), "ab12", "record-mixed.zip"}}, all)
	require.Equal(t, "of-version-2", entries[1].ID)
	require.Equal(t, []int{2, 2}, []int{entries[1].Trials, entries[1].Dropped})
	if len(entries) == 6 {
		require.Equal(t, "of-version-3", entries[5].ID, "it was entered last")
	}
	_, err = l.TraceFile("of-version-2", "normal-cycle", 1)
	require.ErrorIs(t, err, ErrDropped)
	require.ErrorContains(t, err, "2033-01-01")
	plan, err := l.Plan(Drop{Before: began.AddDate(10, 0, 0), At: began.AddDate(10, 0, 0)})
	require.NoError(t, err)
	require.NotEmpty(t, plan.Stay)
	require.Equal(t, "mixed-7f3a", plan.Stay[0].ID, "a certificate rests on it, of whichever version")
	entries[0].Certified = 0
	return slices.Delete(entries, 1, 2)
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
	path := earlier(t, at, 1)
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
	readsAsItWas(t, path, 1)
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
	released := 0
	for name, sum := range map[string]string{
		"001.sql": "ff99ba3246e9054b35c63294e5e54ce267159a89a3fbe58e0c045aa2f2a591f8",
		"002.sql": "a92461638623e350d09afbc0672db51a1afec922f461bf9d32232c5fcb2bd29a",
		"003.sql": "76a9256b9cb187ac408b01cfffeeaf7ae3f96b671f0782b71c86e940755b7ffd",
		"004.sql": "f35e367d83aaa0dd576e118b82a095086a3be3b30d5e511503c88ced20133f46",
	} {
		b, err := migrations.ReadFile("migrations/" + name)
		require.NoError(t, err)
		require.Equal(t, sum, digest(b), name)
		released++
	}
	all, err := scripts()
	require.NoError(t, err)
	require.Equal(t, len(all), released, "each is to be listed here")
}
