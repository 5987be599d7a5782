package logbook

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/reports"
	"pintle/rig/rule"
)

// several enters five runs, a day apart, of two boards and three firmwares.
func several(t *testing.T, l *Logbook) []*reports.Run {
	t.Helper()
	var all []*reports.Run
	for i, c := range []struct {
		board, firmware, digest, job string
		verdict                      rule.Verdict
	}{
		{"tide board", "2.4.0", "aabbccdd00", "Slipway barrier", rule.Fail},
		{"tide board", "2.4.1", "aabbccdd11", "Slipway barrier", rule.Pass},
		{"Tide board", "2.5.0-rc_1", "bbbbbbbb22", "Slipway barrier, spring", rule.Pass},
		{"ebb board", "0.9", "cccccccc33", "Fuel jetty 100%", rule.Inconclusive},
		{"ebb board", "1.0", "dddddddd44", "Fuel jetty 100%", rule.Pass},
	} {
		run := job(fmt.Sprintf("run-%d", i+1), 2, "normal-cycle", fmt.Sprintf("only-in-%d", i+1))
		run.Began = began.AddDate(0, 0, i)
		run.Job, run.Controller.Board, run.Controller.Firmware, run.Controller.Digest = c.job, c.board, c.firmware, c.digest
		run.Controller.Serial = fmt.Sprint(i % 2)
		text := fmt.Sprintf("opening: %ds\n", i)
		run.Files = append(run.Files, reports.File{Name: "own.yaml", Text: text, SHA256: digest([]byte(text))})
		require.NoError(t, l.Begin(run))
		for n := 1; n <= 2; n++ {
			trial, trace := performed(n) // the same in all runs
			require.NoError(t, l.Trial(run.ID, "normal-cycle", trial, trace))
			run.Scenarios[0].Trials = append(run.Scenarios[0].Trials, *trial)
			trial, trace = performed(10*i + n + 2)
			trial.Number = n
			require.NoError(t, l.Trial(run.ID, run.Scenarios[1].Name, trial, trace))
			run.Scenarios[1].Trials = append(run.Scenarios[1].Trials, *trial)
		}
		run.Ended, run.Verdict = run.Began.Add(time.Minute), c.verdict
		require.NoError(t, l.Finish(run))
		all = append(all, run)
	}
	return all
}

func named(entries []Entry) (ids string) {
	for _, e := range entries {
		ids += e.ID[len("run-"):]
	}
	return ids
}

func testFilters(t *testing.T, at place) {
	l := fresh(t, at)
	several(t, l)
	day := func(n int) time.Time { return began.AddDate(0, 0, n-1) }
	for _, c := range []struct {
		f    Filter
		want string
	}{
		{Filter{}, "12345"},
		{Filter{Last: 2}, "45"},
		{Filter{Board: "TIDE board"}, "123"},
		{Filter{Board: "tide"}, ""},
		{Filter{Board: "*board"}, "12345"},
		{Filter{Board: "*board", Last: 1, Verdict: rule.Inconclusive}, "4"},
		{Filter{Serial: "1"}, "24"},
		{Filter{Firmware: "2.5.0-rc_1"}, "3"},
		{Filter{Firmware: "2.5.0-rc__"}, ""},
		{Filter{Firmware: "2.*"}, "123"},
		{Filter{Firmware: "aabbccdd"}, "12"},
		{Filter{Firmware: "AABBCCDD1"}, "2"},
		{Filter{Firmware: "aabbcc"}, ""},
		{Filter{Job: "slipway*"}, "123"},
		{Filter{Job: "fuel jetty 100%"}, "45"},
		{Filter{Job: "fuel jetty %"}, ""},
		{Filter{Job: `\`}, ""},
		{Filter{Scenario: "only-in-3"}, "3"},
		{Filter{Scenario: "normal-cycle", Verdict: rule.Pass}, "235"},
		{Filter{Since: day(2)}, "2345"},
		{Filter{Since: day(2).Add(1)}, "345"},
		{Filter{Until: day(2)}, "1"},
		{Filter{Since: day(2), Until: day(4), Last: 5}, "23"},
		{Filter{Board: "'; DROP TABLE runs; --"}, ""},
	} {
		got, err := l.Select(c.f)
		require.NoError(t, err, "%+v", c.f)
		require.Equal(t, c.want, named(got), "%+v", c.f)
	}
	part, err := l.Part("run-3", "only-in-3", "no such")
	require.NoError(t, err)
	require.Empty(t, part.Scenarios[0].Trials)
	require.Len(t, part.Scenarios[1].Trials, 2)
}

func testCertified(t *testing.T, at place) {
	l := fresh(t, at)
	several(t, l)
	signed := began.AddDate(1, 0, 0)
	for range 2 { // twice is once
		require.NoError(t, l.Certify(Certified{Run: "run-2", Signed: signed, Root: "ab12", File: "record-run-2.zip"}))
	}
	require.NoError(t, l.Certify(Certified{Run: "run-4", Signed: signed.Add(1), File: "c.pdf"}))
	require.ErrorIs(t, l.Certify(Certified{Run: "nothing"}), ErrNoRun)
	all, err := l.Certificates("")
	require.NoError(t, err)
	require.Equal(t, []Certified{{"run-2", signed, "ab12", "record-run-2.zip"}, {"run-4", signed.Add(1), "", "c.pdf"}}, all)
	one, err := l.Certificates("run-4")
	require.NoError(t, err)
	require.Equal(t, all[1:], one)
	entries, err := l.Runs()
	require.NoError(t, err)
	require.Equal(t, 1, entries[1].Certified)
	require.NoError(t, l.Check())
}

func testDrop(t *testing.T, at place) {
	l := fresh(t, at)
	runs := several(t, l)
	now := began.AddDate(2, 0, 0)
	require.NoError(t, l.Certify(Certified{Run: "run-2", Signed: now, File: "c.pdf"}))
	live := job("live-6", 1, "normal-cycle")
	require.NoError(t, l.Begin(live))

	_, err := l.Drop(Drop{At: now})
	require.ErrorContains(t, err, "how old")

	// Asked only, nothing goes. Runs 1 and 3 have two trials of their own each, and two
	// that others have too.
	d := Drop{Before: began.AddDate(0, 0, 3), At: now}
	plan, err := l.Plan(d)
	require.NoError(t, err)
	require.Equal(t, "13", named(plan.Runs))
	require.Len(t, plan.Stay, 2)
	require.Equal(t, "a certificate rests on it", plan.Stay[0].Why)
	require.Equal(t, "it is under way", plan.Stay[1].Why, "it was entered last, whatever its clock said")
	require.Equal(t, []int{8, 4, 2}, []int{plan.Trials, plan.Traces, plan.Texts})
	require.Positive(t, plan.Bytes)
	entries, err := l.Runs()
	require.NoError(t, err)
	require.Len(t, entries, 6)

	went, err := l.Drop(d)
	require.NoError(t, err)
	require.Equal(t, plan, went)
	entries, err = l.Runs()
	require.NoError(t, err)
	require.Equal(t, "245", named(entries[:3]))
	_, err = l.Run("run-1")
	require.ErrorIs(t, err, ErrNoRun)
	for _, run := range []*reports.Run{runs[1], runs[3], runs[4]} {
		got, err := l.Run(run.ID)
		require.NoError(t, err)
		require.Equal(t, run, got, "what stays is as it was")
		for _, s := range run.Scenarios {
			_, err = l.Trace(run.ID, s.Name, 2)
			require.NoError(t, err)
		}
	}
	require.NoError(t, l.Check())

	// The traces alone of all but the last two, of which one is under way.
	d = Drop{KeepLast: 2, TracesOnly: true, At: now}
	went, err = l.Drop(d)
	require.NoError(t, err)
	require.Equal(t, "4", named(went.Runs))
	require.Equal(t, 2, went.Traces, "two that others need stay")
	got, err := l.Run("run-4")
	require.NoError(t, err)
	require.Equal(t, runs[3], got, "findings, verdicts and digests stay")
	for _, s := range got.Scenarios {
		_, err = l.TraceFile("run-4", s.Name, 1)
		require.ErrorIs(t, err, ErrDropped)
		require.ErrorContains(t, err, "2033-05-04")
	}
	_, err = l.Trace("run-5", "normal-cycle", 1)
	require.NoError(t, err)
	again, err := l.Drop(d)
	require.NoError(t, err)
	require.Empty(t, again.Runs)
	entries, err = l.Runs()
	require.NoError(t, err)
	require.Equal(t, 4, entries[1].Dropped)
	require.NoError(t, l.Check())
	finish(t, l, live)
}

// The room of what was dropped is given back to the disk.
func TestRoomIsGivenBack(t *testing.T) {
	l := fresh(t, inFile)
	size := func() int64 {
		info, err := os.Stat(l.path)
		require.NoError(t, err)
		return info.Size()
	}
	run := job("run-1", 40, "normal-cycle")
	require.NoError(t, l.Begin(run))
	for n := 1; n <= 40; n++ {
		trial, _ := performed(n)
		require.NoError(t, l.Trial("run-1", "normal-cycle", trial, longTrace(n)))
	}
	finish(t, l, run)
	_, err := l.db.Exec("PRAGMA wal_checkpoint(TRUNCATE)")
	require.NoError(t, err)
	before := size()
	went, err := l.Drop(Drop{Before: began.Add(1), At: began})
	require.NoError(t, err)
	require.Greater(t, before-size(), went.Bytes*9/10)
}

func testBackup(t *testing.T, at place) {
	l := fresh(t, at)
	runs := several(t, l)
	require.NoError(t, l.Certify(Certified{Run: "run-2", Signed: began, File: "c.pdf"}))
	busy := job("busy", 1000, "normal-cycle")
	require.NoError(t, l.Begin(busy))
	stop, stopped := make(chan bool), make(chan error, 1)
	added := make(chan int, 2000)
	go func() {
		defer close(stopped)
		for n := 1; ; n++ {
			select {
			case <-stop:
				return
			default:
			}
			trial, trace := performed(n)
			if err := l.Trial("busy", "normal-cycle", trial, trace); err != nil {
				stopped <- err
				return
			}
			select {
			case added <- n:
			default:
			}
		}
	}()
	dir := t.TempDir()
	for i := range 3 {
		before := <-added
		path := filepath.Join(dir, fmt.Sprint(i))
		require.NoError(t, l.Backup(path))
		b, err := Open(path)
		require.NoError(t, err)
		require.NoError(t, b.Check())
		for _, run := range runs {
			got, err := b.Run(run.ID)
			require.NoError(t, err)
			require.Equal(t, run, got)
		}
		got, err := b.Run("busy")
		require.NoError(t, err)
		require.GreaterOrEqual(t, len(got.Scenarios[0].Trials), before)
		require.Equal(t, rule.Void, got.Verdict, "a copy has no program at work")
		certified, err := b.Certificates("")
		require.NoError(t, err)
		require.Len(t, certified, 1)
		require.NoError(t, b.Close())
	}
	close(stop)
	require.NoError(t, <-stopped)
	require.ErrorIs(t, l.Backup(filepath.Join(dir, "1")), fs.ErrExist)
	left, err := filepath.Glob(filepath.Join(dir, "*unfinished*"))
	require.NoError(t, err)
	require.Empty(t, left)
	require.Error(t, l.Backup(filepath.Join(dir, "no", "folder")))
}
