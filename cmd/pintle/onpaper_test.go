package main

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/scenarios"
	"pintle/scenarios/yamlfile"
)

// TestWhatWasNotDoneIsSaid holds a certificate to saying what was left out, or decided
// in another way.
func TestWhatWasNotDoneIsSaid(t *testing.T) {
	job, err := scenarios.Demo(equipment())
	require.NoError(t, err)
	all := job.Applicable()
	assert.Empty(t, deviations(job, all), "the demo as it is leaves nothing out")
	told := deviations(job, all[1:])
	require.Len(t, told, 1)
	assert.Contains(t, told[0], "Not performed though applicable, 1 of ")
	assert.Contains(t, told[0], all[0].Name)
	assert.Contains(t, deviations(job, all[:1])[0], "and ", "of many, some are named")

	job.Controller.Scenarios.Without = []yamlfile.Text{{Source: yamlfile.Source{Text: "motor-short"}}}
	job.Bench.Decides.Guard.Value = 0.5
	told = deviations(job, all)
	require.Len(t, told, 2)
	assert.Contains(t, told[0], "Left out of the job by controller.yaml: motor-short.")
	assert.Contains(t, told[1], "changed by bench.yaml to 50 % of the expanded uncertainty")

	appraiser, err := appraiserOf(job)
	require.NoError(t, err)
	reach := finest(appraiser, job, all)
	require.NotEmpty(t, reach)
	for _, r := range reach {
		assert.NotZero(t, r.Limit, r.Claim)
	}
}
