package rule

import (
	"pintle/rig/motion"
	"pintle/rig/signal"
)

// A Monitor judges a trial by a set of rules as it happens. Changes come in the
// order of their earliest instants. Its memory does not grow with the trial.
type Monitor struct {
	stream
	rules    []Rule
	judge    Judge
	rows     []*orders // one a rule
	direct   []*check  // those that look at readings
	slides   []*slide  // the windows of those on a mean
	extremes []*check  // those that look at the largest or the smallest sample
	heated   []*check  // those on a part's heating
	taping   bool      // there are some of the three
	tape     tape      // for them
	oldest   int64     // number of the oldest sample that may still be needed
	least    signal.Current
	most     signal.Current // no rule on an extreme looks at currents from least to most
	began    signal.Instant
	deadline signal.Instant // the earliest of all checks
}

// Begin starts a trial at an instant. What is so at that instant is no event.
func (m *Monitor) Begin(at signal.Instant, lines [signal.LineCount]signal.Level, motor motion.State) {
	m.began = at
	m.begin(lines, motor)
	for _, o := range m.rows {
		o.begin(at, m.word)
	}
	m.tape.clear()
	for _, w := range m.slides {
		w.clear()
	}
	for _, c := range m.heated {
		c.body.(*heat).begin(c.rule.Heating, at)
	}
	m.oldest = 0
	m.review()
}

// Edge takes a change of a line.
func (m *Monitor) Edge(e signal.EdgeSeen) {
	m.Clock(e.Span.Early)
	m.edge(e)
}

// Motor takes a change of the motor.
func (m *Monitor) Motor(c motion.Change) {
	m.Clock(c.Span.Early)
	m.motor(c)
}

// Sample takes a reading of the current. While nothing is near, it is a few
// comparisons for any number of rules.
func (m *Monitor) Sample(s signal.Sample) {
	size := s.Current.Abs()
	if size >= m.lo && size <= m.hi && m.prev.From <= m.deadline && !m.at.known {
		if m.taping {
			// What record does where nothing has to be judged yet, without the calls.
			if t := &m.tape; t.next-t.ripe < batch-1 && t.next-m.oldest < int64(len(t.ring)) {
				kept := &t.ring[t.next&int64(len(t.ring)-1)]
				*kept = s
				kept.Current = size
				t.next++
			} else {
				m.record(s, size)
			}
		}
		m.prev, m.sampled = s, true
		return
	}
	m.slowSample(s, size)
}

// Samples takes readings of the current as Sample does, one after the other.
func (m *Monitor) Samples(s []signal.Sample) {
	for len(s) > 0 {
		if n := m.quiet(s); n > 0 {
			m.prev, m.sampled = s[n-1], true
			s = s[n:]
			continue
		}
		m.Sample(s[0])
		s = s[1:]
	}
}

// quiet says how many samples are none that anything is near, and puts them on the tape:
// what Sample does with such, without looking at what does not change in between.
func (m *Monitor) quiet(s []signal.Sample) int {
	if m.at.known {
		return 0
	}
	t := &m.tape
	if m.taping {
		room := min(batch-1-(t.next-t.ripe), int64(len(t.ring))-(t.next-m.oldest))
		s = s[:max(0, min(room, int64(len(s))))]
	}
	from, least, width, n := m.prev.From, m.lo, uint64(m.hi)-uint64(m.lo), 0
	if m.lo > m.hi {
		return 0
	}
	for i := range s {
		size := s[i].Current.Abs()
		if uint64(size)-uint64(least) > width || from > m.deadline {
			break
		}
		if m.taping {
			kept := t.at(t.next)
			kept.From, kept.To, kept.Current = s[i].From, s[i].To, size
			t.next++
		}
		from = s[i].From
		n++
	}
	return n
}

func (m *Monitor) slowSample(s signal.Sample, size signal.Current) {
	if m.sampled {
		m.Clock(m.prev.From)
	}
	if m.at.known && (!m.sampled || m.at.span != signal.Span{Early: m.prev.From, Late: s.To}) {
		m.flush()
	}
	m.current(s, size)
	if m.taping {
		m.record(s, size)
	}
	m.prev, m.sampled = s, true
	m.review()
}

// Clock says that nothing to come has a span that begins before the instant.
func (m *Monitor) Clock(t signal.Instant) {
	if m.at.known && m.at.span.Early < t {
		m.flush()
	}
	if t <= m.deadline {
		return
	}
	for _, o := range m.rows {
		if t > o.wake {
			o.clock(t)
		}
	}
	m.review()
}

// review works out anew what the fast path compares with.
func (m *Monitor) review() {
	m.lo, m.hi = m.band()
	m.deadline = signal.Never
	for _, o := range m.rows {
		m.deadline = min(m.deadline, o.wake)
	}
	m.reviewExtremes()
	for _, w := range m.slides {
		w.review()
	}
}

// hear tells the rules of facts that have changed.
func (m *Monitor) hear(h heard) {
	for _, o := range m.rows {
		if o.hear(h) {
			m.deadline = min(m.deadline, o.wake)
		}
	}
}

// change lets the rules on readings whose scope it concerns take a change in.
func (m *Monitor) change(at stamp) {
	m.ripen(at.span.Early)
	for _, c := range m.direct {
		if c.looks() {
			c.change(at)
		}
	}
	m.review()
}

// Settled says that nothing to come can change any rule's verdict.
func (m *Monitor) Settled() bool {
	for _, o := range m.rows {
		if !o.settled() || o.all[0].awaits(&m.stream) {
			return false
		}
	}
	return true
}

// Told gives a rule's verdict once nothing to come can change it, and Unsettled until
// then.
func (m *Monitor) Told(rule int) Verdict {
	o := m.rows[rule]
	if !o.settled() || o.all[0].awaits(&m.stream) {
		return Unsettled
	}
	v, _ := o.all[0].settled()
	return v
}

// Pending is the latest instant at which something that is open now will be
// settled if nothing else happens; an instant in the past where nothing is open.
func (m *Monitor) Pending() signal.Instant {
	latest := m.began - 1
	for _, o := range m.rows {
		latest = max(latest, o.pending())
	}
	return latest
}

// Finish ends the trial at an instant and gives one finding a rule, in order.
func (m *Monitor) Finish(end signal.Instant) []Finding {
	m.Clock(end)
	m.flush()
	m.ripen(signal.Never)
	out := make([]Finding, len(m.rows))
	for i, o := range m.rows {
		out[i] = o.finish(end)
		out[i].Rule = i
	}
	return out
}
