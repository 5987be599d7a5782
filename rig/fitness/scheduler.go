package fitness

import (
	"fmt"
	"slices"
	"time"

	"gonum.org/v1/gonum/stat"

	"pintle/rig"
	"pintle/rig/rule"
)

const (
	// beside is how much later than the machine's own scheduler an edge may be.
	beside = 1.2
	// leastLate is what no edge is blamed for: a chip takes some microseconds to be driven.
	leastLate = 20 * time.Microsecond
	// enoughEdges are those of which one in a hundred can be told.
	enoughEdges = 100
)

// wakes takes in how late the machine woke the bench, where it tells.
func (s *session) wakes(t *timing) {
	if b, can := rig.Can[rig.Sleeper](s.bench); can {
		if woke := b.Woke(); t != nil {
			t.woke = append(t.woke, woke...)
		}
	}
}

// besideScheduler holds the edges to the machine's own scheduler: what is later than that
// accounts for is the bench's own doing, and no quieter machine would mend it.
func (t *timing) besideScheduler() Result {
	r := Result{Name: "edges beside the scheduler", Done: fmt.Sprintf("The machine woke what emits the edges %d times meanwhile, and how late it did was held against how late the edges were.", len(t.woke))}
	if len(t.woke) < enoughEdges || len(t.late) < enoughEdges {
		r.Verdict, r.Reason = rule.Inconclusive, fmt.Sprintf("It takes %d of both to tell, and there were %d wakes and %d edges.", enoughEdges, len(t.woke), len(t.late))
		r.Advice = "Let the check time edges for longer, on a bench that tells when it is woken."
		return r
	}
	r.Verdict, r.Reason = rule.Pass, "The edges were no later than the machine's own scheduler accounts for."
	for _, q := range []struct {
		name string
		p    float64
	}{{"p50", 0.5}, {"p99", 0.99}} {
		edges, machine := quantile(t.late, q.p), quantile(t.woke, q.p)
		most := max(leastLate, time.Duration(beside*float64(machine)))
		r.Figures = append(r.Figures, Figure{Name: q.name + " of edges", Value: int64(edges), Unit: Nanoseconds}, Figure{Name: "of wakes", Value: int64(machine), Unit: Nanoseconds})
		r.Limits = append(r.Limits, Figure{Name: q.name + " of edges at most", Value: int64(most), Unit: Nanoseconds})
		if edges > most {
			r.Verdict, r.Reason = rule.Inconclusive, "The edges were later than the machine's own scheduler accounts for."
			r.Advice = "The machine wakes in time: see whether the chip that drives the lines is slow, as one behind a slow bus is."
		}
	}
	return r
}

func quantile(all []time.Duration, p float64) time.Duration {
	sorted := make([]float64, len(all))
	for i, d := range all {
		sorted[i] = float64(d)
	}
	slices.Sort(sorted)
	return time.Duration(stat.Quantile(p, stat.Empirical, sorted, nil))
}
