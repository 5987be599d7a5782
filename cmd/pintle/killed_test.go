//go:build unix

package main

import (
	"archive/zip"
	"bufio"
	"bytes"
	"encoding/json"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/reports"
	"pintle/reports/logbook"
	"pintle/rig/rule"
)

// kills is how often the test kills a run: 200 times where nothing may be skipped.
func kills() int {
	switch {
	case os.Getenv("PINTLE_REQUIRE") == "1":
		return 200
	case testing.Short():
		return 6
	}
	return 12
}

// perLogbook is how many runs are killed one after the other in one logbook.
const perLogbook = 5

// TestKilledRuns kills pintle run with no chance to clean up, at any instant from its
// first to after its last. What it had told on its output as kept is in the logbook,
// nothing is there by half, and the next run works. Every fifth time what is killed is
// pintle certify.
func TestKilledRuns(t *testing.T) {
	program := filepath.Join(t.TempDir(), "pintle")
	require.NoError(t, os.Symlink(os.Args[0], program))
	const lanes = 2 // side by side
	for lane := range lanes {
		t.Run(fmt.Sprint("lane ", lane+1), func(t *testing.T) {
			t.Parallel()
			k := &killer{t: t, program: program, dir: t.TempDir(), rng: rand.New(rand.NewPCG(6, uint64(lane)))}
			k.measure()
			k.kill(kills() / lanes)
		})
	}
}

type killer struct {
	t                      *testing.T
	program, dir, log      string
	rng                    *rand.Rand
	takes, certifying      time.Duration // when nobody kills them
	says                   int           // lines of a run
	before, between, after int
	told                   int
	certified, without     int
}

func (k *killer) kill(n int) {
	i := 0
	for ; i < n || k.between <= n/5 && i < 3*n; i++ { // what is the middle depends on the machine
		if i%perLogbook == 0 {
			k.log = filepath.Join(k.dir, fmt.Sprintf("%d.db", i))
		}
		if i%perLogbook == perLogbook-1 {
			k.certify(i)
		} else {
			k.run(i)
		}
	}
	k.t.Logf("%d killed: %d before anything was kept, %d between, %d after all was kept; %d trials told as kept; %d in pintle certify, %d of them before the certificate",
		i, k.before, k.between, k.after, k.told, k.certified, k.without)
	require.Greater(k.t, k.between, n/5, "too few runs were killed in the middle")
}

// call is a run of the demo on two workers.
func (k *killer) call(i int) []string {
	return []string{"run", "normal-cycle", "press-in-mid-travel", "--trials", "6", "--workers", "2", "--seed", fmt.Sprint(i + 1), "--json",
		"--logbook", k.log, "--certificate", k.name(i, "pdf"), "--junit", k.name(i, "xml")}
}

func (k *killer) name(i int, ending string) string {
	return filepath.Join(k.dir, fmt.Sprintf("c-%d.%s", i, ending))
}

// measure performs a run and a certificate to their end, to know when to kill.
func (k *killer) measure() {
	k.log = filepath.Join(k.dir, "whole.db")
	began := time.Now()
	out := k.whole(k.call(1_000_000)...)
	k.takes, k.says = time.Since(began), bytes.Count(out, []byte("\n"))
	began = time.Now()
	k.whole(k.certification(1_000_000)...)
	k.certifying = time.Since(began)
}

func (k *killer) certification(i int) []string {
	return []string{"certify", "last", "--logbook", k.log, "--out", k.name(i, "pdf"), "--record", k.name(i, "zip")}
}

// whole performs a call to its end and gives what it said.
func (k *killer) whole(args ...string) []byte {
	out, err := k.perform(0, time.Hour, args...)
	require.NoError(k.t, err)
	return out
}

// perform performs a call, kills it some time after it has said so many lines, and
// gives all that it said.
func (k *killer) perform(lines int, after time.Duration, args ...string) ([]byte, error) {
	cmd := exec.Command(k.program, args...)
	cmd.Dir = k.dir
	cmd.Env = append(os.Environ(), "XDG_CONFIG_HOME="+k.dir)
	var said, errs bytes.Buffer
	cmd.Stderr = &errs
	out, err := cmd.StdoutPipe()
	require.NoError(k.t, err)
	require.NoError(k.t, cmd.Start())
	reader := bufio.NewReader(io.TeeReader(out, &said))
	for range lines {
		if _, err := reader.ReadString('\n'); err != nil {
			break
		}
	}
	killed := time.AfterFunc(after, func() { _ = cmd.Process.Kill() })
	_, err = io.Copy(io.Discard, reader)
	require.NoError(k.t, err)
	err = cmd.Wait()
	if killed.Stop() && err != nil { // by itself
		require.NoError(k.t, err, errs.String())
	}
	return said.Bytes(), err
}

// any is any time up to one.
func (k *killer) any(most time.Duration) time.Duration {
	return time.Duration(k.rng.Int64N(int64(most)))
}

func (k *killer) run(i int) {
	var out []byte
	if k.rng.IntN(5) == 0 { // any instant of its life
		out, _ = k.perform(0, k.any(k.takes), k.call(i)...)
	} else { // in its work: when it has said something, until shortly after it has said all
		out, _ = k.perform(1+k.rng.IntN(k.says), k.any(k.takes/20), k.call(i)...)
	}
	id, kept, record := heard(k.t, out)
	log, err := logbook.Open(k.log)
	require.NoError(k.t, err)
	defer log.Close()
	require.NoError(k.t, log.Check())
	k.files(i)
	k.told += len(kept)
	if id == "" {
		k.before++
		return
	}
	run, err := log.Run(id)
	if len(kept) == 0 && err != nil {
		require.ErrorIs(k.t, err, logbook.ErrNoRun)
		k.before++
		return
	}
	require.NoError(k.t, err)
	k.held(log, run, kept)
	if run.Ended.IsZero() {
		require.Nil(k.t, record, "a run that was told as a whole is whole")
		require.Equal(k.t, rule.Void, run.Verdict)
		require.Equal(k.t, logbook.Broken, run.Reason)
		k.between++
		return
	}
	require.Equal(k.t, rule.Pass, run.Verdict)
	if record != nil { // printing lags behind the logbook: killed in between, what was kept was not told
		require.Len(k.t, kept, 12)
	}
	k.after++
}

// held wants every trial that was told as kept, with its trace.
func (k *killer) held(log *logbook.Logbook, run *reports.Run, kept []event) {
	for _, e := range kept {
		s, at, err := find(run, fmt.Sprintf("%s/%d", e.Scenario, e.Trial))
		require.NoError(k.t, err)
		assert.Equal(k.t, e.Verdict, s.Trials[at].Verdict.String())
		trace, err := log.Trace(run.ID, e.Scenario, e.Trial)
		require.NoError(k.t, err)
		assert.Len(k.t, trace.Samples, s.Trials[at].Samples)
	}
}

// heard reads what a run said: its name, the trials that it told as kept, and the
// record at its end. A line that it was killed in was not said.
func heard(t *testing.T, out []byte) (id string, kept []event, record []byte) {
	for line := range strings.Lines(string(out)) {
		if !strings.HasSuffix(line, "\n") {
			break
		}
		var e event
		if !strings.HasPrefix(line, `{"event":`) {
			record = []byte(line)
			continue
		}
		require.NoError(t, json.Unmarshal([]byte(line), &e), line)
		switch e.Event {
		case "run begins":
			id = e.Run
		case "trial ends":
			kept = append(kept, e)
		}
	}
	return id, kept, record
}

// files wants the files that a call leaves whole or not there.
func (k *killer) files(i int) (certificate bool) {
	if b, err := os.ReadFile(k.name(i, "pdf")); err == nil {
		require.True(k.t, bytes.HasPrefix(b, []byte("%PDF-")) && bytes.HasSuffix(bytes.TrimSpace(b), []byte("%%EOF")), "half a certificate")
		certificate = true
	}
	if b, err := os.ReadFile(k.name(i, "xml")); err == nil {
		require.True(k.t, bytes.HasSuffix(bytes.TrimSpace(b), []byte("</testsuites>")), "half a result file")
	}
	if z, err := zip.OpenReader(k.name(i, "zip")); !os.IsNotExist(err) {
		require.NoError(k.t, err, "half a record")
		for _, f := range z.File {
			r, err := f.Open()
			require.NoError(k.t, err)
			_, err = io.Copy(io.Discard, r) // it wants the right sum at its end
			require.NoError(k.t, err)
		}
		require.NoError(k.t, z.Close())
	}
	return certificate
}

// certify performs a run to its end, which must work after those that were killed, and
// kills pintle certify of it.
func (k *killer) certify(i int) {
	k.whole("run", "normal-cycle", "--trials", "3", "--logbook", k.log, "--certificate", k.name(i, "first.pdf")) // the next run works
	_, _ = k.perform(0, k.any(k.certifying*11/10), k.certification(i)...)
	there := k.files(i)
	log, err := logbook.Open(k.log)
	require.NoError(k.t, err)
	defer log.Close()
	require.NoError(k.t, log.Check())
	all, err := log.Certificates("last")
	require.NoError(k.t, err)
	k.certified++
	if !there {
		k.without++
		return
	}
	require.Len(k.t, all, 2, "a certificate is there, and the logbook does not know")
}
