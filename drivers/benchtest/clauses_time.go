package benchtest

import (
	"time"

	"github.com/stretchr/testify/require"

	"pintle/rig/signal"
)

// reachedOnce walks on in uneven steps with edges between; the watch checks each
// answer. An edge at an instant already reached must not come after it.
func reachedOnce(w *watch) {
	l, v := w.one(), signal.Broken
	start := w.ahead(5)
	var future []signal.Edge
	for i := range 8 {
		v = v.Not()
		future = append(future, signal.Edge{At: start.Add(time.Duration(2*i) * w.step()), Level: v})
	}
	w.plan(l, future...)
	at := w.tick()
	for i := range 30 {
		at = at.Add(time.Duration(i%3) * w.step() / 2)
		w.until(at)
	}
	w.gather(future[7].At, len(future)-len(w.edges))
	require.Len(w.T, w.edges, len(future), "no edge is lost between two instants")
}

func reachedPast(w *watch) {
	w.until(w.ahead(4))
	before := w.tick()
	w.until(before)
	w.until(0)
	if w.facts.Virtual {
		require.Equal(w.T, before, w.tick(), "an instant gone by takes no time")
	}
}

// fewest is how many samples the clause on samples waits for.
const fewest = 20

func samplesFollow(w *watch) {
	m := w.facts.Meter
	begin := w.tick()
	end := begin.Add(m.Most + m.Window + (fewest+2)*m.Interval)
	w.until(end)
	require.GreaterOrEqual(w.T, len(w.samples), fewest, "samples come of themselves")
	// The watch has checked each against the one before it. Over all of them the
	// doubt about one arrival must not add up.
	first, last := w.samples[0].Sample, w.samples[len(w.samples)-1].Sample
	whole := time.Duration(len(w.samples)-1) * m.Interval
	require.InDelta(w.T, float64(whole), float64(last.To.Sub(first.To)), float64(m.Most-m.Least)+float64(whole)/100,
		"so many samples take so many intervals, to one in a hundred")
	require.GreaterOrEqual(w.T, first.To, begin.Add(-m.Most-m.Interval), "the first sample is no older than the meter")
}
