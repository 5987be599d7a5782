package logbook

import (
	"fmt"
	"io"
	"os"
	"os/exec"
	"sync"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/rig/rule"
)

// writerVar tells this test binary to be a program that performs two runs.
const writerVar = "PINTLE_LOGBOOK_TEST_WRITER"

const writerTrials = 15

// writer performs two runs at once in one logbook, with two workers each.
func writer(path string, _ io.Writer) error {
	l, err := Open(path)
	if err != nil {
		return err
	}
	var all sync.WaitGroup
	errs := make([]error, 2)
	for i := range errs {
		all.Go(func() { errs[i] = writeRun(l, fmt.Sprintf("run-%d-%d", os.Getpid(), i)) })
	}
	all.Wait()
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return l.Close()
}

func writeRun(l *Logbook, id string) error {
	run := job(id, writerTrials, childScenarios...)
	if err := l.Begin(run); err != nil {
		return err
	}
	var workers sync.WaitGroup
	errs := make([]error, len(run.Scenarios))
	for i := range run.Scenarios {
		workers.Go(func() {
			for n := 1; n <= writerTrials && errs[i] == nil; n++ {
				trial, trace := performed(n)
				errs[i] = l.Trial(id, run.Scenarios[i].Name, trial, trace)
			}
		})
	}
	workers.Wait()
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	run.Ended, run.Verdict = run.Began.Add(time.Second), rule.Pass
	return l.Finish(run)
}

// Four programs that begin with no logbook there, and write at once, find all that
// they wrote in it.
func testProcesses(t *testing.T, at place) {
	path := at(t)
	var all sync.WaitGroup
	said := make([][]byte, 4)
	errs := make([]error, 4)
	for i := range errs {
		all.Go(func() {
			cmd := exec.Command(os.Args[0])
			cmd.Env = append(os.Environ(), writerVar+"="+path)
			said[i], errs[i] = cmd.CombinedOutput()
		})
	}
	all.Wait()
	for i, err := range errs {
		require.NoError(t, err, "%s", said[i])
	}
	l, err := Open(path)
	require.NoError(t, err)
	defer l.Close()
	require.NoError(t, l.Check())
	require.Empty(t, l.recovered)
	entries, err := l.Runs()
	require.NoError(t, err)
	require.Len(t, entries, 8)
	for _, e := range entries {
		require.Equal(t, rule.Pass, e.Verdict)
		run, err := l.Run(e.ID)
		require.NoError(t, err)
		for _, s := range run.Scenarios {
			require.Len(t, s.Trials, writerTrials)
			for j, trial := range s.Trials {
				want, wantTrace := performed(j + 1)
				want.Trace = trial.Trace
				require.Equal(t, *want, trial)
				if j%5 == 0 {
					trace, err := l.Trace(e.ID, s.Name, trial.Number)
					require.NoError(t, err)
					require.Equal(t, wantTrace, trace)
				}
			}
		}
	}
}
