package main

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/reports/logbook"
)

// Whatever a run leaves is of the whole run, and says all that its flag and the live page
// need.
func TestWhatARunLeavesIsSaidInFull(t *testing.T) {
	flags := runCommand(&app{}).Flags()
	offered := 0
	for _, f := range leavings() {
		l := f.left
		assert.NotEqual(t, ofTrial, f.of, "%s: a run is no trial", f.name)
		require.NotNil(t, flags.Lookup(l.flag), f.name)
		assert.Equal(t, "write "+l.means+" to `FILE`", flags.Lookup(l.flag).Usage)
		assert.NotEmpty(t, l.means, f.name)
		assert.Equal(t, l.media == "", l.ending == "", "%s: a file that the page offers has an ending and a media type", f.name)
		if l.media != "" {
			offered++
		}
	}
	assert.Len(t, papers(nil), offered)
	assert.NotContains(t, formNames(), certified.name, "pintle certify makes one, with its record")
}

// A certificate that somebody takes away from the live page rests on its run as any other
// does: what it rests on is not dropped.
func TestACertificateOfTheLivePageKeepsItsRun(t *testing.T) {
	t.Chdir(t.TempDir())
	var said bytes.Buffer
	require.Zero(t, pintle(t.Context(), []string{"run", "normal-cycle", "--logbook", "a.db"}, &said, &said), said.String())
	log, err := logbook.Open("a.db")
	require.NoError(t, err)
	defer log.Close()
	run, err := log.Run("last")
	require.NoError(t, err)
	for _, p := range papers(log) {
		for range 2 { // twice is once
			require.NoError(t, p.Write(&said, run), p.Name)
		}
		all, err := log.Certificates(run.ID)
		require.NoError(t, err)
		if p.Name == "certificate" {
			require.Len(t, all, 1, p.Name)
			continue
		}
		require.LessOrEqual(t, len(all), 1, "%s is no certificate", p.Name)
	}
	plan, err := log.Plan(logbook.Drop{Before: run.Began.Add(1), At: run.Ended})
	require.NoError(t, err)
	require.Empty(t, plan.Runs)
	require.Len(t, plan.Stay, 1)
	require.Equal(t, "a certificate rests on it", plan.Stay[0].Why)
}
