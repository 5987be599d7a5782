package main

import (
	"bytes"
	"database/sql"
	"testing"

	"github.com/stretchr/testify/require"
)

// What is damaged in a logbook is told by --check, which then is no success.
func TestACheckOfTheLogbookTellsOfDamage(t *testing.T) {
	t.Chdir(t.TempDir())
	call := func(args ...string) (int, string) {
		var said bytes.Buffer
		status := pintle(t.Context(), args, &said, &said)
		return status, said.String()
	}
	status, said := call("run", "normal-cycle", "--trials", "2", "--logbook", "a.db")
	require.Zero(t, status, said)
	status, said = call("log", "--check", "--logbook", "a.db")
	require.Zero(t, status, said)
	for what, damage := range map[string]string{
		"trace": `UPDATE traces SET data = substr(data, 1, 100) || x'A7' || substr(data, 102) WHERE rowid = (SELECT MIN(rowid) FROM traces)`,
		"gone":  `DELETE FROM trials WHERE number = 1`,
		"trial": `UPDATE trials SET trial = replace(trial, '"number":1', '"number":1 ') WHERE number = 1`,
		"run":   `UPDATE runs SET run = replace(run, '"trials":2', '"trials":1')`,
		"sum":   `UPDATE runs SET verdict = verdict + 1`,
		"text":  `UPDATE texts SET text = text || ' ' WHERE rowid = (SELECT MIN(rowid) FROM texts)`,
	} {
		status, said := call("log", "--backup", what+".db", "--logbook", "a.db")
		require.Zero(t, status, said)
		db, err := sql.Open("sqlite", what+".db")
		require.NoError(t, err)
		_, err = db.Exec(damage)
		require.NoError(t, err, what)
		require.NoError(t, db.Close())
		status, said = call("log", "--check", "--logbook", what+".db")
		require.NotZero(t, status, what)
		require.NotContains(t, said, "is whole", what)
		if what == "gone" {
			require.Contains(t, said, "and was finished with 2")
			continue
		}
		require.Contains(t, said, "not what it was", what)
	}
}
