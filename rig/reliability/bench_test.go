package reliability_test

import (
	"fmt"
	"testing"

	. "pintle/rig/reliability"
)

func BenchmarkTrials(b *testing.B) {
	for _, p := range []Plan{{0.95, 0.95, 0}, {0.95, 0.95, 2}, {0.999, 0.95, 10}, {0.99999, 0.95, 1}} {
		b.Run(fmt.Sprintf("%v with %d failures", p, p.Allowed), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := p.Trials(); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkClopperPearson(b *testing.B) {
	for _, x := range [][2]int{{1, 59}, {7, 50}, {1234, 1_000_000}} {
		b.Run(fmt.Sprintf("%d of %d", x[0], x[1]), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := ClopperPearson(x[0], x[1], 0.95); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkSequential designs tests, which holds many exact evaluations, and makes
// one of them.
func BenchmarkSequential(b *testing.B) {
	for _, text := range []string{"95/95", "99/95", "99.9/95"} {
		p, err := ParsePlan(text)
		if err != nil {
			b.Fatal(err)
		}
		b.Run("design "+text, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := p.Sequential(Options{}); err != nil {
					b.Fatal(err)
				}
			}
		})
		s, err := p.Sequential(Options{})
		if err != nil {
			b.Fatal(err)
		}
		b.Run("exact rates "+text, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := s.At(s.P0); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(s.Most), "ns/trial")
		})
	}
}

func BenchmarkDraws(b *testing.B) {
	for name, draw := range map[string]func(i int) uint32{
		"sequence": func(i int) uint32 { return Sequence(1).Bits(i, Battery) },
		"chance":   func(i int) uint32 { return Chance(1).Bits(i, Battery) },
	} {
		b.Run(name, func(b *testing.B) {
			b.ReportAllocs()
			var sum uint32
			i := 0
			for b.Loop() {
				sum += draw(i)
				i++
			}
			_ = sum
		})
	}
}
