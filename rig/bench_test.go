package rig_test

import (
	"context"
	"fmt"
	"sync/atomic"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/drivers/virtual"
	"pintle/rig"
	"pintle/rig/motion"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// eight is the cycle under eight rules.
func eight() rig.Scenario {
	s := cycle()
	moving := rule.Condition{Text: "motor moving", Any: [][]rule.Term{{{Kind: rule.MotorIs, State: motion.Stopped, Not: true}}}}
	s.Rules = append(s.Rules,
		rule.Rule{Name: "closed limit", Pattern: rule.BoundedResponse, P: becomes(is(signal.ClosedLimit, signal.Made)), S: motor(motion.Stopped), Limit: 150 * ms},
		rule.Rule{Name: "dead time", Pattern: rule.MinimumDuration, P: motor(motion.Stopped), Limit: 200 * ms},
		rule.Rule{Name: "two starts", Pattern: rule.BoundedExistence, P: becomes(moving), Count: 2},
		rule.Rule{Name: "asked for", Pattern: rule.Precedence, P: moving, S: becomes(is(signal.Remote, signal.Made))},
		rule.Rule{Name: "current", Pattern: rule.CurrentUnder, Current: 40 * signal.Ampere},
	)
	return s
}

// BenchmarkVirtualTrial performs whole trials on the virtual bench: physics, a
// meter of 1 kHz, the gate, the conductor and eight rules. sim-s/s is simulated
// seconds per second on one core.
func BenchmarkVirtualTrial(b *testing.B) {
	bench, err := virtual.New(virtual.DefaultConfig(), 1)
	require.NoError(b, err)
	c := rig.NewConductor(barrier(), bench, bench.Facts(), nil)
	s := eight()
	o, err := c.Perform(&s, 1, rig.Day{})
	require.NoError(b, err)
	require.Equal(b, rule.Pass, o.Verdict, o.Reason)
	var simulated time.Duration
	samples, seed := 0, uint64(0)
	b.ReportAllocs()
	for b.Loop() {
		seed++
		o, err := c.Perform(&s, seed, rig.Day{})
		if err != nil {
			b.Fatal(err)
		}
		simulated += o.Took
		samples += len(o.Trace.Samples)
	}
	b.ReportMetric(simulated.Seconds()/b.Elapsed().Seconds(), "sim-s/s")
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(samples), "ns/sample")
}

// BenchmarkVirtualWorkers performs the same run with one worker and with two.
func BenchmarkVirtualWorkers(b *testing.B) {
	for _, workers := range []int{1, 2} {
		b.Run(fmt.Sprint(workers), func(b *testing.B) {
			var simulated atomic.Int64
			for b.Loop() {
				err := rig.Run(context.Background(), rig.Plan{Job: barrier(), Scenarios: []rig.Scenario{eight()}, Trials: 1000, Workers: workers,
					Open: func() (rig.Bench, rig.Facts, error) {
						b, err := virtual.New(virtual.DefaultConfig(), 0)
						return b, b.Facts(), err
					},
					Sink: func(o *rig.Outcome) error {
						simulated.Add(int64(o.Took))
						return nil
					}})
				if err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(time.Duration(simulated.Load()).Seconds()/b.Elapsed().Seconds(), "sim-s/s")
		})
	}
}

// TestASampleCostsNoAllocation holds a whole trial, some fifteen thousand samples,
// to what it allocates at its beginning and end.
func TestASampleCostsNoAllocation(t *testing.T) {
	bench, err := virtual.New(virtual.DefaultConfig(), 1)
	require.NoError(t, err)
	c := rig.NewConductor(barrier(), bench, bench.Facts(), nil)
	s := eight()
	samples := 0
	perform := func() {
		o, err := c.Perform(&s, 1, rig.Day{})
		require.NoError(t, err)
		samples = len(o.Trace.Samples)
	}
	perform()
	require.Greater(t, samples, 10_000)
	require.Less(t, testing.AllocsPerRun(5, perform), 100.0)
}
