package rig_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/drivers/virtual"
	"pintle/rig"
	"pintle/rig/fault"
	"pintle/rig/gate"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// edgesOf counts the edges of a line in a trial.
func edgesOf(o rig.Outcome, l signal.Line) int {
	n := 0
	for _, e := range o.Trace.Edges {
		if e.Line == l {
			n++
		}
	}
	return n
}

// A lever bounces of its own, each time that it makes or breaks; what it is told
// to do besides does not count the bounces as more of the same.
func TestASensorBouncesOfItsOwn(t *testing.T) {
	job, s := barrier(), cycle()
	clean := perform(t, job, s, nil)
	assert.Equal(t, 2, edgesOf(clean, signal.ClosedLimit), "it breaks and makes")
	for i := range job.Gate.Sensors {
		job.Gate.Sensors[i].Bounce = 5 * ms
	}
	s.Rules = s.Rules[:1] // as it leaves, a lever makes again and again, and nothing stops for that
	bouncing := perform(t, job, s, nil)
	assert.Equal(t, rule.Pass, bouncing.Verdict, bouncing.Reason)
	assert.Greater(t, edgesOf(bouncing, signal.ClosedLimit), 3)
	assert.Equal(t, edgesOf(clean, signal.Remote), edgesOf(bouncing, signal.Remote), "the button is no sensor of the gate")
}

// The drift of a limit goes by how often the gate has come there, however often the
// contact bounces: in three cycles it comes two steps late at the most.
func TestDriftDoesNotCountBounces(t *testing.T) {
	firsts := func(bounce time.Duration) []signal.Instant {
		job, s := barrier(), cycle()
		for i := range job.Gate.Sensors {
			job.Gate.Sensors[i].Bounce = bounce
		}
		s.Repeat, s.Rules = 3, s.Rules[:1]
		s.Faults = []fault.Fault{{Kind: fault.Drifts, Line: signal.OpenLimit, By: 100 * ms}}
		o := perform(t, job, s, nil)
		var all []signal.Instant
		for _, e := range o.Trace.Edges {
			if e.Line == signal.OpenLimit && e.Level == signal.Made && (len(all) == 0 || e.Span.Early.Sub(all[len(all)-1]) > 5*time.Second) {
				all = append(all, e.Span.Early)
			}
		}
		return all
	}
	clean, bouncing := firsts(0), firsts(5*ms)
	assert.Len(t, clean, 3)
	assert.Len(t, bouncing, 3)
	for i := range clean {
		assert.InDelta(t, float64(clean[i]), float64(bouncing[i]), float64(50*ms), "cycle %d", i+1)
	}
}

// A gate that is a machine moves more slowly on a sagging supply, and on a dip: its limit
// comes later. Where the job does not tell how low it is, it moves as on the full one. The
// kinematic one knows nothing of a supply.
func TestASaggingSupplySlowsTheGate(t *testing.T) {
	opened := func(sag, dip float64, lines ...signal.Line) signal.Instant {
		job, s := barrier(), cycle()
		require.NoError(t, job.Gate.Fit(&gate.Machine{Travel: 1.5, Gear: 1150, Inertia: 170,
			Friction: gate.Friction{Static: 900, Coulomb: 840, Viscous: 60},
			Motor:    gate.Motor{Resistance: 0.8, Inductance: 1.2e-3, Constant: 0.08, Inertia: 5e-4},
			Battery:  gate.Battery{Volts: 25.6, Ohms: 0.06}}))
		job.Sag, job.Dip = sag, dip
		s.Script = s.Script[:3]
		s.Script[2].Within = 25 * time.Second
		for _, l := range lines {
			s.Script = append([]rig.Step{{Kind: rig.Drive, Line: l, Level: signal.Made, Text: l.String()}}, s.Script...)
		}
		s.Rules = s.Rules[:1]
		o := perform(t, job, s, func(c *virtual.Config) { c.Lines |= signal.SetOf(signal.SupplySag) | signal.SetOf(signal.SupplyDip) })
		for _, e := range o.Trace.Edges {
			if e.Line == signal.OpenLimit && e.Level == signal.Made {
				return e.Span.Early
			}
		}
		t.Fatal("the open limit did not make")
		return 0
	}
	full := opened(0.7, 0.8)
	sagging, dipping := opened(0.7, 0.8, signal.SupplySag).Sub(full), opened(0.7, 0.8, signal.SupplyDip).Sub(full)
	assert.Greater(t, sagging, 2*time.Second)
	assert.Greater(t, dipping, time.Second)
	assert.Less(t, dipping, sagging)
	assert.InDelta(t, float64(dipping), float64(opened(0.7, 0.8, signal.SupplySag, signal.SupplyDip).Sub(full)), float64(50*ms), "a dip comes in the place of a sag")
	for _, untold := range []time.Duration{opened(0, 0.8, signal.SupplySag).Sub(full), opened(0.7, 0, signal.SupplyDip).Sub(full)} {
		assert.Less(t, untold, 50*ms, "not told how low it is")
	}
}
