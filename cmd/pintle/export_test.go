package main

import (
	"bytes"
	"slices"
	"testing"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/reports"
)

// A trial of which nothing was kept is told of, not passed over in silence.
func TestTrialsWithoutATraceAreToldOf(t *testing.T) {
	var out bytes.Buffer
	a := &app{out: &out}
	run := &reports.Run{Scenarios: []reports.Scenario{{Name: "normal-cycle", Trials: []reports.Trial{{Number: 1}, {Number: 2}}}}}
	vcd := forms[slices.Index(formNames(), "vcd")]
	require.NoError(t, a.exportAll(part{run: run}, vcd, nil, t.TempDir()))
	require.Contains(t, out.String(), "no trials written")
	require.Contains(t, out.String(), "2 left out: no trace of them was kept")
}

// A name out of a logbook may be anything; that of a file may not.
func TestFilesOfTrialsHaveSafeNames(t *testing.T) {
	require.Equal(t, "001-normal-cycle-0007.vcd", trialFile(0, "normal-cycle", 7, "vcd"))
	require.Equal(t, "012-_________etc_passwd-0001.csv", trialFile(11, "../../../etc/passwd", 1, "csv"))
	rapid.Check(t, func(t *rapid.T) {
		a, b := rapid.String().Draw(t, "a"), rapid.String().Draw(t, "b")
		first, second := trialFile(3, a, 1, "csv"), trialFile(4, b, 1, "csv")
		require.Regexp(t, `^[0-9]{3}-[A-Za-z0-9_-]{0,60}-0001\.csv$`, first)
		require.NotEqual(t, first, second, "two scenarios, two files")
	})
}
