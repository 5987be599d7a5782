package logbook

import (
	"fmt"
	"io"
	"path/filepath"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"pintle/reports/tracefile"
	"pintle/rig/signal"
)

// longTrace is a trial of 20 s at 1 kHz.
func longTrace(seed int) *signal.Trace {
	tr := &signal.Trace{End: 20e9}
	rng := uint64(seed)*2654435761 + 88172645463325252
	for i := range 20_000 {
		rng ^= rng << 13
		rng ^= rng >> 7
		rng ^= rng << 17
		at := signal.Instant(i)*1e6 + signal.Instant(rng%41)
		tr.Samples = append(tr.Samples, signal.Sample{From: at, To: at + 1_200_000, Current: signal.Current(rng>>32%120) * 5000})
	}
	return tr
}

// BenchmarkRun performs whole runs of traces of 20 000 samples. The yardstick is
// what a trial's trace alone takes to write.
func BenchmarkRun(b *testing.B) {
	traces := make([]*signal.Trace, 64)
	for i := range traces {
		traces[i] = longTrace(i)
	}
	b.Run("traces-alone", func(b *testing.B) {
		var w tracefile.Writer
		for b.Loop() {
			for _, trace := range traces {
				require.NoError(b, w.Write(io.Discard, trace))
			}
		}
		b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(traces))/1e6, "ms/trial")
	})
	for _, c := range []struct{ scenarios, trials, workers int }{{14, 1, 1}, {14, 1, 2}, {60, 59, 1}, {60, 59, 2}} {
		b.Run(fmt.Sprintf("%dx%d/workers=%d", c.scenarios, c.trials, c.workers), func(b *testing.B) {
			var names []string
			for i := range c.scenarios {
				names = append(names, fmt.Sprintf("scenario-%d", i))
			}
			dir := b.TempDir()
			b.ReportAllocs()
			n := 0
			for b.Loop() {
				n++
				l, err := Open(filepath.Join(dir, fmt.Sprint(n)))
				require.NoError(b, err)
				run := job("run", c.trials, names...)
				require.NoError(b, l.Begin(run))
				var workers sync.WaitGroup
				for w := range c.workers {
					workers.Go(func() {
						for i := w; i < c.scenarios*c.trials; i += c.workers {
							trial, _ := performed(i%c.trials + 1)
							trace := *traces[i%len(traces)]
							trace.End = signal.Instant(i) // so that no two are the same
							if err := l.Trial("run", names[i/c.trials], trial, &trace); err != nil {
								b.Error(err)
							}
						}
					})
				}
				workers.Wait()
				run.Ended = began
				require.NoError(b, l.Finish(run))
				require.NoError(b, l.Close())
			}
			per := float64(b.Elapsed().Nanoseconds()) / float64(b.N*c.scenarios*c.trials)
			b.ReportMetric(per/1e6, "ms/trial")
		})
	}
}
