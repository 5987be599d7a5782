package rig_test

import (
	"context"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/drivers/virtual"
	"pintle/rig"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// notes are what a witness was told.
type notes struct {
	begun   []rig.Beginning
	initial [signal.LineCount]signal.Level
	samples []signal.Sample
	edges   []signal.EdgeSeen
	settled map[int]rule.Verdict
	ended   []rule.Verdict
	order   string
}

func (n *notes) Begin(b rig.Beginning) {
	*n = notes{begun: append(n.begun, b), ended: n.ended, order: n.order + "b", settled: map[int]rule.Verdict{}}
}
func (n *notes) Rise(initial [signal.LineCount]signal.Level) {
	n.initial, n.order = initial, n.order+"r"
}
func (n *notes) See(o *rig.Observation) {
	switch o.Kind {
	case rig.Sampled:
		n.samples = append(n.samples, o.Sample)
	case rig.Emitted, rig.Sensed:
		n.edges = append(n.edges, signal.EdgeSeen{Line: o.Line, Level: o.Level, Span: o.Span})
	}
}
func (n *notes) Settle(i int, v rule.Verdict, _ signal.Instant) { n.settled[i] = v }
func (n *notes) End(o *rig.Outcome)                             { n.ended, n.order = append(n.ended, o.Verdict), n.order+"e" }

func TestAWitnessIsToldWhatTheTraceHolds(t *testing.T) {
	n := &notes{}
	var last *signal.Trace
	var findings []rule.Finding
	s := eight()
	s.Rules = append(s.Rules, rule.Rule{Name: "one start", Pattern: rule.BoundedExistence, P: s.Rules[5].P, Count: 1})
	err := rig.Run(context.Background(), rig.Plan{Job: barrier(), Scenarios: []rig.Scenario{s}, Trials: 2, Workers: 1,
		Witness: func() rig.Witness { return n },
		Open: func() (rig.Bench, rig.Facts, error) {
			b, err := virtual.New(virtual.DefaultConfig(), 0)
			return b, b.Facts(), err
		},
		Sink: func(o *rig.Outcome) error {
			kept := *o.Trace
			kept.Samples, kept.Edges = append([]signal.Sample(nil), kept.Samples...), append([]signal.EdgeSeen(nil), kept.Edges...)
			last, findings = &kept, o.Findings
			return nil
		}})
	require.NoError(t, err)
	assert.Equal(t, "brebre", n.order)
	assert.Equal(t, []rig.Beginning{{Trial: 1, Trials: 2}, {Trial: 2, Trials: 2}}, n.begun)
	assert.Equal(t, []rule.Verdict{rule.Fail, rule.Fail}, n.ended)
	assert.Equal(t, last.Initial, n.initial)
	assert.Equal(t, last.Edges, n.edges)
	waited := len(last.Samples) - len(n.samples) // those before the origin
	require.Less(t, waited, 100)
	assert.Equal(t, last.Samples[waited:], n.samples)
	assert.Equal(t, rule.Fail, n.settled[len(s.Rules)-1], "the second start breaks it, long before the end")
	for i, v := range n.settled {
		assert.Equal(t, findings[i].Verdict, v, s.Rules[i].Name)
	}
}

// blind is a witness that looks away.
type blind struct{ n int }

func (b *blind) Begin(rig.Beginning)                      {}
func (b *blind) Rise([signal.LineCount]signal.Level)      {}
func (b *blind) See(*rig.Observation)                     { b.n++ }
func (b *blind) Settle(int, rule.Verdict, signal.Instant) {}
func (b *blind) End(*rig.Outcome)                         {}

func TestAWitnessCostsNoAllocation(t *testing.T) {
	count := func(w rig.Witness) float64 {
		bench, err := virtual.New(virtual.DefaultConfig(), 1)
		require.NoError(t, err)
		c := rig.NewConductor(barrier(), bench, bench.Facts(), nil)
		if w != nil {
			c.Attend(w)
		}
		s := eight()
		return testing.AllocsPerRun(3, func() {
			_, err := c.Perform(&s, 1, rig.Day{})
			require.NoError(t, err)
		})
	}
	b := &blind{}
	// A trial allocates some twenty times of its own, the runtime now and then once more
	// or less; a witness that cost an allocation would cost one an observation.
	without, with := count(nil), count(b)
	require.Greater(t, b.n, 10_000)
	assert.Less(t, with-without, float64(b.n)/1000)
}

// BenchmarkWitness is what a witness that looks away costs, a sample.
func BenchmarkWitness(b *testing.B) {
	for name, w := range map[string]rig.Witness{"without": nil, "with": &blind{}} {
		b.Run(name, func(b *testing.B) {
			bench, err := virtual.New(virtual.DefaultConfig(), 1)
			require.NoError(b, err)
			c := rig.NewConductor(barrier(), bench, bench.Facts(), nil)
			if w != nil {
				c.Attend(w)
			}
			s := eight()
			samples := 0
			b.ReportAllocs()
			for b.Loop() {
				o, err := c.Perform(&s, 1, rig.Day{})
				if err != nil {
					b.Fatal(err)
				}
				samples += len(o.Trace.Samples)
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(samples), "ns/sample")
		})
	}
}
