package main

import (
	"bytes"
	"os"
	"testing"

	"github.com/stretchr/testify/require"
)

// A job that is edited under a page is told of, whatever was done to it.
func TestAnEditedJobIsNoticed(t *testing.T) {
	serveHome(t)
	var out bytes.Buffer
	require.Zero(t, pintle(t.Context(), []string{"init", "gate"}, &out, &out), "%s", out.String())
	job, err := loadJob("gate")
	require.NoError(t, err)
	house, err := houseOf(&app{out: &out, err: &out, raw: &out}, job, "gate", "log.db", nil, 1)
	require.NoError(t, err)
	require.NoError(t, house.Changed())
	require.NoError(t, os.WriteFile("gate/notes.txt", []byte("not one of the job's\n"), 0o644))
	require.NoError(t, house.Changed())

	const file = "gate/controller.yaml"
	was, err := os.ReadFile(file)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(file, bytes.Replace(was, []byte("stall time: "), []byte("stall time: 1"), 1), 0o644))
	err = house.Changed()
	require.ErrorContains(t, err, "(controller.yaml)")
	require.ErrorContains(t, err, "start it again")
	require.NoError(t, os.WriteFile(file, append(was, "claims: twice\n"...), 0o644))
	require.ErrorContains(t, house.Changed(), "have mistakes now")
	require.NoError(t, os.WriteFile(file, was, 0o644))
	require.NoError(t, house.Changed(), "as it was")

	require.NoError(t, os.Remove("gate/scenarios/my-first-scenario.yaml"))
	require.ErrorContains(t, house.Changed(), "scenarios/my-first-scenario.yaml")
}
