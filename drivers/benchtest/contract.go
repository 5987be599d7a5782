package benchtest

import (
	"fmt"
	"runtime"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/rig"
	"pintle/rig/signal"
)

// A clause is one promise of rig.Bench, put to a bench opened for it alone.
type clause struct {
	name string
	hold func(*watch)
}

// clauses are the contract, in the order in which rig.Bench makes its promises.
var clauses = []clause{
	{"facts make sense", factsMakeSense},
	{"starts safe", startsSafe},
	{"edges come in order and on time", edgesInOrder},
	{"an edge already due comes at once", dueEdge},
	{"an edge to the present level is dropped", idleEdge},
	{"planning again replaces the future", planAgain},
	{"planning nothing cancels", planNothing},
	{"the bench keeps a copy of a plan", planCopied},
	{"a line that is not driven cannot be planned", planUnwired},
	{"reached comes once, at the instant asked for", reachedOnce},
	{"an instant gone by is reached at once", reachedPast},
	{"samples follow each other without a gap", samplesFollow},
	{"safe releases all lines and forgets every plan", safeReleases},
	{"safe may be called at any time", safeAnyTime},
	{"close ends everything", closeEnds},
}

// Contract holds a bench to the promises of rig.Bench. open gives a fresh bench
// each time; Contract closes it.
func Contract(t *testing.T, open func(t *testing.T) (rig.Bench, rig.Facts)) {
	for _, c := range clauses {
		t.Run(c.name, func(t *testing.T) {
			bench, facts := open(t)
			t.Cleanup(func() { require.NoError(t, bench.Close(), "close at the end of the clause") })
			c.hold(&watch{T: t, Bench: bench, facts: facts})
		})
	}
}

// Patiently is Contract for a bench that keeps real time on a machine which may itself
// stand still. A clause that was broken while the machine was seen to is tried again, on a
// fresh bench: one that breaks its promise breaks it each time.
func Patiently(t *testing.T, open func(t *testing.T) (rig.Bench, rig.Facts)) {
	patiently(t, open, stood)
}

// still is how long a machine keeps somebody waiting who is to run that stands still.
const still = 5 * time.Millisecond

func patiently(t *testing.T, open func(t *testing.T) (rig.Bench, rig.Facts), watch func() (longest func() time.Duration)) {
	const tries = 3
	for _, c := range clauses {
		t.Run(c.name, func(t *testing.T) {
			for n := 1; ; n++ {
				bench, facts := open(t)
				longest := watch()
				said := tried(c, bench, facts)
				waited := longest()
				require.NoError(t, bench.Close(), "close at the end of the clause")
				if said == "" {
					return
				}
				t.Logf("while the machine stood still for %v: %s", waited, said)
				require.True(t, n < tries && waited >= still, "the clause is broken, at try %d", n)
			}
		})
	}
}

// stood watches how long this machine keeps somebody waiting who is to run each millisecond.
func stood() (longest func() time.Duration) {
	stop, most := make(chan struct{}), make(chan time.Duration)
	go func() {
		tick := time.NewTicker(time.Millisecond)
		defer tick.Stop()
		last, worst := time.Now(), time.Duration(0)
		for {
			select {
			case <-stop:
				most <- max(worst, time.Since(last))
				return
			case <-tick.C:
				worst, last = max(worst, time.Since(last)), time.Now()
			}
		}
	}()
	return func() time.Duration { close(stop); return <-most }
}

// tried puts a bench to a clause and gives what it said of it; nothing where it holds.
func tried(c clause, bench rig.Bench, facts rig.Facts) string {
	v, done := &verdict{}, make(chan struct{})
	go func() {
		defer close(done)
		c.hold(&watch{T: v, Bench: bench, facts: facts})
	}()
	<-done
	return v.text
}

// A trial run of a clause ends in a panic-free way of its own: FailNow leaves
// the goroutine, as testing does.
type verdict struct{ text string }

func (v *verdict) Helper()                           {}
func (v *verdict) Errorf(format string, args ...any) { v.text += fmt.Sprintf(format, args...) }
func (v *verdict) FailNow()                          { runtime.Goexit() }

// tester is what the clauses need of a *testing.T, so that they can be put to
// the test themselves.
type tester interface {
	Helper()
	Errorf(format string, args ...any)
	FailNow()
}

// A watch drives a bench and checks, at every single call, what must hold at
// every call.
type watch struct {
	T tester
	rig.Bench
	facts rig.Facts

	last    signal.Instant // latest Now
	reached signal.Instant // latest instant reached
	edges   []rig.Observation
	samples []rig.Observation
}

// most is how many observations one until may take before the watch calls it
// endless.
const most = 1_000_000

// until calls Next until the instant is reached and returns the edges emitted
// on the way.
func (w *watch) until(at signal.Instant) []rig.Observation {
	w.T.Helper()
	begin := len(w.edges)
	for range most {
		o, err := w.Next(at)
		require.NoErrorf(w.T, err, "next until %v", at)
		w.tick()
		switch o.Kind {
		case rig.Reached:
			require.Equal(w.T, signal.At(at), o.Span, "the span of reached is the instant asked for")
			require.GreaterOrEqual(w.T, w.last, at, "now has come to the instant reached")
			w.reached = max(w.reached, at)
			return w.edges[begin:]
		case rig.Emitted, rig.Sensed:
			w.edge(o)
		case rig.Sampled:
			w.sample(o)
		case rig.Trouble:
			require.NotNil(w.T, o.Trouble, "an observation of trouble says which")
			require.Failf(w.T, "trouble", "%s: %s", o.Trouble.Code, o.Trouble.Text)
		default:
			require.Failf(w.T, "no such observation", "kind %d", o.Kind)
		}
	}
	require.Failf(w.T, "endless", "%v not reached after %d observations", at, most)
	return nil
}

// tick checks that time does not run backwards.
func (w *watch) tick() signal.Instant {
	w.T.Helper()
	now := w.Now()
	require.GreaterOrEqual(w.T, now, w.last, "now runs backwards")
	w.last = now
	return now
}

// edge checks one edge against all that came before it. Edges that are sensed
// are the controller's business and only need to be in order.
func (w *watch) edge(o rig.Observation) {
	w.T.Helper()
	require.LessOrEqual(w.T, o.Span.Early, o.Span.Late, "a span ends after it began")
	require.LessOrEqual(w.T, o.Span.Late, w.last, "an edge that was seen lies in the past")
	require.GreaterOrEqualf(w.T, o.Span.Late, w.reached, "%v %v comes after its instant had been reached", o.Line, o.Level)
	if o.Kind != rig.Emitted || o.Line == signal.Heartbeat {
		return
	}
	require.Truef(w.T, w.facts.Lines.Has(o.Line), "%v emitted, and it is not wired", o.Line)
	if n := len(w.edges); n > 0 {
		require.GreaterOrEqual(w.T, o.Span.Early, w.edges[n-1].Span.Early, "edges come in the order of time")
	}
	w.edges = append(w.edges, o)
}

// sample checks one sample against the meter's facts and the sample before it.
func (w *watch) sample(o rig.Observation) {
	w.T.Helper()
	m, s := w.facts.Meter, o.Sample
	width := s.To.Sub(s.From)
	require.GreaterOrEqual(w.T, width, m.Window, "a sample's stretch holds the meter's window")
	require.LessOrEqual(w.T, width, m.Window+m.Most-m.Least, "a sample's stretch is no wider than window and doubt")
	require.GreaterOrEqual(w.T, w.last.Sub(s.To), m.Least, "a sample comes after the least latency")
	if w.facts.Virtual {
		require.LessOrEqual(w.T, w.last.Sub(s.To), m.Most, "a sample comes within the most latency")
	}
	require.LessOrEqual(w.T, s.Current.Abs(), m.Range, "a sample lies within the meter's range")
	if n := len(w.samples); n > 0 {
		step := s.To.Sub(w.samples[n-1].Sample.To)
		require.GreaterOrEqual(w.T, step, time.Duration(0), "samples come in the order of time")
		require.LessOrEqual(w.T, step, m.Interval+m.Most-m.Least, "a gap between two samples")
		require.GreaterOrEqual(w.T, step, m.Interval-(m.Most-m.Least), "two samples too near each other")
	}
	w.samples = append(w.samples, o)
}

// plan plans and must succeed.
func (w *watch) plan(line signal.Line, future ...signal.Edge) {
	w.T.Helper()
	require.NoErrorf(w.T, w.Plan(line, future), "plan %v", line)
}

// step is the time between two edges that the clauses plan.
func (w *watch) step() time.Duration {
	if w.facts.Virtual {
		return time.Millisecond
	}
	return 2 * time.Millisecond
}

// ahead is an instant n steps after the bench's lead is over.
func (w *watch) ahead(n int) signal.Instant {
	return w.tick().Add(w.facts.Lead + time.Duration(n)*w.step())
}

// gather waits for so many edges: until the instant and a step more, and then, as
// a bench in real time may be late, for as long as its facts allow.
func (w *watch) gather(at signal.Instant, n int) []rig.Observation {
	w.T.Helper()
	begin := len(w.edges)
	w.until(at.Add(w.step()))
	for t := w.step(); len(w.edges)-begin < n && t <= w.facts.Late+w.step(); t += w.step() {
		w.until(at.Add(w.step() + t))
	}
	return w.edges[begin:]
}

// quiet waits for a while after an instant in which nothing must happen.
func (w *watch) quiet(at signal.Instant, why string) {
	w.T.Helper()
	require.Empty(w.T, seen(w.until(at.Add(3*w.step()))), why)
}

// driven lists the lines that can be planned; the heartbeat is the bench's own.
func (w *watch) driven() []signal.Line {
	var lines []signal.Line
	for _, info := range signal.Lines {
		if info.Driven && info.Line != signal.Heartbeat && w.facts.Lines.Has(info.Line) {
			lines = append(lines, info.Line)
		}
	}
	return lines
}

// one is a driven line, the button of the remote where there is one.
func (w *watch) one() signal.Line { return w.driven()[0] }

// Clauses is Contract without subtests, for a test that may not have any, such as
// one in a bubble of simulated time.
func Clauses(t *testing.T, open func() (rig.Bench, rig.Facts)) {
	for _, c := range clauses {
		bench, facts := open()
		c.hold(&watch{T: t, Bench: bench, facts: facts})
		require.NoErrorf(t, bench.Close(), "close at the end of the clause %q", c.name)
	}
}
