package uncertainty_test

import (
	"fmt"
	"testing"

	. "pintle/rig/uncertainty"
)

func BenchmarkBudget(b *testing.B) {
	without := stopTime()
	without.Inputs = without.Inputs[:5]
	tied := stopTime()
	tied.Correlations = []Correlation{{"start", "end", 0.2}}
	small := &Budget{Quantity: "few", Inputs: []Input{
		{Name: "a", Distribution: Normal, Standard: 1, Dof: 5, Sensitivity: 1}, {Name: "b", Distribution: Normal, Standard: 1, Dof: 7, Sensitivity: 1}}}
	for _, x := range []struct {
		name string
		b    *Budget
	}{{"five inputs", without}, {"six inputs, finite dof", stopTime()}, {"six inputs, two tied", tied},
		{"two inputs, Student's t", small}, {"two inputs, t of no whole dof", &Budget{Quantity: "few", DofRounding: AsComputed, Inputs: small.Inputs}}} {
		b.Run(x.name, func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := x.b.Linear(); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// BenchmarkDraws draws six inputs a million times, sorting included.
func BenchmarkDraws(b *testing.B) {
	const draws = 1_000_000
	for name, budget := range map[string]*Budget{"six inputs": stopTime(), "four rectangular": ref(four(Input{Distribution: Rectangular, Standard: 1}))} {
		b.Run(fmt.Sprint(draws, " of ", name), func(b *testing.B) {
			b.ReportAllocs()
			for b.Loop() {
				if _, err := budget.Simulate(Simulation{Seed: 1, Draws: draws}); err != nil {
					b.Fatal(err)
				}
			}
			b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/draws, "ns/draw")
		})
	}
}

func BenchmarkEvaluate(b *testing.B) {
	budget := stopTime()
	var draws int
	b.ReportAllocs()
	for b.Loop() {
		e, err := budget.Evaluate(Simulation{Seed: 1})
		if err != nil {
			b.Fatal(err)
		}
		draws = e.Simulated.Draws
	}
	b.ReportMetric(float64(draws), "draws")
}

func BenchmarkDecide(b *testing.B) {
	x, limits, rule := Plain(1990*ms, 10*ms, 20*ms), AtMost(2000*ms), InFourWays()
	b.ReportAllocs()
	for b.Loop() {
		if rule.Decide(x, limits).Decision != ConditionalPass {
			b.Fatal("decided otherwise")
		}
	}
}

func ref(b Budget) *Budget { return &b }
