package scenarios

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig/fault"
	"pintle/rig/signal"
)

// Whatever kind is in the table, a file can ask for it by its name, and its figures go where
// the kind looks for them.
func TestEveryKindCanBeAskedFor(t *testing.T) {
	for _, k := range fault.Kinds {
		key, want := k.Name+": 3 ms", fault.Fault{Kind: k.Kind, Line: signal.ClosedLimit}
		switch k.Main() {
		case 0:
			name, word := inWords(k.Name)
			key = name + ": " + word
		case fault.Other:
			key, want.Other = k.Name+": open-limit", signal.OpenLimit
		}
		for _, f := range []struct {
			figure fault.Figures
			into   *time.Duration
			key    string
		}{{fault.By, &want.By, ", after: 20 ms"}, {fault.For, &want.For, ""}, {fault.Every, &want.Every, ", every: 20 ms"}, {fault.Gap, &want.Gap, ""}} {
			switch {
			case k.Main() == f.figure:
				*f.into = 3 * time.Millisecond
			case k.Needs.Has(f.figure):
				*f.into, key = 20*time.Millisecond, key+f.key
			}
		}
		assert.Equal(t, []fault.Fault{want}, faultsOf(t, key), key)
	}
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
		want.Line = signal.ClosedLimit
		assert.Equal(t, []fault.Fault{want}, faultsOf(t, yaml), yaml)
	}
}

// faultsOf reads a scenario with a fault on the closed limit.
func faultsOf(t *testing.T, yaml string) []fault.Fault {
	files := Starter(equipment)
	files["scenarios/faulty.yaml"] = []byte("title: faulty\nwhy: a test\ngroup: mechanism\nhazard: none\nstart: open\nfaults:\n  - {line: closed-limit, " + yaml +
		"}\nscript:\n  - press: remote\nrules:\n  - absence: motor opening\n")
	job, err := Load(folder(files), "my-job", equipment)
	require.NoError(t, err, yaml)
	s, _ := job.Scenario("faulty")
	return s.Faults
}
