package hands

import (
	"pintle/drivers/meter"
	"pintle/rig/signal"
)

// A listener takes what the meter says, guards by it, and lays it down. It is called on
// the thread that reads the port, which has a priority below that of the lines.
type listener struct {
	*hand
	watch watchman
	note  note
}

func (l *listener) take(r meter.Reading) {
	if r.Trouble != nil {
		l.troubled(r)
		return
	}
	l.desk.heard.Store(l.clock.now())
	if t := l.watch.look(r.Sample, l.desk.supply.Load() != 0); t != NoTrip {
		l.trip(t)
	}
	l.note = note{kind: sampled, early: int64(r.Sample.From), late: int64(r.Sample.To), value: int64(r.Sample.Current), arrived: int64(r.At)}
	l.desk.meter.put(&l.note, int64(r.At))
}

func (h *hand) troubled(r meter.Reading) {
	gone := r.Trouble.Code == meter.HungUp
	if gone {
		h.unplugged.Store(true) // first: the supply may come on in this moment
	}
	if gone && h.desk.supply.Load() != 0 {
		h.trip(MeterGone)
	}
	h.notice(Notice{Code: r.Trouble.Code, Text: r.Trouble.Text, Gone: gone, At: int64(r.Began)})
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
