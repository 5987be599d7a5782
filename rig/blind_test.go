package rig_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/drivers/virtual"
	"pintle/rig"
	"pintle/rig/motion"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// A reading at the end of the meter's range says that there was as much, or any
// amount more: no rule on a current may be passed by it.
func TestAReadingAtTheEndOfTheRangeIsNoPass(t *testing.T) {
	s := cycle()
	s.Rules = []rule.Rule{
		{Name: "most current", Pattern: rule.CurrentUnder, Current: 40 * signal.Ampere},
		{Name: "never above", Pattern: rule.Absence, P: rule.Condition{Text: "current above 20 A",
			Any: [][]rule.Term{{{Kind: rule.CurrentAbove, Current: 20 * signal.Ampere}}}}},
	}
	far := perform(t, barrier(), s, nil)
	require.Equal(t, rule.Fail, far.Verdict, "a meter that reaches so far sees it broken: %s", far.Reason)
	o := perform(t, barrier(), s, func(c *virtual.Config) { c.Meter.Range = 15 * signal.Ampere })
	assert.Equal(t, rule.Void, o.Verdict, o.Reason)
	require.NotEmpty(t, o.Troubles)
	assert.Equal(t, "meter-over-range", o.Troubles[0].Code)
}

// What the controller was never shown it cannot have been put to the test by.
func TestAnEdgeThatTheBenchNeverMadeIsVoid(t *testing.T) {
	s := cycle()
	s.Script = []rig.Step{s.Script[0], {Kind: rig.Wait, For: 3 * time.Second, Text: "wait 3s"}}
	s.Rules = []rule.Rule{{Name: "stands", Pattern: rule.Absence, P: motor(motion.Closing)}}
	require.Equal(t, rule.Pass, perform(t, barrier(), s, nil).Verdict)
	for name, lost := range map[string]func(o *rig.Observation) bool{
		"the press":  func(o *rig.Observation) bool { return o.Line == signal.Remote },
		"its end":    func(o *rig.Observation) bool { return o.Line == signal.Remote && o.Level == signal.Broken },
		"the supply": func(o *rig.Observation) bool { return o.Line == signal.Supply },
	} {
		o, _ := tamper(t, barrier(), s, func(o *rig.Observation) bool { return o.Kind != rig.Emitted || !lost(o) })
		assert.Equal(t, rule.Void, o.Verdict, "%s: %s", name, o.Reason)
	}
}

// A meter whose readings come twice, or in the wrong order, is out of order itself.
func TestReadingsOutOfTheOrderOfTimeAreVoid(t *testing.T) {
	for name, by := range map[string]time.Duration{"a little back": 1500 * time.Microsecond, "back in time": 2 * time.Second} {
		n := 0
		o, _ := tamper(t, barrier(), cycle(), func(o *rig.Observation) bool {
			if o.Kind == rig.Sampled {
				if n++; n == 5000 {
					o.Sample.From -= signal.Instant(by)
					o.Sample.To -= signal.Instant(by)
				}
			}
			return true
		})
		assert.Equal(t, rule.Void, o.Verdict, "%s: %s", name, o.Reason)
	}
}

// A current of which nobody can say whether the motor runs ends the wait for it.
func TestAMotorOfWhichNothingIsKnownIsVoid(t *testing.T) {
	inner, err := virtual.New(virtual.DefaultConfig(), 1)
	require.NoError(t, err)
	b := &tampered{Bench: inner, next: func(v *virtual.Bench, until signal.Instant) (rig.Observation, error) {
		o, err := v.Next(until)
		o.Sample.Current = 1200_000 // between stops and runs
		if v.Now() > signal.Instant(10*time.Minute) {
			panic("it waits for ever")
		}
		return o, err
	}}
	s := cycle()
	o, err := rig.NewConductor(barrier(), b, inner.Facts(), nil).Perform(&s, 1, rig.Day{})
	require.NoError(t, err)
	assert.Equal(t, rule.Void, o.Verdict, o.Reason)
}

// A trial that ended because its rules were settled says nothing of what other rules
// would have found in the rest of the script.
func TestOtherRulesNeedTheWholeScript(t *testing.T) {
	performed := cycle()
	performed.Rules = []rule.Rule{{Name: "never opens", Pattern: rule.Absence, P: motor(motion.Opening)}}
	o := perform(t, barrier(), performed, nil)
	require.Contains(t, marks(o), "every rule is settled")
	other := performed
	other.Rules = []rule.Rule{{Name: "never closes", Pattern: rule.Absence, P: motor(motion.Closing)}}
	judged, err := rig.NewRejudger(barrier()).Judge(&other, &performed, o.Trace, nil)
	require.NoError(t, err)
	assert.Equal(t, rule.Inconclusive, judged.Verdict, judged.Reason)
	again, err := rig.NewRejudger(barrier()).Judge(&performed, &performed, o.Trace, nil)
	require.NoError(t, err)
	assert.Equal(t, o.Verdict, again.Verdict)
}
