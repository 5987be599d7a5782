package tracefile

import (
	"bytes"
	"io"
	"testing"

	"pintle/rig/signal"
)

func report(b *testing.B, n, size int) {
	b.ReportMetric(float64(n)*float64(b.N)/b.Elapsed().Seconds()/1e6, "Msamples/s")
	b.ReportMetric(float64(size)/float64(n), "B/sample")
	b.ReportMetric(0, "ns/op")
}

func BenchmarkWrite(b *testing.B) {
	for name, n := range map[string]int{"million": 1_000_000, "trial": 20_000} {
		b.Run(name, func(b *testing.B) {
			tr := ramp(n)
			var w Writer
			size := len(encode(b, tr))
			_ = w.Write(io.Discard, tr)
			b.ReportAllocs()
			for b.Loop() {
				if err := w.Write(io.Discard, tr); err != nil {
					b.Fatal(err)
				}
			}
			report(b, n, size)
		})
	}
}

func BenchmarkRead(b *testing.B) {
	for name, n := range map[string]int{"million": 1_000_000, "trial": 20_000} {
		b.Run(name, func(b *testing.B) {
			tr := ramp(n)
			file := encode(b, tr)
			var r Reader
			var got signal.Trace
			_ = r.Read(bytes.NewReader(file), int64(len(file)), &got)
			b.ReportAllocs()
			for b.Loop() {
				if err := r.Read(bytes.NewReader(file), int64(len(file)), &got); err != nil {
					b.Fatal(err)
				}
			}
			report(b, n, len(file))
		})
	}
}
