package logbook

import (
	"database/sql"
	"io/fs"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/reports"
	"pintle/reports/logbook/testserver"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// The setting is a lift-up barrier at an invented boatyard.
var began = time.Date(2031, 5, 4, 9, 30, 0, 123456789, time.UTC)

// job is a run that has not begun: scenarios without trials.
func job(id string, trials int, scenarios ...string) *reports.Run {
	text := "travel: 90deg\nopening: 6s\n"
	run := &reports.Run{
		ID: id, Began: began, Program: "pintle test", Job: "Slipway barrier", Place: "Heron Creek boatyard", Gate: "lift-up barrier",
		Controller: reports.Controller{Board: "tide board", Serial: "7", Claims: []reports.Claim{{Name: "stop time", Value: "150ms"}}},
		Bench:      reports.Bench{Name: "virtual", Virtual: true},
		Seed:       1<<63 + 7, Trials: trials, Decision: "by span",
		Files: []reports.File{{Name: "gate.yaml", SHA256: digest([]byte(text)), Text: text}, {Name: "firmware.bin", SHA256: digest([]byte("not kept"))}},
	}
	for _, name := range scenarios {
		run.Scenarios = append(run.Scenarios, reports.Scenario{Name: name, Title: name, Rules: []reports.Rule{{Name: "stops", Pattern: "bounded response"}}})
	}
	return run
}

// performed is a trial and its trace.
func performed(n int) (*reports.Trial, *signal.Trace) {
	tr := &signal.Trace{End: signal.Instant(n) * 1000}
	for i := range 50 + n {
		tr.Samples = append(tr.Samples, signal.Sample{From: signal.Instant(i) * 1e6, To: signal.Instant(i)*1e6 + 1e6, Current: signal.Current(i % 7 * n)})
	}
	trial := &reports.Trial{
		Number: n, Seed: uint64(n) << 60, Verdict: rule.Pass, Took: time.Second, Samples: len(tr.Samples),
		Findings: []rule.Finding{{Verdict: rule.Pass, Unit: rule.Nanoseconds, Sense: rule.AtMost, Measured: true,
			Value: rule.Interval{Least: 1, Most: 1<<63 - 1}, Limit: 3, Exercised: 1, Decided: []signal.Span{signal.At(signal.Never)}}},
	}
	return trial, tr
}

// perform adds the trials of one scenario to the run and the logbook.
func perform(t testing.TB, l *Logbook, run *reports.Run, scenario, trials int) {
	t.Helper()
	s := &run.Scenarios[scenario]
	for n := 1; n <= trials; n++ {
		trial, trace := performed(n)
		require.NoError(t, l.Trial(run.ID, s.Name, trial, trace))
		s.Trials = append(s.Trials, *trial)
	}
	s.Verdict = rule.Pass
}

// A place gives the path or address of a logbook that is not there yet.
type place func(t testing.TB) string

func inFile(t testing.TB) string { return filepath.Join(t.TempDir(), "a log?book#1%20.pintle") }

// suite is what holds wherever a logbook is kept.
var suite = []struct {
	name string
	test func(*testing.T, place)
}{
	{"a run comes back", testARunComesBack},
	{"the list and names", testTheListAndNames},
	{"a clock that was set back", testAClockThatWasSetBack},
	{"what is refused", testWhatIsRefused},
	{"a run without an end is void", testARunWithoutAnEndIsVoid},
	{"check finds what was changed", testCheckFindsWhatWasChanged},
	{"many writers at once", testManyWritersAtOnce},
	{"many open at once", testManyOpenAtOnce},
	{"filters", testFilters},
	{"an earlier version comes up to date", testEarlierVersion},
	{"half a migration", testHalfAMigration},
	{"a newer version", testNewerVersion},
	{"what a certificate rests on", testCertified},
	{"dropping", testDrop},
	{"backup beside a writer", testBackup},
	{"processes that write at once", testProcesses},
	{"killed at any instant", testKilledAtAnyInstant},
	{"killed beside a living run", testKilledBesideALivingRun},
}

func TestInAFile(t *testing.T) {
	for _, c := range suite {
		t.Run(c.name, func(t *testing.T) { c.test(t, inFile) })
	}
}

func TestOnAServer(t *testing.T) {
	server := testserver.Need(t)
	for _, c := range suite {
		t.Run(c.name, func(t *testing.T) { c.test(t, server.Schema) })
	}
}

func fresh(t testing.TB, at place) *Logbook {
	t.Helper()
	l, err := Open(at(t))
	require.NoError(t, err)
	t.Cleanup(func() { l.Close() })
	return l
}

// finish ends a run in the ordinary way.
func finish(t testing.TB, l *Logbook, run *reports.Run) {
	t.Helper()
	run.Ended, run.Verdict = run.Began.Add(time.Minute), rule.Pass
	require.NoError(t, l.Finish(run))
}

func testARunComesBack(t *testing.T, at place) {
	l := fresh(t, at)
	run := job("2031-05-04-a", 3, "normal-cycle", "a-limit-missed")
	require.NoError(t, l.Begin(run))
	perform(t, l, run, 0, 3)
	perform(t, l, run, 1, 3)
	finish(t, l, run)

	got, err := l.Run(run.ID)
	require.NoError(t, err)
	require.Equal(t, run, got)
	for _, s := range run.Scenarios {
		for n := 1; n <= 3; n++ {
			_, want := performed(n)
			trace, err := l.Trace(run.ID, s.Name, n)
			require.NoError(t, err)
			require.Equal(t, want, trace)
			file, err := l.TraceFile("last", s.Name, n)
			require.NoError(t, err)
			require.Equal(t, s.Trials[n-1].Trace, digest(file))
		}
	}
	require.NoError(t, l.Check())
	var kept int
	require.NoError(t, l.db.QueryRow(`SELECT COUNT(*) FROM traces`).Scan(&kept))
	require.Equal(t, 3, kept, "a trace that came out twice is kept once")
}

func testTheListAndNames(t *testing.T, at place) {
	l := fresh(t, at)
	_, err := l.Run("last")
	require.ErrorIs(t, err, ErrNoRun)
	for i, id := range []string{"ab-1", "ab-12", "b%", "ab_2"} {
		run := job(id, 1, "normal-cycle")
		run.Began = began.Add(time.Duration(i) * time.Hour)
		require.NoError(t, l.Begin(run))
		perform(t, l, run, 0, 1)
		if id != "ab_2" {
			finish(t, l, run)
		}
	}
	entries, err := l.Runs()
	require.NoError(t, err)
	require.Len(t, entries, 4)
	require.Equal(t, "ab-1", entries[0].ID)
	require.Equal(t, Entry{
		ID: "b%", Began: began.Add(2 * time.Hour), Ended: began.Add(2*time.Hour + time.Minute), Job: "Slipway barrier",
		Controller: job("", 1).Controller, Bench: "virtual", Scenarios: 1, Trials: 1, Verdict: rule.Pass}, entries[2])
	require.True(t, entries[3].UnderWay)
	require.Equal(t, rule.Unsettled, entries[3].Verdict, "a run under way has no verdict")

	for name, want := range map[string]string{"last": "ab_2", "ab-1": "ab-1", "ab-12": "ab-12", "b": "b%", "b%": "b%", "ab_": "ab_2"} {
		run, err := l.Run(name)
		require.NoError(t, err, name)
		require.Equal(t, want, run.ID, name)
	}
	_, err = l.Run("ab")
	require.ErrorIs(t, err, ErrAmbiguous)
	require.ErrorContains(t, err, "ab-1, ab-12, ab_2")
	for _, name := range []string{"", "%", "c", "AB-1"} {
		_, err = l.Run(name)
		require.ErrorIs(t, err, ErrNoRun, "%q", name)
	}
	for _, c := range []struct {
		run, scenario string
		trial         int
	}{{"c", "normal-cycle", 1}, {"b", "no such", 1}, {"b", "normal-cycle", 2}} {
		_, err = l.Trace(c.run, c.scenario, c.trial)
		require.ErrorIs(t, err, ErrNoRun)
	}
}

// A small computer without a battery for its clock comes up in the past. The run that was
// entered last is the last all the same: a certificate must not rest on the one before it.
func testAClockThatWasSetBack(t *testing.T, at place) {
	l := fresh(t, at)
	for i, id := range []string{"20310410-1", "20310409-2", "20310408-3"} {
		run := job(id, 1, "normal-cycle")
		run.Began = began.AddDate(0, 0, -i)
		require.NoError(t, l.Begin(run))
		perform(t, l, run, 0, 1)
		finish(t, l, run)
		last, err := l.Run("last")
		require.NoError(t, err)
		require.Equal(t, id, last.ID)
	}
	one, err := l.Select(Filter{Last: 1})
	require.NoError(t, err)
	require.Equal(t, "20310408-3", one[0].ID)
	plan, err := l.Plan(Drop{KeepLast: 1, At: began})
	require.NoError(t, err)
	require.Len(t, plan.Runs, 2)
	for _, e := range plan.Runs {
		require.NotEqual(t, "20310408-3", e.ID, "what was entered last stays")
	}
	again := job("20310408-3", 1, "normal-cycle")
	require.ErrorIs(t, l.Begin(again), ErrTaken, "no run takes another's name")

	copied := filepath.Join(t.TempDir(), "copy")
	require.NoError(t, l.Backup(copied))
	c, err := Open(copied)
	require.NoError(t, err)
	defer c.Close()
	last, err := c.Run("last")
	require.NoError(t, err)
	require.Equal(t, "20310408-3", last.ID, "in a copy as well")
}

func testWhatIsRefused(t *testing.T, at place) {
	l := fresh(t, at)
	trial, trace := performed(1)
	require.ErrorIs(t, l.Trial("a", "normal-cycle", trial, trace), ErrNoRun)

	for want, spoil := range map[string]func(*reports.Run){
		"cannot be called":         func(r *reports.Run) { r.ID = "" },
		`cannot be called "last"`:  func(r *reports.Run) { r.ID = "last" },
		"the digest of file gate":  func(r *reports.Run) { r.Files[0].Text += " " },
		"two scenarios are called": func(r *reports.Run) { r.Scenarios = append(r.Scenarios, r.Scenarios[0]) },
	} {
		run := job("a", 1, "normal-cycle")
		spoil(run)
		require.ErrorContains(t, l.Begin(run), want)
	}
	run := job("a", 2, "normal-cycle")
	require.NoError(t, l.Begin(run))
	require.ErrorContains(t, l.Begin(run), "already")
	require.NoError(t, l.Trial("a", "normal-cycle", trial, trace))
	require.ErrorContains(t, l.Trial("a", "normal-cycle", trial, trace), "already")
	trace.Edges = []signal.EdgeSeen{{}}
	require.ErrorContains(t, l.Trial("a", "normal-cycle", trial, trace), "edge 0")
	require.ErrorContains(t, l.Finish(run), "when it ended")

	// A trial that was never added comes in with the end; one that was, stands.
	second, _ := performed(2)
	second.Trace = "made up"
	changed := *trial
	changed.Verdict = rule.Fail
	run.Scenarios[0].Trials = []reports.Trial{changed, *second}
	finish(t, l, run)
	got, err := l.Run("a")
	require.NoError(t, err)
	require.Equal(t, rule.Pass, got.Scenarios[0].Trials[0].Verdict)
	require.Empty(t, got.Scenarios[0].Trials[1].Trace)
	_, err = l.Trace("a", "normal-cycle", 2)
	require.ErrorContains(t, err, "has no trace")

	require.ErrorContains(t, l.Trial("a", "normal-cycle", trial, nil), "finished")
	require.ErrorContains(t, l.Finish(run), "finished")
	require.NoError(t, l.Check())
}

func testARunWithoutAnEndIsVoid(t *testing.T, at place) {
	l := fresh(t, at)
	run := job("a", 2, "whole", "half", "none")
	require.NoError(t, l.Begin(run))
	perform(t, l, run, 0, 2)
	perform(t, l, run, 1, 1)
	marked, err := l.Recover()
	require.NoError(t, err)
	require.Empty(t, marked, "its program is alive")
	half, err := l.Run("a")
	require.NoError(t, err)
	require.Equal(t, rule.Unsettled, half.Verdict)
	other, err := Open(l.path)
	require.NoError(t, err)
	require.Empty(t, other.recovered, "another process sees that it is alive")
	require.NoError(t, other.Close())
	require.NoError(t, l.Close())

	l, err = Open(l.path)
	require.NoError(t, err)
	defer l.Close()
	marked, err = l.Recover()
	require.NoError(t, err)
	require.Equal(t, []string{"a"}, marked)
	got, err := l.Run("a")
	require.NoError(t, err)
	require.Equal(t, rule.Void, got.Verdict)
	require.Equal(t, Broken, got.Reason)
	require.True(t, got.Ended.IsZero())
	require.Equal(t, rule.Pass, got.Scenarios[0].Verdict, "what was finished counts")
	require.Equal(t, rule.Void, got.Scenarios[1].Verdict)
	require.Equal(t, "1 of 2 trials were performed", got.Scenarios[1].Reason)
	require.Equal(t, rule.Void, got.Scenarios[2].Verdict)
	_, err = l.Trace("a", "half", 1)
	require.NoError(t, err)
	trial, trace := performed(2)
	require.ErrorContains(t, l.Trial("a", "half", trial, trace), "marked void")
	if !IsAddress(l.path) {
		left, err := filepath.Glob(filepath.Join(filepath.Dir(l.path), "*.alive-*"))
		require.NoError(t, err)
		require.Empty(t, left, "what told of the dead is gone")
	}
}

func TestFilesThatAreNoLogbook(t *testing.T) {
	dir := t.TempDir()
	path := func(name, content string) string {
		p := filepath.Join(dir, name)
		require.NoError(t, os.WriteFile(p, []byte(content), 0o600))
		return p
	}
	other := filepath.Join(dir, "other.db")
	db, err := sql.Open("sqlite", other)
	require.NoError(t, err)
	_, err = db.Exec("CREATE TABLE boats (name TEXT)")
	require.NoError(t, err)
	require.NoError(t, db.Close())
	before, err := os.ReadFile(other)
	require.NoError(t, err)

	l := fresh(t, inFile)
	_, err = l.db.Exec("PRAGMA user_version = 99")
	require.NoError(t, err)
	require.NoError(t, l.Close())

	for _, c := range []struct {
		path string
		want error
		text string
	}{
		{path("junk", "a text of some length that is by no means a SQLite database, but long enough for a header of one hundred bytes"), ErrNotLogbook, "junk"},
		{path("short", "SQLite format 3\x00"), ErrNotLogbook, ""},
		{dir, ErrNotLogbook, "folder"},
		{other, ErrNotLogbook, "another program"},
		{l.path, ErrNewer, "version 99"},
		{filepath.Join(dir, "no", "such"), fs.ErrNotExist, "no"},
	} {
		_, err := Open(c.path)
		require.ErrorIs(t, err, c.want, c.path)
		require.ErrorContains(t, err, c.text)
		require.ErrorContains(t, err, c.path)
	}
	after, err := os.ReadFile(other)
	require.NoError(t, err)
	require.Equal(t, before, after, "another program's file is left as it is")
}

func testCheckFindsWhatWasChanged(t *testing.T, at place) {
	for name, c := range map[string]struct {
		change string
		want   string
	}{
		"trace":             {`UPDATE traces SET data = (SELECT data FROM traces ORDER BY sha256 DESC LIMIT 1)`, "is not what it was"},
		"trace missing":     {`DELETE FROM traces WHERE sha256 = (SELECT min(sha256) FROM traces)`, "not there"},
		"text":              {`UPDATE texts SET text = text || ' '`, "is not what it was"},
		"text missing":      {`DELETE FROM texts`, "not there"},
		"trial":             {`UPDATE trials SET trial = '{' WHERE number = 1`, "unreadable"},
		"swapped":           {`UPDATE trials SET trace = (SELECT max(sha256) FROM traces)`, "another trace"},
		"run":               {`UPDATE runs SET run = '['`, "unreadable"},
		"run missing":       {`DELETE FROM runs`, "not there"},
		"scenario":          {`UPDATE trials SET scenario = 'other'`, "does not have"},
		"looked up":         {`UPDATE runs SET serial = '8'`, "not its own"},
		"dropped, yet kept": {`UPDATE trials SET dropped = 1`, "another trace"},
		"certified":         {`INSERT INTO certified VALUES ('b', 1, '', '')`, "which a certificate rests on, is not there"},
		"certified, dropped": {`INSERT INTO certified VALUES ('a', 1, '', ''); UPDATE trials SET trace = NULL, dropped = 2 WHERE number = 1`,
			"a trace was dropped of run a"},
	} {
		t.Run(name, func(t *testing.T) {
			l := fresh(t, at)
			run := job("a", 2, "normal-cycle")
			require.NoError(t, l.Begin(run))
			perform(t, l, run, 0, 2)
			finish(t, l, run)
			require.NoError(t, l.Check())
			loose := "PRAGMA foreign_keys = 0; "
			if IsAddress(l.path) {
				loose = "SET session_replication_role = replica; "
			}
			_, err := l.db.Exec(loose + c.change)
			require.NoError(t, err)
			err = l.Check()
			require.ErrorIs(t, err, ErrNotLogbook)
			require.ErrorContains(t, err, c.want)
		})
	}
}

// A byte changed anywhere in the file is an error or changes nothing that is read;
// it is never a panic, and never another answer.
func TestDamagedFiles(t *testing.T) {
	l := fresh(t, inFile)
	run := job("a", 2, "normal-cycle")
	require.NoError(t, l.Begin(run))
	perform(t, l, run, 0, 2)
	finish(t, l, run)
	require.NoError(t, l.Close())
	whole, err := os.ReadFile(l.path)
	require.NoError(t, err)
	_, want := performed(1)
	path := filepath.Join(t.TempDir(), "damaged")
	rng, caught := uint64(88172645463325252), 0
	for range 60 {
		rng ^= rng << 13
		rng ^= rng >> 7
		rng ^= rng << 17
		b := append([]byte(nil), whole...)
		for i := range 64 {
			b[(rng+uint64(i))%uint64(len(b))] ^= 0x5A
		}
		require.NoError(t, os.WriteFile(path, b, 0o600))
		d, err := Open(path)
		if err != nil {
			caught++
			continue
		}
		if trace, err := d.Trace("a", "normal-cycle", 1); err == nil {
			require.Equal(t, want, trace)
		}
		if d.Check() != nil {
			caught++
		}
		require.NoError(t, d.Close())
	}
	require.NotZero(t, caught)
}
