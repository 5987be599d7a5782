package hands

import (
	"runtime"

	"pintle/drivers/meter"
	"pintle/rig/signal"
)

// listen takes what the meter says, guards by it, and lays it down. It runs on a
// thread of its own, below that of the lines.
func (h *hand) listen(lost chan<- []string) {
	runtime.LockOSThread()
	lost <- urgent(readPri)
	if h.meter == nil {
		return
	}
	g := watchman{guard: h.c.Guard, since: signal.Never}
	var n note
	for r := range h.meter.Readings() {
		if r.Trouble != nil {
			h.troubled(r)
			continue
		}
		h.desk.heard.Store(h.clock.now())
		if t := g.look(r.Sample, h.desk.supply.Load() != 0); t != NoTrip {
			h.trip(t)
		}
		n = note{kind: sampled, early: int64(r.Sample.From), late: int64(r.Sample.To), value: int64(r.Sample.Current), arrived: int64(r.At)}
		h.desk.meter.put(&n)
	}
}

func (h *hand) troubled(r meter.Reading) {
	gone := r.Trouble.Code == meter.HungUp
	if gone && h.desk.supply.Load() != 0 {
		h.trip(MeterGone)
	}
	h.notice(Notice{Code: r.Trouble.Code, Text: r.Trouble.Text, Gone: gone})
}

// A watchman is the guard over the current.
type watchman struct {
	guard Guard
	since signal.Instant // start of the present drive; Never: at rest
}

// look takes a sample. A guard over the current knows nothing of what is performed.
func (g *watchman) look(s signal.Sample, on bool) Trip {
	size := s.Current.Abs()
	switch {
	case size < g.guard.Stops:
		g.since = signal.Never
	case size >= g.guard.Runs && g.since == signal.Never:
		g.since = s.From
	}
	switch {
	case !on:
		return NoTrip
	case g.guard.MostCurrent > 0 && size >= g.guard.MostCurrent:
		return TooMuchCurrent
	case g.since != signal.Never && g.guard.LongestDrive > 0 && s.To.Sub(g.since) > g.guard.LongestDrive:
		return TooLongDrive
	}
	return NoTrip
}
