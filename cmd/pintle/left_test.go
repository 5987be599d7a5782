package main

import (
	"bytes"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/require"
)

// What is left of far too many trials is told in years: it once ran beyond what a
// duration holds, and was less than nothing.
func TestWhatIsLeftOfFarTooManyTrials(t *testing.T) {
	began := time.Unix(0, 0)
	p := &progress{began: began, done: 4000, of: 124_000_000_000, present: "it"}
	require.Contains(t, p.line(began.Add(3*time.Second)), ", 2.95 years left, it")
	p.of = 5000
	require.Contains(t, p.line(began.Add(40*time.Second)), ", 10 s left, it")
	p.of = 1 << 62
	require.False(t, strings.Contains(p.line(began.Add(40*time.Second)), "-1"), "less than nothing is left")
	require.Contains(t, p.line(began.Add(40*time.Second)), "years left")
}

// In a log and through a pipe progress is a plain line now and then, none of them drawn
// over, and none at all of a run that is soon over.
func TestProgressInALog(t *testing.T) {
	var log bytes.Buffer
	p := newProgress(&log, 20)
	p.step("normal-cycle")
	require.Empty(t, log.String(), "the run has only begun")
	p.told, p.began = time.Now().Add(-every-time.Second), time.Now().Add(-30*time.Second)
	p.step("normal-cycle")
	require.Regexp(t, `^==-{22} 2 of 20 trials, 4 min 3\d s left, normal-cycle\n$`, log.String())
	p.step("normal-cycle")
	p.end()
	require.Equal(t, 1, strings.Count(log.String(), "\n"), "not for each trial")
	require.NotContains(t, log.String(), "\r")
	require.NotContains(t, log.String(), "\x1b")
}
