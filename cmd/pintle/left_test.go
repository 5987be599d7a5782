package main

import (
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
	require.Contains(t, p.line(began.Add(40*time.Second)), ", 10s left, it")
	p.of = 1 << 62
	require.False(t, strings.Contains(p.line(began.Add(40*time.Second)), "-1"), "less than nothing is left")
	require.Contains(t, p.line(began.Add(40*time.Second)), "years left")
}
