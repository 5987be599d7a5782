package rule

// A heard is a change of facts as it was seen.
type heard struct {
	at    stamp
	flip  uint64 // the facts that change
	of    uint64 // all facts that its sources tell of
	after uint64 // which of those heard before it certainly came before it, one bit each
	with  uint64 // which came before it or at the same instant
}

// one says that two changes are one: of one reading of the meter, or at one
// instant that is known exactly.
func (h heard) one(o heard) bool {
	return h.at.span == o.at.span && (h.at.meter && o.at.meter && h.of&o.of == 0 || h.at.span.Width() == 0)
}

// An order is what is known of the order of two changes.
type order uint8

const (
	free   order = iota // nothing
	weakly              // the one came before the other, or at the same instant
	surely              // it came before the other
)

// to says in which order a change came with respect to one that was heard after
// it. One source's changes came one after another, however wide their spans. So
// did the meter's readings, but what is seen in two of them can have begun at one
// instant; a span that holds the other's is one of several readings.
func (h heard) to(o heard) order {
	a, b := h.at.span, o.at.span
	switch {
	case h.of&o.of != 0 || a.Late < b.Early:
		return surely
	case h.at.meter && o.at.meter && a.Early < b.Early && a.Late < b.Late:
		return weakly
	}
	return free
}
