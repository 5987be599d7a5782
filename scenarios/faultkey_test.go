package scenarios

import (
	"reflect"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig/fault"
	"pintle/rig/signal"
	"pintle/scenarios/quantity"
)

// A kind of fault that has times is called like its key; without the key nobody could ask
// for it.
func TestEveryTimedFaultHasItsKey(t *testing.T) {
	keys := map[string]bool{}
	file := reflect.TypeFor[FaultFile]()
	for i := range file.NumField() {
		if f := file.Field(i); f.Type == reflect.TypeFor[quantity.Formula]() {
			keys[f.Tag.Get("key")] = true
		}
	}
	timed := 0
	for _, k := range fault.Kinds {
		if k.Needs != 0 && !k.Needs.Has(fault.Other) {
			assert.True(t, keys[k.Name], "a scenario has no key for a line that is %s", k.Name)
			timed++
		}
	}
	require.NotZero(t, timed)
	assert.False(t, (&FaultFile{}).time("no such key").Given())
}

// Each key gives its kind, and each time goes where the kind looks for it.
func TestTimedFaults(t *testing.T) {
	const ms = time.Millisecond
	for yaml, want := range map[string]fault.Fault{
		"late: 3 ms":                    {Kind: fault.Late, By: 3 * ms},
		"early: 3 ms":                   {Kind: fault.Early, By: 3 * ms},
		"breaks late: 3 ms":             {Kind: fault.BreaksLate, By: 3 * ms},
		"breaks early: 3 ms":            {Kind: fault.BreaksEarly, By: 3 * ms},
		"bounces: 3 ms":                 {Kind: fault.Bounce, For: 3 * ms},
		"bounces on release: 3 ms":      {Kind: fault.BounceOff, For: 3 * ms},
		"chatters: 3 ms, every: 20 ms":  {Kind: fault.Chatter, Gap: 3 * ms, Every: 20 * ms},
		"glitches: 3 ms, every: 20 ms":  {Kind: fault.Glitches, Gap: 3 * ms, Every: 20 * ms},
		"drops out: 3 ms, after: 20 ms": {Kind: fault.Dropout, For: 3 * ms, By: 20 * ms},
		"pulses: 3 ms":                  {Kind: fault.Pulses, By: 3 * ms},
		"drifts: 3 ms":                  {Kind: fault.Drifts, By: 3 * ms},
	} {
		files := Starter(equipment)
		files["scenarios/faulty.yaml"] = []byte("title: faulty\nwhy: a test\ngroup: mechanism\nhazard: none\nstart: open\nfaults:\n  - {line: closed-limit, " + yaml +
			"}\nscript:\n  - press: remote\nrules:\n  - absence: motor opening\n")
		job, err := Load(folder(files), "my-job", equipment)
		require.NoError(t, err, yaml)
		s, _ := job.Scenario("faulty")
		want.Line = signal.ClosedLimit
		assert.Equal(t, []fault.Fault{want}, s.Faults, yaml)
	}
}
