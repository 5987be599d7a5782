package rig_test

import (
	"context"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/drivers/virtual"
	"pintle/rig"
	"pintle/rig/fault"
	"pintle/rig/gate"
	"pintle/rig/motion"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

const ms = time.Millisecond

// barrier is a job of the tests' own: a barrier that travels in some seconds.
func barrier() *rig.Job {
	return &rig.Job{
		Gate: gate.Spec{
			Opening: gate.Travel{Time: 6 * time.Second, RunUp: 400 * ms, Coast: 150 * ms},
			Closing: gate.Travel{Time: 5 * time.Second, RunUp: 300 * ms, Coast: 150 * ms},
			Sensors: []gate.Sensor{
				{Line: signal.ClosedLimit, From: 0, To: 0.03, Hysteresis: 0.005},
				{Line: signal.OpenLimit, From: 0.97, To: 1, Hysteresis: 0.005},
			},
		},
		Motion: motion.Thresholds{Runs: 1500_000, Stops: 1000_000, Settle: 20 * ms},
		Guard:  rig.Guard{MostCurrent: 60 * signal.Ampere, LongestDrive: 30 * time.Second, MeterSilence: 500 * ms},
		Settle: 1500 * ms, Limit: 2 * time.Minute,
	}
}

func is(l signal.Line, v signal.Level) rule.Condition {
	return rule.Condition{Text: l.String() + " " + v.String(), Any: [][]rule.Term{{{Kind: rule.LineIs, Line: l, Level: v}}}}
}

func motor(s motion.State) rule.Condition {
	return rule.Condition{Text: "motor " + s.String(), Any: [][]rule.Term{{{Kind: rule.MotorIs, State: s}}}}
}

func becomes(c rule.Condition) rule.Condition { c.Becomes = true; return c }

// cycle opens the barrier and closes it again.
func cycle() rig.Scenario {
	press := rig.Step{Kind: rig.Drive, Line: signal.Remote, Level: signal.Made, For: 200 * ms, Text: "press remote"}
	await := func(c rule.Condition, within time.Duration) rig.Step {
		return rig.Step{Kind: rig.Await, Condition: c, Within: within, Text: "await " + c.Text}
	}
	return rig.Scenario{
		Name: "cycle", Start: gate.Start{Position: 0, Obstacle: -1},
		Script: []rig.Step{
			press, await(motor(motion.Opening), time.Second), await(motor(motion.Stopped), 10*time.Second),
			{Kind: rig.Wait, For: time.Second, Text: "wait 1s"},
			press, await(motor(motion.Closing), time.Second), await(motor(motion.Stopped), 10*time.Second),
			{Kind: rig.Wait, For: time.Second, Text: "wait 1s"},
		},
		Rules: []rule.Rule{
			{Name: "starts", Pattern: rule.BoundedResponse, P: becomes(is(signal.Remote, signal.Made)), S: rule.Condition{Text: "motor moving", Any: [][]rule.Term{{{Kind: rule.MotorIs, State: motion.Opening}}, {{Kind: rule.MotorIs, State: motion.Closing}}}}, Limit: 300 * ms},
			{Name: "stops at the limit", Pattern: rule.BoundedResponse, P: becomes(is(signal.OpenLimit, signal.Made)), S: motor(motion.Stopped), Limit: 150 * ms},
			{Name: "run time", Pattern: rule.MaximumDuration, P: motor(motion.Opening), Limit: 15 * time.Second},
		},
	}
}

func perform(t *testing.T, job *rig.Job, s rig.Scenario, change func(*virtual.Config)) rig.Outcome {
	t.Helper()
	config := virtual.DefaultConfig()
	if change != nil {
		change(&config)
	}
	bench, err := virtual.New(config, 1)
	require.NoError(t, err)
	o, err := rig.NewConductor(job, bench, bench.Facts(), nil).Perform(&s, 7, rig.Day{})
	require.NoError(t, err)
	return o
}

func TestCycle(t *testing.T) {
	o := perform(t, barrier(), cycle(), nil)
	for _, f := range o.Findings {
		t.Log(f.Verdict, f.ValueText(), f.LimitText(), f.MarginText(), f.Reason)
	}
	for _, e := range o.Trace.Edges {
		t.Log(e)
	}
	for _, m := range o.Trace.Marks {
		t.Log(m)
	}
	assert.Equal(t, rule.Pass, o.Verdict, o.Reason)
	assert.Empty(t, o.Troubles)
}

// TestTheSameVerdictsFromTheTrace holds a recorded trace to giving what the trial
// gave.
func TestTheSameVerdictsFromTheTrace(t *testing.T) {
	job, s := barrier(), cycle()
	s.Faults = []fault.Fault{{Kind: fault.Bounce, Line: signal.OpenLimit, For: 6 * ms}}
	o := perform(t, job, s, nil)
	again, err := rig.Rejudge(job, &s, o.Trace)
	require.NoError(t, err)
	assert.Equal(t, o.Findings, again)
}

func TestRunIsTheSameWithAnyNumberOfWorkers(t *testing.T) {
	run := func(workers int) map[int]rig.Outcome {
		out := map[int]rig.Outcome{}
		var mu = make(chan struct{}, 1)
		err := rig.Run(context.Background(), rig.Plan{
			Job: barrier(), Scenarios: []rig.Scenario{cycle()}, Trials: 6, Seed: 3, Workers: workers,
			Open: func() (rig.Bench, rig.Facts, error) {
				b, err := virtual.New(virtual.DefaultConfig(), 0)
				return b, b.Facts(), err
			},
			Sink: func(o *rig.Outcome) error {
				mu <- struct{}{}
				defer func() { <-mu }()
				kept := *o
				trace := *o.Trace
				trace.Samples = append([]signal.Sample(nil), trace.Samples...)
				trace.Edges = append([]signal.EdgeSeen(nil), trace.Edges...)
				trace.Marks = append([]signal.Mark(nil), trace.Marks...)
				kept.Trace = &trace
				out[o.Trial] = kept
				return nil
			},
		})
		require.NoError(t, err)
		return out
	}
	assert.Equal(t, run(1), run(4))
}
