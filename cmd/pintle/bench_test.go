package main

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Every row of benches says all that is asked of it.
func TestBenchesAreWhole(t *testing.T) {
	known := map[string]bool{}
	for _, b := range benches {
		assert.False(t, known[b.Name], b.Name)
		known[b.Name] = true
		assert.NotEmpty(t, b.Means, b.Name)
		assert.NotNil(t, b.called, b.Name)
		assert.NotNil(t, b.open, b.Name)
		assert.False(t, b.Pins && b.simulated, "%s: nobody can wait at a real pin for a time that is simulated", b.Name)
		assert.False(t, b.Pins && !b.checked, "%s: what has real lines may be wired wrongly, and is put to the test", b.Name)
	}
	assert.True(t, known["virtual"], "a bench.yaml that names none means it")
}

// What the schema of bench.yaml offers, and what it says in editors, is what the tables of
// benches and protocols hold.
func TestTheSchemaTellsTheEquipment(t *testing.T) {
	text, err := schemaOf("bench")
	require.NoError(t, err)
	e := equipment()
	require.NotEmpty(t, e.Benches)
	require.NotEmpty(t, e.Protocols)
	for _, b := range e.Benches {
		assert.Contains(t, string(text), b.Name+": "+b.Means)
	}
	for _, p := range e.Protocols {
		assert.Contains(t, string(text), p.Name+": "+p.Means)
	}
}

// A protocol that has to be told what asks for a reading says so in its own row.
func TestAMeterThatMustBeAsked(t *testing.T) {
	for protocol, must := range map[string]bool{"text": false, "scpi": true, "modbus": false} {
		dir := serialJob(t, "meter:\n  kind: serial\n  serial:\n    port: /dev/none\n    protocol: "+protocol+
			"\n  interval: 50ms\n  most delay: 1s\n  resolution: 10mA\n  range: 60A\n\n")
		_, err := loadJob(dir)
		if !must {
			require.NoError(t, err, protocol)
			continue
		}
		require.ErrorContains(t, err, "a meter that speaks "+protocol+" must be asked")
		require.ErrorContains(t, err, "expected: query: what asks for a reading, such as MEAS:CURR?")
	}
}
