package appraise_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	. "pintle/rig/appraise"
	"pintle/rig/motion"
	"pintle/rig/rule"
	"pintle/rig/signal"
	"pintle/rig/uncertainty"
)

func isMotor(s motion.State) rule.Condition {
	return rule.Condition{Text: "motor " + s.String(), Any: [][]rule.Term{{{Kind: rule.MotorIs, State: s}}}}
}

var limitMakes = rule.Condition{Text: "limit makes", Becomes: true,
	Any: [][]rule.Term{{{Kind: rule.LineIs, Line: signal.ClosedLimit, Level: signal.Made}}}}

// What check foresees for a stop time is what a trial then states for one at its
// limit.
func TestReachIsWhatATrialStates(t *testing.T) {
	m := means()
	a, err := New(m, Decision{})
	require.NoError(t, err)
	r := &rule.Rule{Name: "stop", Pattern: rule.BoundedResponse, P: limitMakes, S: isMotor(motion.Stopped), Limit: 150 * time.Millisecond}
	reach, ok := a.Reach(r, 7_500_000)
	require.True(t, ok)
	trial := a.Trial()
	c := stop(m)
	trial.Motor(c)
	f := rule.Finding{Measured: true, Unit: rule.Nanoseconds, Sense: rule.AtMost, Limit: 150 * ms,
		Value: rule.Interval{Least: 140 * ms, Most: 140 * ms}, Decided: []signal.Span{signal.At(0), c.Span}}
	trial.Appraise(r, &f)
	assert.Equal(t, f.Appraisal.High-f.Appraisal.Value, reach.Expanded)
	assert.Equal(t, reach.Expanded, reach.Guard)
	assert.True(t, reach.Decidable())

	for _, c := range []struct {
		name        string
		r           rule.Rule
		doublesIt   bool // both ends are the meter's
		measures    bool
		exactEnough bool
	}{
		{"from the motor to the motor", rule.Rule{Pattern: rule.MaximumDuration, P: isMotor(motion.Closing), Limit: time.Second}, true, true, false},
		{"from an edge to an edge", rule.Rule{Pattern: rule.BoundedResponse, P: limitMakes, S: limitMakes, Limit: time.Second}, false, true, true},
		{"only counts", rule.Rule{Pattern: rule.BoundedExistence, P: limitMakes, Count: 2}, false, false, false},
		{"measures nothing", rule.Rule{Pattern: rule.Absence, P: limitMakes}, false, false, false},
	} {
		got, ok := a.Reach(&c.r, 7_500_000)
		assert.Equal(t, c.measures, ok, c.name)
		if c.doublesIt {
			assert.Greater(t, got.Expanded, reach.Expanded*5/4, c.name)
		}
		if c.exactEnough {
			assert.Less(t, got.Expanded, int64(100*time.Microsecond), c.name)
		}
	}
}

// A limit that is no wider than the guard band cannot be decided, one tick more can;
// and every remedy that is offered does help, at the figure it names.
func TestRemediesHelp(t *testing.T) {
	m := means()
	a, err := New(m, Decision{Rule: uncertainty.Guarded()})
	require.NoError(t, err)
	r := rule.Rule{Name: "stop", Pattern: rule.BoundedResponse, P: limitMakes, S: isMotor(motion.Stopped), Limit: 5 * time.Millisecond}
	reach, ok := a.Reach(&r, 7_500_000)
	require.True(t, ok)
	require.False(t, reach.Decidable())
	remedies := a.Remedies(&r, 7_500_000)
	require.NotEmpty(t, remedies)
	helped := 0
	for _, remedy := range remedies {
		better := m
		switch remedy.What {
		case "a meter that reads every":
			better.Interval, better.Window = remedy.By, min(m.Window, remedy.By)
		case "a meter delay that wavers by no more than":
			better.Most, better.Bridge = m.Least+remedy.By, 0
		case "a meter that reads so often, with a delay that wavers by no more than":
			better.Interval, better.Window, better.Most, better.Bridge = remedy.By, min(m.Window, remedy.By), m.Least+remedy.By, 0
		default:
			assert.Zero(t, remedy.By, remedy.What)
			continue
		}
		b, err := New(better, Decision{Rule: uncertainty.Guarded()})
		require.NoError(t, err)
		got, _ := b.Reach(&r, 7_500_000)
		assert.True(t, got.Decidable(), "%s %v: %+v", remedy.What, remedy.By, got)
		helped++
	}
	assert.NotZero(t, helped)

	r.Limit = time.Duration(reach.Guard)
	at, _ := a.Reach(&r, 7_500_000)
	assert.InDelta(t, 1, at.Share(), 0.01)
}
