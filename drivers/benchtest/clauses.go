package benchtest

import (
	"cmp"
	"fmt"
	"slices"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/rig"
	"pintle/rig/signal"
)

func factsMakeSense(w *watch) {
	f, m := w.facts, w.facts.Meter
	require.NotEmpty(w.T, f.Name, "a bench has a name")
	require.True(w.T, f.Lines.Has(signal.Supply), "a bench switches the controller's supply, or it could not be safe")
	require.GreaterOrEqual(w.T, f.Lead, time.Duration(0), "lead")
	require.GreaterOrEqual(w.T, f.Late, time.Duration(0), "late")
	require.Positive(w.T, m.Interval, "the meter's interval")
	require.Positive(w.T, m.Window, "the meter's window")
	require.GreaterOrEqual(w.T, m.Least, time.Duration(0), "the meter's least latency")
	require.GreaterOrEqual(w.T, m.Most, m.Least, "the meter's most latency")
	require.Positive(w.T, m.Resolution, "the meter's resolution")
	require.Positive(w.T, m.Range, "the meter's range")
}

func startsSafe(w *watch) {
	w.released("when the bench opens")
	w.show(signal.Supply, "the supply can be switched on")
}

// released checks that all lines are broken, by planning them broken: an edge
// that changes nothing is dropped.
func (w *watch) released(when string) {
	w.T.Helper()
	at := w.ahead(2)
	for _, l := range w.driven() {
		w.plan(l, signal.Edge{At: at, Level: signal.Broken})
	}
	w.quiet(at, when+" every line is broken already")
}

// show makes and breaks a line, and must see it.
func (w *watch) show(line signal.Line, why string) {
	w.T.Helper()
	at, back := w.ahead(2), w.ahead(4)
	w.plan(line, signal.Edge{At: at, Level: signal.Made}, signal.Edge{At: back, Level: signal.Broken})
	w.match(why, expect{line, signal.Made, at}, expect{line, signal.Broken, back})
}

// An expect is an edge that must be seen, no earlier than planned.
type expect struct {
	line signal.Line
	v    signal.Level
	at   signal.Instant
}

// match waits for the edges and compares them one for one. They were planned
// outside the lead, so they must be on time.
func (w *watch) match(why string, want ...expect) {
	w.T.Helper()
	var names []string
	for _, e := range want {
		names = append(names, fmt.Sprintf("%v %v", e.line, e.v))
	}
	got := w.gather(want[len(want)-1].at, len(want))
	require.Equal(w.T, names, seen(got), why)
	for i, o := range got {
		require.Equalf(w.T, want[i].at, o.Planned, "%s: when %v was meant to be %v", why, o.Line, o.Level)
		require.GreaterOrEqualf(w.T, o.Span.Early, want[i].at, "%s: %v %v before its time", why, o.Line, o.Level)
		require.LessOrEqualf(w.T, o.Span.Late, want[i].at.Add(w.facts.Late), "%s: %v %v late", why, o.Line, o.Level)
	}
}

func seen(got []rig.Observation) []string {
	var s []string
	for _, o := range got {
		s = append(s, fmt.Sprintf("%v %v", o.Line, o.Level))
	}
	return s
}

// edgesInOrder plans all lines, each with edges that fall between those of the
// others.
func edgesInOrder(w *watch) {
	lines := w.driven()
	var want []expect
	start := w.ahead(5)
	for k, l := range lines {
		var future []signal.Edge
		for i, v := range []signal.Level{signal.Made, signal.Broken, signal.Made} {
			at := start.Add(time.Duration(i*len(lines)+len(lines)-k) * w.step())
			future = append(future, signal.Edge{At: at, Level: v})
			want = append(want, expect{l, v, at})
		}
		w.plan(l, future...)
	}
	slices.SortFunc(want, func(a, b expect) int { return cmp.Compare(a.at, b.at) })
	w.match("all lines interleaved", want...)
}

func dueEdge(w *watch) {
	w.until(w.ahead(5))
	now := w.tick()
	past := now.Add(-2 * w.step())
	w.plan(w.one(), signal.Edge{At: past, Level: signal.Made})
	got := w.gather(now.Add(w.facts.Lead), 1)
	require.Len(w.T, got, 1, "an edge planned for an instant gone by happens all the same")
	require.Equal(w.T, past, got[0].Planned, "it says when it was meant to be")
	require.GreaterOrEqual(w.T, got[0].Span.Early, now, "it is reported when it really happened")
}

func idleEdge(w *watch) {
	l, a, b, c := w.one(), w.ahead(5), w.ahead(7), w.ahead(9)
	w.plan(l, signal.Edge{At: a, Level: signal.Made}, signal.Edge{At: b, Level: signal.Made}, signal.Edge{At: c, Level: signal.Broken})
	w.match("made twice is made once", expect{l, signal.Made, a}, expect{l, signal.Broken, c})
}

// planAgain replaces one line's future before any of it has come, and again
// after a part of it has; another line's future stays as it was.
func planAgain(w *watch) {
	lines := w.driven()
	l, other := lines[0], lines[len(lines)-1]
	first, second, third := w.ahead(8), w.ahead(12), w.ahead(16)
	w.plan(other, signal.Edge{At: third.Add(w.step()), Level: signal.Made})
	w.plan(l, signal.Edge{At: first, Level: signal.Made}, signal.Edge{At: second, Level: signal.Broken})
	w.plan(l, signal.Edge{At: second, Level: signal.Made}, signal.Edge{At: third, Level: signal.Broken})
	w.match("the second plan holds and the first is gone", expect{l, signal.Made, second},
		expect{l, signal.Broken, third}, expect{other, signal.Made, third.Add(w.step())})

	on, off, end := w.ahead(4), w.ahead(400), w.ahead(8)
	w.plan(l, signal.Edge{At: on, Level: signal.Made}, signal.Edge{At: off.Add(w.facts.Late), Level: signal.Broken})
	w.match("the part before the change of mind", expect{l, signal.Made, on})
	end = max(end, w.ahead(2))
	w.plan(l, signal.Edge{At: end, Level: signal.Broken})
	w.match("the part after the change of mind", expect{l, signal.Broken, end})
}

func planNothing(w *watch) {
	at := w.ahead(20)
	w.plan(w.one(), signal.Edge{At: at, Level: signal.Made})
	w.plan(w.one())
	w.quiet(at, "a line whose future is empty does nothing")
}

func planCopied(w *watch) {
	l, at := w.one(), w.ahead(5)
	future := []signal.Edge{{At: at, Level: signal.Made}}
	w.plan(l, future...)
	future = future[:1]
	require.NoError(w.T, w.Plan(l, future))
	future[0] = signal.Edge{At: at.Add(time.Hour), Level: signal.Broken}
	w.match("the caller's slice is the caller's again", expect{l, signal.Made, at})
}

func planUnwired(w *watch) {
	at := w.ahead(5)
	bad := []signal.Line{signal.NoLine, signal.LineCount}
	for _, info := range signal.Lines {
		if !info.Driven || !w.facts.Lines.Has(info.Line) {
			bad = append(bad, info.Line)
		}
	}
	for _, l := range bad {
		require.Errorf(w.T, w.Plan(l, []signal.Edge{{At: at, Level: signal.Made}}), "plan %v", l)
	}
	w.quiet(at, "a plan that was refused does nothing")
	w.show(w.one(), "the other lines are none the worse")
}
