package logbook_test

import (
	"bufio"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/reports"
	"pintle/reports/logbook"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// The test binary is also the writer that gets killed.
func TestMain(m *testing.M) {
	if path := os.Getenv("LOGBOOK_WRITER"); path != "" {
		write(path, os.Getenv("LOGBOOK_RUN"))
		return
	}
	os.Exit(m.Run())
}

func run(id string) *reports.Run {
	return &reports.Run{
		ID: id, Began: time.Unix(1_700_000_000, 0).UTC(), Job: "spring check", Trials: 1 << 20,
		Controller: reports.Controller{Board: "TS-2"},
		Files:      []reports.File{file("bench.yaml", "title: spring check\n")},
		Scenarios:  []reports.Scenario{{Name: "normal-cycle", Title: "Opens and closes"}},
	}
}

func trial(n int) (*reports.Trial, *signal.Trace) {
	t := &signal.Trace{End: signal.Instant(n) * 1000}
	for i := range 500 {
		from := signal.Instant(i) * 1_000_000
		t.Samples = append(t.Samples, signal.Sample{From: from, To: from + 3_000_000, Current: signal.Current(10_000 * ((i*n)%97 - 40))})
	}
	t.Edges = []signal.EdgeSeen{{Line: signal.Supply, Level: signal.Made, Span: signal.At(signal.Instant(n))}}
	return &reports.Trial{Number: n, Seed: uint64(n), Verdict: rule.Pass, Samples: len(t.Samples),
		Findings: []rule.Finding{{Verdict: rule.Pass, Unit: rule.Nanoseconds, Measured: true, Value: rule.Interval{Least: 1, Most: 2}, Limit: 3}}}, t
}

// write adds trials for ever, and prints each once it has been acknowledged.
func write(path, id string) {
	die := func(err error) {
		if err != nil {
			fmt.Println("error:", err)
			os.Exit(1)
		}
	}
	l, err := logbook.Open(path)
	die(err)
	r := run(id)
	die(l.Begin(r))
	for n := 1; ; n++ {
		tr, trace := trial(n)
		die(l.Trial(id, "normal-cycle", tr, trace))
		fmt.Println(n)
	}
}

func open(t *testing.T, path string) *logbook.Logbook {
	t.Helper()
	l, err := logbook.Open(path)
	require.NoError(t, err)
	t.Cleanup(func() { l.Close() })
	return l
}

func TestARunComesBackAsItWas(t *testing.T) {
	l := open(t, filepath.Join(t.TempDir(), "log.db"))
	r := run("one")
	require.NoError(t, l.Begin(r))
	for n := 1; n <= 3; n++ {
		tr, trace := trial(n)
		require.NoError(t, l.Trial("one", "normal-cycle", tr, trace))
		require.NotEmpty(t, tr.Trace, "the digest of the trace is told")
		r.Scenarios[0].Trials = append(r.Scenarios[0].Trials, *tr)
	}
	r.Ended, r.Verdict = r.Began.Add(time.Minute), rule.Pass
	r.Scenarios[0].Verdict = rule.Pass
	require.NoError(t, l.Finish(r))

	for _, name := range []string{"one", "on", "last"} {
		got, err := l.Run(name)
		require.NoError(t, err, name)
		assert.Equal(t, r, got, name)
	}
	_, want := trial(2)
	got, err := l.Trace("one", "normal-cycle", 2)
	require.NoError(t, err)
	assert.Equal(t, want.Samples, got.Samples)
	assert.Equal(t, want.Edges, got.Edges)
	require.NoError(t, l.Check())

	_, err = l.Run("two")
	assert.ErrorIs(t, err, logbook.ErrNoRun)
	_, err = l.Trace("one", "normal-cycle", 9)
	assert.ErrorIs(t, err, logbook.ErrNoRun)
}

// TestKilledAtAnyInstant kills a writer with SIGKILL after a random number of
// acknowledged trials, again and again on one logbook: all that was acknowledged
// is there and readable, and the run is void.
func TestKilledAtAnyInstant(t *testing.T) {
	path := filepath.Join(t.TempDir(), "log.db")
	times := 40
	if testing.Short() {
		times = 8
	}
	for i := range times {
		id := fmt.Sprintf("run-%03d", i)
		acknowledged := killWriter(t, path, id, 1+i*7%11, time.Duration(i*137%1900)*time.Microsecond)

		l, err := logbook.Open(path)
		require.NoError(t, err)
		got, err := l.Run(id)
		require.NoError(t, err)
		assert.Equal(t, rule.Void, got.Verdict, "a run without an end is void")
		assert.Contains(t, got.Reason, "ended before")
		require.GreaterOrEqual(t, len(got.Scenarios[0].Trials), acknowledged, "nothing acknowledged is lost")
		for _, tr := range got.Scenarios[0].Trials {
			_, want := trial(tr.Number)
			trace, err := l.Trace(id, "normal-cycle", tr.Number)
			require.NoError(t, err)
			require.Equal(t, want.Samples, trace.Samples)
		}
		require.NoError(t, l.Close())
	}
	require.NoError(t, open(t, path).Check())
}

// killWriter lets a writer acknowledge some trials and kills it a little later. It
// gives the number of the last trial that was acknowledged.
func killWriter(t *testing.T, path, id string, after int, later time.Duration) int {
	t.Helper()
	self, err := os.Executable()
	require.NoError(t, err)
	cmd := exec.Command(self)
	cmd.Env = append(os.Environ(), "LOGBOOK_WRITER="+path, "LOGBOOK_RUN="+id)
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	last := 0
	for lines := bufio.NewScanner(out); lines.Scan(); {
		n, err := strconv.Atoi(strings.TrimSpace(lines.Text()))
		require.NoError(t, err, lines.Text())
		last = n
		if n == after {
			time.AfterFunc(later, func() { cmd.Process.Kill() })
		}
	}
	require.Error(t, cmd.Wait(), "the writer was killed")
	return last
}

func TestTwoWritersAtOnce(t *testing.T) {
	path := filepath.Join(t.TempDir(), "log.db")
	var both sync.WaitGroup
	for _, id := range []string{"left", "right"} {
		both.Go(func() {
			l, err := logbook.Open(path)
			if !assert.NoError(t, err) {
				return
			}
			defer l.Close()
			r := run(id)
			assert.NoError(t, l.Begin(r))
			for n := 1; n <= 20; n++ {
				tr, trace := trial(n)
				assert.NoError(t, l.Trial(id, "normal-cycle", tr, trace))
			}
			r.Ended, r.Verdict = r.Began.Add(time.Second), rule.Pass
			assert.NoError(t, l.Finish(r))
		})
	}
	both.Wait()
	l := open(t, path)
	require.NoError(t, l.Check())
	for _, id := range []string{"left", "right"} {
		r, err := l.Run(id)
		require.NoError(t, err)
		assert.Len(t, r.Scenarios[0].Trials, 20)
		assert.Equal(t, rule.Pass, r.Verdict)
	}
}

func TestARunUnderWayElsewhereIsLeftAlone(t *testing.T) {
	path := filepath.Join(t.TempDir(), "log.db")
	writer := open(t, path)
	require.NoError(t, writer.Begin(run("busy")))
	reader := open(t, path)
	runs, err := reader.Runs()
	require.NoError(t, err)
	require.Len(t, runs, 1)
	assert.True(t, runs[0].UnderWay)
	tr, trace := trial(1)
	require.NoError(t, writer.Trial("busy", "normal-cycle", tr, trace), "nobody has marked it void")
}

func TestRefused(t *testing.T) {
	dir := t.TempDir()
	junk := filepath.Join(dir, "junk.db")
	require.NoError(t, os.WriteFile(junk, []byte(strings.Repeat("no database at all\n", 500)), 0o644))
	_, err := logbook.Open(junk)
	require.ErrorIs(t, err, logbook.ErrNotLogbook)
	_, err = logbook.Open(dir)
	require.ErrorIs(t, err, logbook.ErrNotLogbook)

	newer := filepath.Join(dir, "newer.db")
	l, err := logbook.Open(newer)
	require.NoError(t, err)
	require.NoError(t, l.Close())
	db, err := sql.Open("sqlite", newer)
	require.NoError(t, err)
	_, err = db.Exec("PRAGMA user_version = 9999")
	require.NoError(t, err)
	require.NoError(t, db.Close())
	_, err = logbook.Open(newer)
	require.ErrorIs(t, err, logbook.ErrNewer)

	l = open(t, filepath.Join(dir, "log.db"))
	tr, trace := trial(1)
	require.ErrorIs(t, l.Trial("never", "normal-cycle", tr, trace), logbook.ErrNoRun)
	require.NoError(t, l.Begin(run("one")))
	require.NoError(t, l.Trial("one", "normal-cycle", tr, trace))
	require.Error(t, l.Trial("one", "normal-cycle", tr, trace), "a trial cannot be performed twice")
}

// TestADamagedTraceIsFound flips one byte of a stored trace.
func TestADamagedTraceIsFound(t *testing.T) {
	path := filepath.Join(t.TempDir(), "log.db")
	l, err := logbook.Open(path)
	require.NoError(t, err)
	require.NoError(t, l.Begin(run("one")))
	tr, trace := trial(1)
	require.NoError(t, l.Trial("one", "normal-cycle", tr, trace))
	require.NoError(t, l.Close())
	db, err := sql.Open("sqlite", path)
	require.NoError(t, err)
	var data []byte
	require.NoError(t, db.QueryRow("SELECT data FROM traces").Scan(&data))
	data[len(data)/2] ^= 1
	_, err = db.Exec("UPDATE traces SET data = $1", data)
	require.NoError(t, err)
	require.NoError(t, db.Close())
	l = open(t, path)
	require.Error(t, l.Check())
	_, err = l.Trace("one", "normal-cycle", 1)
	require.Error(t, err)
}

func BenchmarkTrial(b *testing.B) {
	l, err := logbook.Open(filepath.Join(b.TempDir(), "log.db"))
	require.NoError(b, err)
	defer l.Close()
	require.NoError(b, l.Begin(run("one")))
	b.ReportAllocs()
	for n := 1; b.Loop(); n++ {
		tr, trace := trial(n)
		require.NoError(b, l.Trial("one", "normal-cycle", tr, trace))
	}
}

func file(name, text string) reports.File {
	sum := sha256.Sum256([]byte(text))
	return reports.File{Name: name, SHA256: hex.EncodeToString(sum[:]), Text: text}
}
