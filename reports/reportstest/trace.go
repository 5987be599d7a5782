package reportstest

import (
	"fmt"
	"time"

	"pintle/rig/signal"
)

const ms = signal.Instant(time.Millisecond)

// A stroke is the motor running one way: from when, until when, and at what
// current. A negative current closes.
type stroke struct {
	from, to signal.Instant
	current  signal.Current
	stall    signal.Instant // from then on stalled; 0: never
}

// story is a trial in outline.
type story struct {
	end     signal.Instant
	initial []signal.Line
	edges   []signal.EdgeSeen
	strokes []stroke
	marks   []signal.Mark
	silent  signal.Instant // the meter says nothing after this; 0: it talks to the end
}

func edge(l signal.Line, v signal.Level, at, doubt signal.Instant) signal.EdgeSeen {
	return signal.EdgeSeen{Line: l, Level: v, Span: signal.Span{Early: at - doubt, Late: at + doubt}}
}

// tell writes the outline out as a trace, with one sample a millisecond.
func (s story) tell(seed uint32) *signal.Trace {
	t := &signal.Trace{Edges: s.edges, Marks: s.marks, End: s.end}
	for _, l := range s.initial {
		t.Initial[l] = signal.Made
	}
	for at := signal.Instant(0); at < s.end && (s.silent == 0 || at < s.silent); at += ms {
		seed = seed*1664525 + 1013904223
		noise := signal.Current(seed>>16%41) - 20 // counts of 1 mA
		t.Samples = append(t.Samples, signal.Sample{From: at, To: at + ms, Current: s.current(at) + noise*1000})
	}
	return t
}

func (s story) current(at signal.Instant) signal.Current {
	for _, k := range s.strokes {
		if at < k.from || at >= k.to {
			continue
		}
		sign := signal.Current(1)
		if k.current < 0 {
			sign = -1
		}
		since := (at - k.from) / ms
		level := k.current
		if since < 120 { // inrush dies away
			level += sign * 6 * signal.Ampere * signal.Current((120-since)*(120-since)) / 14400
		}
		if k.stall != 0 && at >= k.stall {
			level = sign * 11200 * signal.Ampere / 1000
		}
		return level
	}
	return 0
}

// Source is a TraceSource that tells the traces of the runs of this package.
type Source struct{}

// Trace tells the trace of a trial, the same one every time.
func (Source) Trace(run, scenario string, trial int) (*signal.Trace, error) {
	for _, p := range plots {
		if p.name == scenario {
			return p.story().tell(uint32(trial)), nil
		}
	}
	return nil, fmt.Errorf("run %s: scenario %s: no trace of trial %d", run, scenario, trial)
}
