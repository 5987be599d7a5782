package hands

import "pintle/rig/signal"

// A Note is one thing that the hands laid down. Instants are of CLOCK_MONOTONIC.
type Note struct {
	Sampled bool
	Sensed  bool // otherwise emitted
	Line    signal.Line
	Level   signal.Level
	Planned signal.Instant
	Span    signal.Span
	Sample  signal.Sample
	Arrived signal.Instant
}

// Line takes the oldest edge.
func (h *Hands) Line(n *Note) bool {
	var raw note
	if !h.desk.lines.take(&raw) {
		return false
	}
	*n = Note{Sensed: raw.kind == sensed, Line: signal.Line(raw.line), Level: signal.Broken, Planned: signal.Instant(raw.planned),
		Span: signal.Span{Early: signal.Instant(raw.early), Late: signal.Instant(raw.late)}}
	if raw.made != 0 {
		n.Level = signal.Made
	}
	return true
}

// Sample takes the oldest reading.
func (h *Hands) Sample(n *Note) bool {
	var raw note
	if !h.desk.meter.take(&raw) {
		return false
	}
	*n = Note{Sampled: true, Arrived: signal.Instant(raw.arrived),
		Sample: signal.Sample{From: signal.Instant(raw.early), To: signal.Instant(raw.late), Current: signal.Current(raw.value)}}
	return true
}

// Notices are what the hands say in words.
func (h *Hands) Notices() <-chan Notice { return h.notice }

// Speaking says that the hands have said what is still on its way. Those that are gone may
// have been cut off.
func (h *Hands) Speaking() bool {
	heard, unsaid := h.heard.Load(), h.desk.unsaid.count.Load()
	return !h.Gone() && h.desk.said.Load() > heard+unsaid
}

// Lost is how many notes were lost for lack of room, and whether the latest of them was
// seen after an instant.
func (h *Hands) Lost(instant int64) (all uint64, later bool) {
	for _, l := range []*loss{&h.desk.lines.lost, &h.desk.meter.lost, &h.desk.unsaid, &h.dropped} {
		n, is := l.since(instant)
		all, later = all+n, later || n > 0 && is
	}
	return all, later
}

// Unsensed is how many sensed edges came faster than they were taken from the kernel, and
// whether the latest were missed after an instant.
func (h *Hands) Unsensed(instant int64) (all uint64, later bool) { return h.desk.edges.since(instant) }

// Forget drops what has been laid down and not taken. It gives the lines that are sensed
// as made; an edge of theirs may come all the same.
func (h *Hands) Forget() signal.LineSet {
	h.desk.lines.forget()
	h.desk.meter.forget()
	return signal.LineSet(h.desk.sensed.Load())
}

// hears takes in what the hands said.
func (h *Hands) hears(n Notice) {
	select {
	case h.notice <- n:
	default: // nobody takes them: one that is lost counts like a note that is
		h.dropped.add(1, n.At)
	}
	if !n.Ready && n.Error == "" {
		h.heard.Add(1) // last: it is there for who sees it counted
	}
}
