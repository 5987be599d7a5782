package rule

import "pintle/rig/signal"

// A tape keeps the latest samples, with the current's magnitude, for the rules
// that look at every one. A sample is judged once nothing can come any more that
// happened before its end: then it is known in which scopes it lies.
type tape struct {
	ring []signal.Sample // its length is a power of two
	next int64           // number of the sample to come
	ripe int64           // number of the first that has not been judged
}

func (t *tape) at(k int64) *signal.Sample { return &t.ring[k&int64(len(t.ring)-1)] }

func (t *tape) clear() { t.next, t.ripe = 0, 0 }

// push takes a sample in. Those from oldest on are still needed.
func (t *tape) push(s signal.Sample, size signal.Current, oldest int64) {
	if t.next-oldest >= int64(len(t.ring)) {
		t.grow(oldest)
	}
	s.Current = size
	*t.at(t.next) = s
	t.next++
}

func (t *tape) grow(oldest int64) {
	wide := tape{ring: make([]signal.Sample, max(64, 2*len(t.ring)))}
	for k := oldest; k < t.next; k++ {
		*wide.at(k) = *t.at(k)
	}
	t.ring = wide.ring
}

// batch is how many samples are judged at a time: it is faster so, and a change
// judges what is ripe before it in any case.
const batch = 16

// record puts a sample on the tape and now and then judges those that have become
// ripe: all that had begun when the sample before this one did has been told.
func (m *Monitor) record(s signal.Sample, size signal.Current) {
	if m.tape.next-m.oldest >= int64(len(m.tape.ring)) {
		m.oldest = m.tape.ripe
		for _, w := range m.slides {
			m.oldest = min(m.oldest, w.head)
		}
	}
	m.tape.push(s, size, m.oldest)
	if m.tape.next-m.tape.ripe >= batch {
		m.ripen(m.prev.From)
	}
}

// ripen judges the samples that ended no later than an instant.
func (m *Monitor) ripen(t signal.Instant) {
	from, to := m.tape.ripe, m.tape.ripe
	for ; to < m.tape.next; to++ {
		s := m.tape.at(to)
		if s.To > t {
			break
		}
		if s.Current < m.least || s.Current > m.most {
			for _, c := range m.extremes {
				c.body.(*extreme).sample(c, *s)
			}
			m.reviewExtremes()
		}
	}
	m.tape.ripe = to
	for _, c := range m.heated {
		c.body.(*heat).samples(c, &m.tape, from, to)
	}
	for _, w := range m.slides {
		w.samples(&m.tape, from, to)
	}
}

// reviewExtremes works out anew which currents are of no interest to any rule on
// the largest or the smallest.
func (m *Monitor) reviewExtremes() {
	m.least, m.most = 0, 1<<62
	for _, c := range m.extremes {
		lo, hi := c.body.(*extreme).band(c)
		m.least, m.most = max(m.least, lo), min(m.most, hi)
	}
}
