package virtual

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/rig"
	"pintle/rig/signal"
)

// cycle is a minute in the life of a gate: a press, a travel of eight seconds to
// the open limit, rest, and the same back.
var cycle = stimulus{
	signal.Supply:      {made(0)},
	signal.ClosedLimit: {made(0), broken(3 * second), made(38 * second)},
	signal.OpenLimit:   {made(10 * second), broken(31 * second)},
	signal.Remote:      presses(2*second, 30*second),
}

const cycleTime = 60 * second

func perform(tb testing.TB, b *Bench, seed uint64) (samples int) {
	b.Reset(seed)
	for l := range signal.Line(signal.LineCount) {
		if edges, ok := cycle[l]; ok {
			if err := b.Plan(l, edges); err != nil {
				tb.Fatal(err)
			}
		}
	}
	for {
		o, err := b.Next(cycleTime)
		if err != nil {
			tb.Fatal(err)
		}
		switch o.Kind {
		case rig.Sampled:
			samples++
		case rig.Reached:
			return samples
		}
	}
}

func TestATrialAllocatesNothing(t *testing.T) {
	b, err := New(DefaultConfig(), 1)
	require.NoError(t, err)
	perform(t, b, 1) // the plans get their memory
	least := 1.0
	for try := 0; try < 5 && least > 0; try++ { // the runtime allocates for itself now and then, a trial would each time
		least = testing.AllocsPerRun(2, func() { perform(t, b, 2) })
	}
	require.Zero(t, least)
}

// BenchmarkVirtualCycle performs a minute with 16 s of driving: simulated seconds
// in a second of the clock on the wall, and nanoseconds a sample.
func BenchmarkVirtualCycle(b *testing.B) { benchmark(b, cycleTime, perform) }

// BenchmarkVirtualIdle is the same minute with the supply off.
func BenchmarkVirtualIdle(b *testing.B) {
	benchmark(b, cycleTime, func(tb testing.TB, v *Bench, seed uint64) (samples int) {
		v.Reset(seed)
		for {
			o, err := v.Next(cycleTime)
			if err != nil {
				tb.Fatal(err)
			}
			if o.Kind == rig.Reached {
				return samples
			}
			samples++
		}
	})
}

// BenchmarkVirtualDriven drives without a pause.
func BenchmarkVirtualDriven(b *testing.B) {
	c := DefaultConfig()
	c.Controller.RunTime = time.Hour
	benchmarkOf(b, c, cycleTime, func(tb testing.TB, v *Bench, seed uint64) (samples int) {
		v.Reset(seed)
		on, press := [1]signal.Edge{made(0)}, [1]signal.Edge{made(1100 * ms)}
		if v.Plan(signal.Supply, on[:]) != nil || v.Plan(signal.Remote, press[:]) != nil {
			tb.Fatal("not planned")
		}
		for {
			o, err := v.Next(cycleTime)
			if err != nil {
				tb.Fatal(err)
			}
			if o.Kind == rig.Reached {
				return samples
			}
			samples++
		}
	})
}

func benchmark(b *testing.B, length signal.Instant, once func(testing.TB, *Bench, uint64) int) {
	benchmarkOf(b, DefaultConfig(), length, once)
}

func benchmarkOf(b *testing.B, c Config, length signal.Instant, once func(testing.TB, *Bench, uint64) int) {
	v, err := New(c, 1)
	if err != nil {
		b.Fatal(err)
	}
	once(b, v, 0)
	b.ReportAllocs()
	samples := 0
	for n := uint64(0); b.Loop(); n++ {
		samples += once(b, v, n)
	}
	wall := b.Elapsed().Seconds()
	b.ReportMetric(float64(b.N)*time.Duration(length).Seconds()/wall, "sim-s/s")
	b.ReportMetric(wall*1e9/float64(samples), "ns/sample")
}

// BenchmarkVirtualNew is what a worker pays once.
func BenchmarkVirtualNew(b *testing.B) {
	for b.Loop() {
		if _, err := New(DefaultConfig(), 1); err != nil {
			b.Fatal(err)
		}
	}
}
