package rule_test

import (
	"fmt"
	"runtime"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/rig/motion"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// cycle is twenty seconds at a gate: it opens and closes once, with inrush, a
// ripple on the running current, and both limits. Shifted by its own length it
// can be performed again and again.
type cycle struct {
	samples []signal.Sample
	edges   []signal.EdgeSeen
	changes []motion.Change
}

const cycleLength = 20 * time.Second

func newCycle() cycle {
	var c cycle
	at := func(t time.Duration) signal.Span {
		return signal.Span{Early: signal.Instant(t), Late: signal.Instant(t + ms)}
	}
	edge := func(l signal.Line, v signal.Level, t time.Duration) {
		c.edges = append(c.edges, signal.EdgeSeen{Line: l, Level: v, Span: signal.At(signal.Instant(t))})
	}
	edge(signal.Remote, signal.Made, 1000*ms)
	edge(signal.Remote, signal.Broken, 1200*ms)
	edge(signal.ClosedLimit, signal.Broken, 1400*ms)
	edge(signal.OpenLimit, signal.Made, 8000*ms)
	edge(signal.Remote, signal.Made, 11000*ms)
	edge(signal.Remote, signal.Broken, 11200*ms)
	edge(signal.OpenLimit, signal.Broken, 11400*ms)
	edge(signal.ClosedLimit, signal.Made, 18000*ms)
	c.changes = []motion.Change{
		{Was: motion.Stopped, Is: motion.Opening, Span: at(1100 * ms)},
		{Was: motion.Opening, Is: motion.Stopped, Span: at(8080 * ms)},
		{Was: motion.Stopped, Is: motion.Closing, Span: at(11100 * ms)},
		{Was: motion.Closing, Is: motion.Stopped, Span: at(18080 * ms)},
	}
	noise := uint32(1)
	for i := range int(cycleLength / ms) {
		noise = noise*1664525 + 1013904223
		t := time.Duration(i) * ms
		s := signal.Sample{From: signal.Instant(t), To: signal.Instant(t + ms), Current: signal.Current(noise >> 18)}
		switch {
		case t >= 1100*ms && t < 8080*ms:
			s.Current += 6*signal.Ampere + inrush(t-1100*ms)
		case t >= 11100*ms && t < 18080*ms:
			s.Current -= 7*signal.Ampere + inrush(t-11100*ms)
		}
		c.samples = append(c.samples, s)
	}
	return c
}

func inrush(t time.Duration) signal.Current {
	return 20 * signal.Ampere / signal.Current(1+t/(20*ms))
}

// perform hands the cycle over as the conductor would, everything moved on by a
// shift.
func (c *cycle) perform(m *rule.Monitor, shift signal.Instant) {
	e, k := 0, 0
	for _, s := range c.samples {
		for e < len(c.edges) && c.edges[e].Span.Early <= s.From {
			edge := c.edges[e]
			edge.Span.Early += shift
			edge.Span.Late += shift
			m.Edge(edge)
			e++
		}
		for k < len(c.changes) && c.changes[k].Span.Early <= s.From {
			change := c.changes[k]
			change.Span.Early += shift
			change.Span.Late += shift
			m.Motor(change)
			k++
		}
		s.From += shift
		s.To += shift
		m.Sample(s)
	}
}

// eightRules are what a scenario of a normal cycle asks. With i they vary, so
// that no two are the same.
func eightRules(i int) []rule.Rule {
	more := time.Duration(i) * ms
	rules := []rule.Rule{
		{Pattern: rule.BoundedResponse, P: makes(signal.Remote), S: becomes(moving()), Limit: 500*ms + more},
		{Pattern: rule.BoundedResponse, P: makes(signal.OpenLimit), S: becomes(motorIs(motion.Stopped)), Limit: 150*ms + more},
		{Pattern: rule.BoundedResponse, P: makes(signal.ClosedLimit), S: becomes(motorIs(motion.Stopped)), Limit: 150*ms + more},
		{Pattern: rule.MaximumDuration, P: moving(), Limit: 15*time.Second + more},
		{Pattern: rule.MinimumDuration, P: motorIs(motion.Stopped), Limit: 400*ms + more},
		{Pattern: rule.Precedence, P: moving(), S: makes(signal.Remote)},
		{Pattern: rule.CurrentUnder, Current: 40*signal.Ampere + signal.Current(i)},
		{Pattern: rule.AverageUnder, Current: 30*signal.Ampere + signal.Current(i), Window: 500 * ms},
	}
	for k := range rules {
		rules[k].Name = fmt.Sprint("rule ", i, "/", k)
	}
	return rules
}

func moving() rule.Condition {
	return rule.Condition{Text: "motor moving", Any: [][]rule.Term{
		{{Kind: rule.MotorIs, State: motion.Opening}}, {{Kind: rule.MotorIs, State: motion.Closing}}}}
}

func becomes(c rule.Condition) rule.Condition {
	c.Becomes = true
	return c
}

func manyRules(n int) []rule.Rule {
	var rules []rule.Rule
	for i := range n / 8 {
		rules = append(rules, eightRules(i)...)
	}
	return rules
}

func begun(t require.TestingT, rules []rule.Rule) *rule.Monitor {
	m := compile(t, rules...)
	var lines [signal.LineCount]signal.Level
	lines[signal.ClosedLimit] = signal.Made
	m.Begin(0, lines, motion.Stopped)
	return m
}

// The rules that the benchmarks carry are ones that pass, so none is out of the
// race early.
func TestBenchmarkRulesPass(t *testing.T) {
	c := newCycle()
	m := begun(t, manyRules(128))
	c.perform(m, 0)
	c.perform(m, signal.Instant(cycleLength))
	for _, f := range m.Finish(signal.Instant(2 * cycleLength)) {
		require.Equal(t, rule.Pass, f.Verdict, "%+v", f)
	}
}

// Once warm, a monitor takes no memory for anything it is told.
func TestMonitorAllocatesNothing(t *testing.T) {
	c := newCycle()
	m := begun(t, manyRules(128))
	shift := signal.Instant(0)
	again := func() {
		c.perform(m, shift)
		shift = shift.Add(cycleLength)
		m.Clock(shift)
		m.Settled()
		m.Pending()
	}
	again()
	least := 1.0
	for try := 0; try < 5 && least > 0; try++ { // the runtime allocates for itself now and then, a monitor would each time
		least = testing.AllocsPerRun(3, again)
	}
	require.Zero(t, least)
}

func benchmarkMonitor(b *testing.B, rules int) { benchmarkRules(b, manyRules(rules)) }

func benchmarkRules(b *testing.B, rules []rule.Rule) {
	c := newCycle()
	m := begun(b, rules)
	shift := signal.Instant(0)
	b.ReportAllocs()
	samples := 0
	for b.Loop() {
		c.perform(m, shift)
		shift = shift.Add(cycleLength)
		samples += len(c.samples)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(samples), "ns/sample")
}

// BenchmarkMonitor0 is the yardstick: what it takes to hand a sample over.
func BenchmarkMonitor0(b *testing.B)   { benchmarkMonitor(b, 0) }
func BenchmarkMonitor8(b *testing.B)   { benchmarkMonitor(b, 8) }
func BenchmarkMonitor128(b *testing.B) { benchmarkMonitor(b, 128) }

// BenchmarkMonitorHeat is eight rules as above with the heating of two parts.
func BenchmarkMonitorHeat(b *testing.B) {
	bridge, motor := bridge(b, 0, 1_000_000), bridge(b, 0, 1_000_000)
	bridge.Name, motor.Name = "bridge", "motor"
	motor.Heating.Curve.Constant *= 2
	benchmarkRules(b, append(manyRules(8), bridge, motor))
}

// BenchmarkMonitorMemory reports by how much the heap is larger after ten million
// samples than after the first twenty thousand.
func BenchmarkMonitorMemory(b *testing.B) {
	c := newCycle()
	m := begun(b, manyRules(8))
	c.perform(m, 0)
	before := heap()
	b.ReportAllocs()
	grown := int64(0)
	for b.Loop() {
		for shift := cycleLength; shift <= 500*cycleLength; shift += cycleLength {
			c.perform(m, signal.Instant(shift))
		}
		b.StopTimer()
		grown = max(grown, heap()-before)
		var lines [signal.LineCount]signal.Level
		lines[signal.ClosedLimit] = signal.Made
		m.Begin(0, lines, motion.Stopped)
		b.StartTimer()
	}
	runtime.KeepAlive(m)
	b.ReportMetric(float64(grown), "bytes-grown")
}

func heap() int64 {
	runtime.GC()
	var stats runtime.MemStats
	runtime.ReadMemStats(&stats)
	return int64(stats.HeapAlloc)
}
