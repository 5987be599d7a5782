package livepage

import (
	"pintle/rig"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// A tap is the witness of one worker. The first one of a run inks the paper; of the
// others only the trials' beginnings and ends are told.
type tap struct {
	hub    *hub
	run    *running
	number int
	ring   *ring // nil: it does not ink
	base   int64 // the trial's origin on the paper
	latest int64
}

// Of the ring's places so many are left for edges, which are few and matter.
const forEdges = ringSize / 4

// between is how much paper there is between two trials.
const between = 200_000_000

var _ rig.Witness = (*tap)(nil)

func (t *tap) Begin(b rig.Beginning) { t.hub.begin(t, b) }

// Rise lays down how each line stands.
func (t *tap) Rise(initial [signal.LineCount]signal.Level) {
	if t.ring == nil {
		return
	}
	t.base = t.latest + between
	t.latest = t.base
	t.ring.put(entry{at: t.base, line: divider}, 0)
	for l, v := range initial[1:] {
		if line := signal.Line(l + 1); t.hub.house.Lines.Has(line) {
			t.ring.put(entry{at: t.base, line: uint8(line), level: uint8(v)}, 0)
		}
	}
	t.hub.origin(t)
}

// divider stands, among the lines, for the beginning of a trial.
const divider = 255

// See lays down a reading or an edge.
func (t *tap) See(o *rig.Observation) {
	if t.ring == nil {
		return
	}
	e := entry{value: int64(o.Sample.Current)}
	leave := uint64(forEdges)
	switch o.Kind {
	case rig.Sampled:
		e.at = t.base + int64(o.Sample.From+(o.Sample.To-o.Sample.From)/2)
	default:
		e.at, e.line, e.level, leave = t.base+int64(o.Span.Mid()), uint8(o.Line), uint8(o.Level), 0
	}
	e.at = max(e.at, t.base)
	t.latest = max(t.latest, e.at)
	t.ring.put(e, leave)
}

func (t *tap) Settle(i int, v rule.Verdict, at signal.Instant) { t.hub.settle(t, i, v) }

func (t *tap) End(o *rig.Outcome) { t.hub.end(t, o) }
