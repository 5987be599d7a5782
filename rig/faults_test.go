package rig_test

import (
	"context"
	"errors"
	"slices"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/drivers/virtual"
	"pintle/rig"
	"pintle/rig/fault"
	"pintle/rig/motion"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// A tampered bench is the virtual one with something wrong with it.
type tampered struct {
	*virtual.Bench
	next func(b *virtual.Bench, until signal.Instant) (rig.Observation, error)
	safe int
}

func (b *tampered) Next(until signal.Instant) (rig.Observation, error) { return b.next(b.Bench, until) }

func (b *tampered) Safe() error {
	b.safe++
	return b.Bench.Safe()
}

// tamper performs the cycle on a bench whose observations pass through a function,
// which may drop one by saying false.
func tamper(t *testing.T, job *rig.Job, s rig.Scenario, change func(o *rig.Observation) bool) (rig.Outcome, *tampered) {
	t.Helper()
	inner, err := virtual.New(virtual.DefaultConfig(), 1)
	require.NoError(t, err)
	b := &tampered{Bench: inner, next: func(v *virtual.Bench, until signal.Instant) (rig.Observation, error) {
		for {
			o, err := v.Next(until)
			if err != nil || change(&o) {
				return o, err
			}
		}
	}}
	o, err := rig.NewConductor(job, b, inner.Facts(), nil).Perform(&s, 7, rig.Day{})
	require.NoError(t, err)
	return o, b
}

func TestWhateverIsWrongWithTheBenchIsVoid(t *testing.T) {
	samples, edges, begun := 0, 0, 0
	for name, c := range map[string]struct {
		change func(o *rig.Observation) bool
		code   string
	}{
		"one sample in a thousand is lost": {func(o *rig.Observation) bool {
			samples++
			return o.Kind != rig.Sampled || samples%1000 != 0
		}, "samples-lost"},
		"samples are lost just as the trial begins": {func(o *rig.Observation) bool {
			if o.Kind == rig.Emitted && o.Line == signal.Supply || begun > 0 {
				begun++
			}
			return o.Kind != rig.Sampled || begun == 0 || begun > 9
		}, "samples-lost"},
		"the meter falls silent after three seconds": {func(o *rig.Observation) bool {
			return o.Kind != rig.Sampled || o.Sample.To < signal.Instant(3*time.Second)
		}, "meter-silent"},
		"the meter never speaks": {func(o *rig.Observation) bool { return o.Kind != rig.Sampled }, "meter-silent"},
		"an edge comes late": {func(o *rig.Observation) bool {
			if o.Kind == rig.Emitted {
				if edges++; edges == 4 {
					o.Span.Late += signal.Instant(time.Millisecond)
				}
			}
			return true
		}, "edge-late"},
		"the bench itself reports trouble": {func(o *rig.Observation) bool {
			if o.Kind == rig.Sampled && o.Sample.To > signal.Instant(4*time.Second) {
				*o = rig.Observation{Kind: rig.Trouble, Trouble: &rig.BenchTrouble{Code: "meter-garbage", Text: "what came is no reading"}}
			}
			return true
		}, "meter-garbage"},
	} {
		samples, edges, begun = 0, 0, 0
		o, b := tamper(t, barrier(), cycle(), c.change)
		assert.Equal(t, rule.Void, o.Verdict, name)
		require.NotEmpty(t, o.Troubles, name)
		assert.Equal(t, c.code, o.Troubles[0].Code, name)
		assert.Equal(t, o.Troubles[0].Text, o.Reason, name)
		assert.Positive(t, b.safe, "%s: the bench is left safe", name)
	}
}

func TestAFailingBenchIsVoidNotAnError(t *testing.T) {
	inner, err := virtual.New(virtual.DefaultConfig(), 1)
	require.NoError(t, err)
	gone := errors.New("the port is gone")
	b := &tampered{Bench: inner, next: func(v *virtual.Bench, until signal.Instant) (rig.Observation, error) {
		if v.Now() > signal.Instant(2*time.Second) {
			return rig.Observation{}, gone
		}
		return v.Next(until)
	}}
	s := cycle()
	o, err := rig.NewConductor(barrier(), b, inner.Facts(), nil).Perform(&s, 1, rig.Day{})
	require.NoError(t, err)
	assert.Equal(t, rule.Void, o.Verdict)
	assert.Contains(t, o.Reason, gone.Error())
	assert.Positive(t, b.safe)
}

// TestTheGuardCannotBeScriptedAway performs with a controller that never gives up.
func TestTheGuardCannotBeScriptedAway(t *testing.T) {
	job, s := barrier(), cycle()
	job.Guard.LongestDrive = 8 * time.Second
	s.Faults = []fault.Fault{{Kind: fault.NeverMakes, Line: signal.OpenLimit}, {Kind: fault.NeverMakes, Line: signal.StallLoad}}
	s.Script[2].Within = time.Minute
	change := func(c *virtual.Config) { c.Controller.Defects = []string{"no run-time cut-out"} }

	s.Rules = s.Rules[2:] // at most 15 s: not yet broken when the guard trips
	o := perform(t, job, s, change)
	assert.Equal(t, rule.Void, o.Verdict, o.Reason)
	assert.Equal(t, rig.GuardDrive, o.Troubles[0].Code)

	s.Rules = slices.Clone(s.Rules)
	s.Rules[0].Limit = 5 * time.Second // broken before the guard trips: that stands
	o = perform(t, job, s, change)
	assert.Equal(t, rule.Fail, o.Verdict, o.Reason)

	// What had not come yet might have come, had the guard not ended the trial.
	s.Rules[0] = rule.Rule{Name: "it gets there", Pattern: rule.Existence, P: is(signal.OpenLimit, signal.Made)}
	o = perform(t, job, s, change)
	assert.Equal(t, rule.Fail, o.Findings[0].Verdict, o.Findings[0].Reason)
	assert.Equal(t, rule.Void, o.Verdict, o.Reason)
	assert.Contains(t, o.Reason, "for longer than the guard allows, which is 8 s")

	job = barrier()
	job.Guard.MostCurrent = 5 * signal.Ampere
	o = perform(t, job, cycle(), nil)
	assert.Equal(t, rig.GuardCurrent, o.Troubles[0].Code)
	assert.Less(t, o.Took, 3*time.Second, "it trips at once")
}

func TestAnUnmetAwaitIsNeverAPass(t *testing.T) {
	s := cycle()
	s.Script = s.Script[:2]
	s.Script[1].Condition = motor(motion.Closing) // it opens
	s.Rules = []rule.Rule{{Name: "never overloaded", Pattern: rule.CurrentUnder, Current: 50 * signal.Ampere}}
	o := perform(t, barrier(), s, nil)
	assert.Equal(t, rule.Inconclusive, o.Verdict)
	assert.Contains(t, o.Reason, "motor closing did not come within 1s")
}

func TestNoRulesAreNoPass(t *testing.T) {
	s := cycle()
	s.Rules = nil
	assert.Equal(t, rule.Inconclusive, perform(t, barrier(), s, nil).Verdict)
}

func TestAnUnexercisedRuleIsNoPass(t *testing.T) {
	s := cycle()
	s.Rules = append(s.Rules, rule.Rule{Name: "stops for the beam", Pattern: rule.BoundedResponse,
		P: becomes(is(signal.Beam, signal.Made)), S: motor(motion.Stopped), Limit: time.Second})
	o := perform(t, barrier(), s, nil)
	assert.Equal(t, rule.Inconclusive, o.Verdict)
	assert.Contains(t, o.Reason, "not exercised")
}

func TestAStopFromOutsideIsVoid(t *testing.T) {
	inner, err := virtual.New(virtual.DefaultConfig(), 1)
	require.NoError(t, err)
	var stop atomic.Bool
	b := &tampered{Bench: inner, next: func(v *virtual.Bench, until signal.Instant) (rig.Observation, error) {
		stop.Store(v.Now() > signal.Instant(time.Second))
		return v.Next(until)
	}}
	s := cycle()
	o, err := rig.NewConductor(barrier(), b, inner.Facts(), &stop).Perform(&s, 1, rig.Day{})
	require.NoError(t, err)
	assert.Equal(t, rule.Void, o.Verdict)
	assert.Equal(t, "interrupted", o.Troubles[0].Code)
	assert.Less(t, o.Took, 1500*time.Millisecond)
	assert.Positive(t, b.safe)
}

func TestRunEndsWithItsContext(t *testing.T) {
	ctx, cancel := context.WithCancel(context.Background())
	n := 0
	err := rig.Run(ctx, rig.Plan{Job: barrier(), Scenarios: []rig.Scenario{cycle()}, Trials: 1000, Workers: 1,
		Open: func() (rig.Bench, rig.Facts, error) {
			b, err := virtual.New(virtual.DefaultConfig(), 0)
			return b, b.Facts(), err
		},
		Sink: func(*rig.Outcome) error {
			if n++; n == 3 {
				cancel()
			}
			return nil
		}})
	assert.ErrorIs(t, err, context.Canceled)
	assert.Less(t, n, 10)
}

func TestARefusedOutcomeEndsTheRun(t *testing.T) {
	full := errors.New("no space left")
	err := rig.Run(context.Background(), rig.Plan{Job: barrier(), Scenarios: []rig.Scenario{cycle()}, Trials: 100, Workers: 2,
		Open: func() (rig.Bench, rig.Facts, error) {
			b, err := virtual.New(virtual.DefaultConfig(), 0)
			return b, b.Facts(), err
		},
		Sink: func(*rig.Outcome) error { return full }})
	assert.ErrorIs(t, err, full)
}

func TestSeedsDependOnNothingElse(t *testing.T) {
	assert.Equal(t, rig.Seed(1, "a", 1), rig.Seed(1, "a", 1))
	seen := map[uint64]bool{}
	for run := range uint64(5) {
		for _, name := range []string{"a", "b", "a/1"} {
			for trial := 1; trial < 20; trial++ {
				seen[rig.Seed(run, name, trial)] = true
			}
		}
	}
	assert.Len(t, seen, 5*3*19, "no two trials share their chances")
}
