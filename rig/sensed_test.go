package rig_test

import (
	"testing"

	"github.com/stretchr/testify/require"

	"pintle/drivers/benchtest"
	"pintle/rig"
	"pintle/rig/gate"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// A sensed line whose contacts are welded is made before the trial begins, gives no edge
// in it, and is made all the same. One that is let go of in time is not.
func TestASensedLineIsWhatItWasBeforeTheOrigin(t *testing.T) {
	for _, c := range []struct {
		name  string
		edges []signal.Level
		want  rule.Verdict
	}{
		{"never seen", nil, rule.Pass},
		{"welded", []signal.Level{signal.Made}, rule.Fail},
		{"let go", []signal.Level{signal.Made, signal.Broken}, rule.Pass},
	} {
		t.Run(c.name, func(t *testing.T) {
			f := benchtest.NewFake()
			f.About.Lines |= signal.SetOf(signal.DriveClose)
			for i, l := range c.edges {
				f.Troubles = append(f.Troubles, rig.Observation{Kind: rig.Sensed, Line: signal.DriveClose, Level: l, Span: signal.At(signal.Instant(5*(i+1)) * signal.Instant(ms))})
			}
			job := barrier()
			job.Rest = 100 * ms
			s := rig.Scenario{Name: "rest", Start: gate.Start{Position: 0.5, Obstacle: -1},
				Script: []rig.Step{{Kind: rig.Wait, For: 100 * ms, Text: "wait 100ms"}},
				Rules:  []rule.Rule{{Name: "never drives", Pattern: rule.Absence, P: is(signal.DriveClose, signal.Made)}}}
			o, err := rig.NewConductor(job, f, f.About, nil).Perform(&s, 1, rig.Day{})
			require.NoError(t, err)
			require.Equal(t, c.want, o.Verdict, o.Reason)
			again, err := rig.Rejudge(job, &s, o.Trace)
			require.NoError(t, err)
			require.Equal(t, o.Findings, again)
		})
	}
}
