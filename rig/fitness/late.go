package fitness

import (
	"fmt"
	"slices"
	"time"

	"gonum.org/v1/gonum/stat"

	"pintle/rig"
	"pintle/rig/rule"
	"pintle/rig/signal"
	"pintle/rig/wording"
)

// burst is how many edges a burst has; a run of evenly paced ones has as many.
const burst = 200

// timeEdges times edges at an even pace, and in bursts between.
func (s *session) timeEdges() error {
	if s.Pulse == signal.NoLine {
		s.add(Result{Name: "edges on time", Done: nothing, Verdict: rule.Inconclusive,
			Reason: "The bench has no line on which edges can be timed without wearing out a power relay.",
			Advice: "Name a line that has none as the one for the check."})
		return nil
	}
	var even, quick timing
	s.wakes(nil) // those of before are no concern of the edges
	end, random := s.bench.Now().Add(s.Lateness), uint64(1)
	every := s.Lateness / time.Duration(s.Bursts+1)
	next := s.bench.Now().Add(every)
	for s.bench.Now() < end || quick.bursts < s.Bursts {
		gaps := func() time.Duration { return s.Pace }
		t, stop := &even, end
		if s.bench.Now() >= next && quick.bursts < s.Bursts {
			next = next.Add(every)
			t, stop = &quick, signal.Never
			gaps = func() time.Duration {
				random = random*6364136223846793005 + 1442695040888963407
				return s.Gaps.Least + time.Duration((random>>33)%uint64(s.Gaps.Most-s.Gaps.Least+1))
			}
		}
		if err := s.emit(t, gaps, stop); err != nil {
			return err
		}
		s.wakes(t)
	}
	s.add(even.judge("edges on time", fmt.Sprintf("For %s the line %v changed every %s, planned ahead by the lead that the bench asks for.", took(s.Lateness), s.Pulse, took(s.Pace)), s.Facts))
	s.add(quick.judge("edges on time in bursts", fmt.Sprintf("A burst of %d edges with gaps of %s to %s was made %s.", burst, took(s.Gaps.Least), took(s.Gaps.Most), wording.Times(quick.bursts)), s.Facts))
	if _, can := rig.Can[rig.Sleeper](s.bench); can || !s.Facts.Virtual {
		s.add(even.besideScheduler())
	}
	worst := max(even.worst(), quick.worst())
	if even.lost+quick.lost == 0 {
		s.report.Measured.Late = &worst
	}
	return nil
}

// emit plans one run of edges, none but the last of a pair after an instant, and
// collects how late they were.
func (s *session) emit(t *timing, gap func() time.Duration, end signal.Instant) error {
	s.forget()
	at, level := s.soon(), signal.Broken
	var edges []signal.Edge
	for i := 0; i < burst && (at < end || i < 2 || i%2 == 1); i++ {
		level = level.Not()
		edges = append(edges, signal.Edge{At: at, Level: level})
		at = at.Add(gap())
	}
	if err := s.plan(s.bench, s.Pulse, edges); err != nil {
		return err
	}
	last := edges[len(edges)-1].At
	seen := func() bool {
		n := len(s.edges)
		return n > 0 && s.edges[n-1].Kind == rig.Emitted && s.edges[n-1].Planned == last
	}
	if err := s.until(s.bench, last.Add(s.grace()+100*time.Millisecond), seen); err != nil {
		return err
	}
	t.take(s.Pulse, edges, s.edges)
	s.keepTroubles()
	return nil
}

// A timing is how late many edges were.
type timing struct {
	late   []time.Duration
	woke   []time.Duration // by how much the machine woke the bench late meanwhile
	early  int
	lost   int
	bursts int
}

func (t *timing) take(l signal.Line, edges []signal.Edge, seen []rig.Observation) {
	t.bursts++
	byPlan := make(map[signal.Instant]rig.Observation, len(seen))
	for _, o := range seen {
		if o.Kind == rig.Emitted && o.Line == l {
			byPlan[o.Planned] = o
		}
	}
	for _, e := range edges {
		o, ok := byPlan[e.At]
		switch {
		case !ok || o.Level != e.Level:
			t.lost++
			continue
		case o.Span.Late < e.At:
			t.early++
		}
		t.late = append(t.late, o.Span.Late.Sub(e.At))
	}
}

func (t *timing) worst() time.Duration {
	if len(t.late) == 0 {
		return 0
	}
	return slices.Max(t.late)
}

// judge sums the lateness up. The latest that an edge can have been counts.
func (t *timing) judge(name, done string, f rig.Facts) Result {
	r := Result{Name: name, Done: fmt.Sprintf("%s In all %d edges were timed.", done, len(t.late)),
		Limits: []Figure{{Name: "latest", Value: int64(f.Late), Unit: Nanoseconds}}}
	sorted := make([]float64, len(t.late))
	for i, d := range t.late {
		sorted[i] = float64(d)
	}
	slices.Sort(sorted)
	for _, q := range []struct {
		name  string
		p     float64
		needs int
	}{{"p50", 0.5, 2}, {"p99", 0.99, 100}, {"p99.9", 0.999, 1000}, {"worst", 1, 1}} {
		if len(sorted) >= q.needs {
			r.Figures = append(r.Figures, Figure{Name: q.name, Value: int64(stat.Quantile(q.p, stat.Empirical, sorted, nil)), Unit: Nanoseconds})
		}
	}
	beyond := 0
	for _, d := range t.late {
		if d > f.Late {
			beyond++
		}
	}
	switch {
	case t.lost > 0:
		r.Verdict, r.Reason = rule.Fail, fmt.Sprintf("Edges that never happened: %d.", t.lost)
		r.Advice = "Edges that come too close for the line are merged: give the check's bursts longer gaps if no scenario needs them, or look for what holds the line."
	case t.early > 0:
		r.Verdict, r.Reason = rule.Fail, fmt.Sprintf("Edges that came before their time: %d.", t.early)
		r.Advice = "The bench's clock is not to be trusted: restart it, and check it again."
	case beyond > 0:
		r.Verdict, r.Reason = rule.Fail, fmt.Sprintf("Edges that were later than the bench allows: %d, the worst by %s.", beyond, took(t.worst()))
		r.Advice = "Allow real-time priority, take other work off the machine, or state a longer lateness in the bench's file: budgets then count it in."
	case len(t.late) == 0:
		r.Verdict, r.Reason = rule.Inconclusive, "No edge was timed."
	default:
		r.Verdict, r.Reason = rule.Pass, fmt.Sprintf("The latest was late by %s.", took(t.worst()))
	}
	return r
}
