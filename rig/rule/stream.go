package rule

import (
	"math/bits"

	"pintle/rig/motion"
	"pintle/rig/signal"
)

// A stream keeps the word of atomic facts up to date and turns what was seen into
// changes of conditions. Things of several sources with the same span are gathered
// before the conditions are asked.
type stream struct {
	vocabulary
	word, next uint64 // before and after the change being gathered
	at         stamp  // when that happened; known while there is one
	of         uint64 // all facts that its sources tell of
	lo, hi     signal.Current
	prev       signal.Sample
	sampled    bool
	changed    func(at stamp) // conditions have changed
	heard      func(h heard)  // facts have changed, before any condition is asked; nil: does not matter
	touched    []int32
}

func (v *stream) begin(lines [signal.LineCount]signal.Level, motor motion.State) {
	v.word = motorWord(motor)
	for l, level := range lines {
		if level == signal.Made {
			v.word |= 1 << l
		}
	}
	v.next, v.at, v.sampled = v.word, stamp{}, false
	for _, c := range v.conds {
		c.begin(v.word)
	}
}

func (v *stream) edge(e signal.EdgeSeen) {
	bit, next := uint64(1)<<e.Line, v.next&^(1<<e.Line)
	if e.Level == signal.Made {
		next |= bit
	}
	v.take(next, bit, stamp{e.Span, true, false})
}

func (v *stream) motor(c motion.Change) {
	v.take(v.next&^motorBits|motorWord(c.Is), motorBits, stamp{c.Span, true, true})
}

// take makes the word what it is from the stamp on. Of are all facts that the
// same source tells of.
func (v *stream) take(next, of uint64, at stamp) {
	v.gather(at, of)
	flip := v.next ^ next
	v.next = next
	if flip != 0 && v.heard != nil {
		v.heard(heard{at: at, flip: flip, of: of})
	}
}

// current follows a reading through the values that conditions compare it
// with, and finds the band in which nothing changes.
func (v *stream) current(s signal.Sample, size signal.Current) {
	for i, t := range v.thresholds {
		bit := uint64(1) << (thresholdBit + i)
		above := size > t
		if above == (v.next&bit != 0) {
			continue
		}
		from := s.From
		if v.sampled {
			from = v.prev.From
		}
		v.take(v.next^bit, bit, stamp{signal.Span{Early: from, Late: s.To}, true, true})
	}
}

// band gives the currents between which no threshold is crossed.
func (v *stream) band() (lo, hi signal.Current) {
	lo, hi = 0, 1<<62
	for i, t := range v.thresholds {
		if v.next&(1<<(thresholdBit+i)) != 0 {
			lo = max(lo, t+1)
		} else {
			hi = min(hi, t)
		}
	}
	return lo, hi
}

// gather makes the change under way one that happens at the stamp.
func (v *stream) gather(at stamp, of uint64) {
	if v.at.known && v.at.span == at.span && (v.of&of == 0 || at.span.Width() == 0) {
		v.at.meter, v.of = v.at.meter && at.meter, v.of|of
		return
	}
	v.flush()
	v.at, v.of = at, of
}

// flush asks the conditions about the change under way.
func (v *stream) flush() {
	if !v.at.known {
		return
	}
	at := v.at
	v.at.known = false
	diff := v.word ^ v.next
	v.word = v.next
	v.touched = v.touched[:0]
	for diff != 0 {
		bit := bits.TrailingZeros64(diff)
		diff &^= 1 << bit
		for _, i := range v.users[bit] {
			c := v.conds[i]
			if !c.turned() {
				c.change(v.word, at)
				if c.turned() {
					v.touched = append(v.touched, i)
				}
			}
		}
	}
	if len(v.touched) == 0 {
		return
	}
	v.changed(at)
	for _, i := range v.touched {
		v.conds[i].rest()
	}
}
