package logbook

import (
	"bufio"
	"flag"
	"fmt"
	"io"
	"math/rand/v2"
	"os"
	"os/exec"
	"strconv"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/reports/logbook/testserver"
	"pintle/rig/rule"
)

var kills = flag.Int("kills", 40, "how often the kill test kills a writing program")

// childVar tells this test binary to be the program that is killed.
const childVar = "PINTLE_LOGBOOK_TEST_CHILD"

func TestMain(m *testing.M) {
	if path := os.Getenv(childVar); path != "" {
		if err := child(path, os.Stdout); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
		os.Exit(0)
	}
	for name, be := range map[string]func(string, io.Writer) error{migrateVar: halfMigrate, writerVar: writer} {
		if path := os.Getenv(name); path != "" {
			if err := be(path, os.Stdout); err != nil {
				fmt.Fprintln(os.Stderr, err)
				os.Exit(1)
			}
			os.Exit(0)
		}
	}
	status := m.Run()
	testserver.Stop()
	os.Exit(status)
}

const (
	childTrials = 12
	childRun    = "the-run"
)

var childScenarios = []string{"normal-cycle", "a-limit-missed"}

// child performs a run in a logbook, with two workers, and says a line of each
// thing that the logbook has acknowledged.
func child(path string, out io.Writer) error {
	l, err := Open(path)
	if err != nil {
		return err
	}
	var mu sync.Mutex
	say := func(form string, args ...any) {
		mu.Lock()
		defer mu.Unlock()
		fmt.Fprintf(out, form+"\n", args...)
	}
	say("opened")
	run := job(childRun, childTrials, childScenarios...)
	if err := l.Begin(run); err != nil {
		return err
	}
	say("begun")
	var workers sync.WaitGroup
	for i := range run.Scenarios {
		workers.Go(func() {
			for n := 1; n <= childTrials; n++ {
				trial, trace := performed(n)
				if err := l.Trial(run.ID, run.Scenarios[i].Name, trial, trace); err != nil {
					say("failed %v", err)
					return
				}
				say("trial %d %d", i, n)
			}
		})
	}
	workers.Wait()
	run.Ended = run.Began.Add(time.Second)
	run.Verdict = rule.Pass
	for i := range run.Scenarios {
		run.Scenarios[i].Verdict = rule.Pass
	}
	if err := l.Finish(run); err != nil {
		return err
	}
	say("finished")
	return l.Close()
}

// An acknowledged is what a child was told is on the disk.
type acknowledged struct {
	begun, finished bool
	trials          [2]int
	failed          string
}

func (a *acknowledged) hear(line string) {
	word := strings.Fields(line)
	switch word[0] {
	case "begun":
		a.begun = true
	case "finished":
		a.finished = true
	case "failed":
		a.failed = line
	case "trial":
		s, _ := strconv.Atoi(word[1])
		a.trials[s], _ = strconv.Atoi(word[2])
	}
}

// killed runs a child and kills it, with no chance to clean up, some turns of a
// loop after it has said a number of lines.
func killed(t *testing.T, path string, lines, turns int) acknowledged {
	t.Helper()
	cmd := exec.Command(os.Args[0])
	cmd.Env = append(os.Environ(), childVar+"="+path)
	out, err := cmd.StdoutPipe()
	require.NoError(t, err)
	require.NoError(t, cmd.Start())
	var a acknowledged
	heard := bufio.NewScanner(out)
	for i := 0; i < lines && heard.Scan(); i++ {
		a.hear(heard.Text())
	}
	busy := uint64(1)
	for range turns {
		busy = busy*6364136223846793005 + 1442695040888963407
	}
	spin = busy
	_ = cmd.Process.Kill() // it may have ended by itself
	for heard.Scan() {     // what it said before it died was acknowledged too
		a.hear(heard.Text())
	}
	_ = cmd.Wait()
	require.Empty(t, a.failed)
	return a
}

var spin uint64 // keeps the loop in

// openAfterDeath opens a logbook whose writer was killed. A server takes a moment to
// see that a session is gone; until then the run counts as under way.
func openAfterDeath(t *testing.T, path string) *Logbook {
	t.Helper()
	l, err := Open(path)
	require.NoError(t, err)
	for range 10_000 {
		run, err := l.Run(childRun)
		if err != nil || run.Verdict != rule.Unsettled {
			break
		}
		_, err = l.Recover()
		require.NoError(t, err)
	}
	return l
}

// verify holds what is left of a logbook to what was acknowledged.
func verify(t *testing.T, path string, a acknowledged) {
	t.Helper()
	l := openAfterDeath(t, path)
	defer l.Close()
	require.NoError(t, l.Check())
	run, err := l.Run(childRun)
	if !a.begun && err != nil {
		require.ErrorIs(t, err, ErrNoRun)
		return
	}
	require.NoError(t, err)
	ended := !run.Ended.IsZero()
	if a.finished {
		require.True(t, ended)
	}
	if ended {
		require.Equal(t, rule.Pass, run.Verdict)
	} else {
		require.Equal(t, rule.Void, run.Verdict)
		require.Equal(t, Broken, run.Reason)
		marked, err := l.Recover()
		require.NoError(t, err)
		require.Equal(t, []string{childRun}, marked)
	}
	for i, s := range run.Scenarios {
		require.GreaterOrEqual(t, len(s.Trials), a.trials[i])
		// At most the one trial that was being written can be there unacknowledged.
		require.LessOrEqual(t, len(s.Trials), a.trials[i]+1)
		if len(s.Trials) < childTrials {
			require.Equal(t, rule.Void, s.Verdict)
		}
		for j, trial := range s.Trials {
			want, wantTrace := performed(j + 1)
			want.Trace = trial.Trace
			require.Equal(t, *want, trial)
			trace, err := l.Trace(childRun, s.Name, trial.Number)
			require.NoError(t, err)
			require.Equal(t, wantTrace, trace)
		}
	}
}

// The program is killed at any instant: what was acknowledged is there, nothing is
// there by half, and the run is void.
func testKilledAtAnyInstant(t *testing.T, at place) {
	rng := rand.New(rand.NewPCG(1, 2))
	void, times := 0, *kills
	if testing.Short() {
		times = min(times, 8)
	}
	if IsAddress(at(t)) { // each takes a schema and sessions of its own
		times = (times + 3) / 4
	}
	for n := 0; n < times || void <= times/2 && n < 6*times; n++ { // on a fast machine more of them are done before
		path := at(t)
		lines := rng.IntN(3 + 2*childTrials + 1)
		a := killed(t, path, lines, rng.IntN(3_000_000))
		if !a.finished {
			void++
		}
		verify(t, path, a)
	}
	require.Greater(t, void, times/2, "most children must be killed before they are done")
}

// Programs that are killed one after the other, in one logbook that another
// process keeps using, do no harm to each other's runs.
func testKilledBesideALivingRun(t *testing.T, at place) {
	l := fresh(t, at)
	mine := job("mine", 2, "normal-cycle")
	require.NoError(t, l.Begin(mine))
	perform(t, l, mine, 0, 1)
	a := killed(t, l.path, 6, 0)
	require.True(t, a.begun)
	verify(t, l.path, a)
	trial, trace := performed(2)
	require.NoError(t, l.Trial("mine", "normal-cycle", trial, trace), "the living run was not touched")
	finish(t, l, mine)
	entries, err := l.Runs()
	require.NoError(t, err)
	require.Len(t, entries, 2)
}
