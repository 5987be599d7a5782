package virtual

import (
	"time"

	"pintle/rig"
	"pintle/rig/signal"
)

// A meter averages the motor's current over its windows and hands each reading
// over after its latency.
type meter struct {
	c           MeterConfig
	facts       rig.MeterFacts
	perAmpere   float64 // resolution steps in an ampere
	perCharge   float64 // resolution steps that an ampere-second over one window comes to
	perByteSum  float64 // resolution steps of noise in one unit of byteSum
	most        int64   // range in resolution steps
	noise, late random

	latency   int64          // of this trial, in nanoseconds
	at        signal.Instant // the next beginning or end of a window
	averaging bool           // a window is running and ends then
	delivered signal.Instant // when the latest reading reaches the bench
	next      signal.Instant // when the oldest waiting reading does; Never if none waits
	waiting   []reading      // a ring; its length is a power of two
	head      int
	count     int
}

type reading struct {
	delivered signal.Instant
	current   signal.Current
}

// Facts are what the bench says of the meter.
func (c MeterConfig) Facts() rig.MeterFacts {
	return rig.MeterFacts{
		Name: "virtual meter", Steady: true,
		Interval: c.Interval, Window: c.Window,
		Least: c.Latency - c.Spread - c.Jitter, Most: c.Latency + c.Spread + c.Jitter,
		Resolution: c.Resolution, Noise: c.Noise, Range: c.Range,
	}
}

func newMeter(c MeterConfig) meter {
	m := meter{c: c, facts: c.Facts()}
	m.perAmpere = 1e6 / float64(c.Resolution)
	if c.Window > 0 {
		m.perCharge = m.perAmpere / (float64(c.Window) * 1e-9)
	}
	m.perByteSum = float64(c.Noise) / float64(c.Resolution) / byteSumSigma
	m.most = int64(c.Range / c.Resolution)
	size := 1
	for size < int(m.facts.Most/c.Interval)+2 {
		size *= 2
	}
	m.waiting = make([]reading, size)
	return m
}

// stretches are the times that the motor is asked to go on for most often.
func (m *meter) stretches() [2]time.Duration {
	return [2]time.Duration{m.c.Window, m.c.Interval - m.c.Window}
}

func (m *meter) reset(seed uint64) {
	m.noise, m.late = random(mix(seed^0x6e6f697365)), random(mix(seed^0x6c617465))
	spread := below(m.late.next(), 2*m.c.Spread+1)
	m.latency = int64(m.c.Latency - m.c.Spread + spread)
	m.at = signal.Instant(below(m.late.next(), m.c.Interval))
	m.averaging, m.head, m.count = false, 0, 0
	m.delivered, m.next = 0, signal.Never
}

// boundary begins or ends the window that is due. The motor stands at m.at.
func (m *meter) boundary(motor *motor) {
	switch {
	case m.c.Window == 0:
		m.read(float64(motor.metered() * m.perAmpere))
		m.at = m.at.Add(m.c.Interval)
	case !m.averaging:
		motor.take()
		m.averaging = true
		m.at = m.at.Add(m.c.Window)
	case m.c.Window == m.c.Interval: // this end is the next beginning
		m.read(float64(motor.take() * m.perCharge))
		m.at = m.at.Add(m.c.Window)
	default:
		m.read(float64(motor.take() * m.perCharge))
		m.averaging = false
		m.at = m.at.Add(m.c.Interval - m.c.Window)
	}
}

// read adds noise to a mean in resolution steps, rounds it, stops it at the
// range, and sends it off.
func (m *meter) read(steps float64) {
	if m.perByteSum > 0 {
		steps += float64((float64(byteSum(m.noise.next())) - byteSumMean) * m.perByteSum)
	}
	// Lifted above zero, cutting off rounds down whatever the sign: noise makes the
	// sign a coin's toss, and a branch on it costs more than all the rest.
	const lift = 1 << 40
	n := int64(steps+(lift+0.5)) - lift
	m.send(signal.Current(max(-m.most, min(n, m.most))) * m.c.Resolution)
}

// send works out when the bench will have the reading. None overtakes another.
func (m *meter) send(current signal.Current) {
	delay := m.latency
	if m.c.Jitter > 0 {
		delay += int64(below(m.late.next(), 2*m.c.Jitter+1) - m.c.Jitter)
	}
	m.delivered = max(m.at+signal.Instant(delay), m.delivered)
	m.waiting[(m.head+m.count)&(len(m.waiting)-1)] = reading{m.delivered, current}
	m.count++
	if m.count == 1 {
		m.next = m.delivered
	}
}

// deliver takes the oldest waiting reading. What the bench may know of its window
// is only what the facts say of the latency.
func (m *meter) deliver() signal.Sample {
	r := m.waiting[m.head]
	m.head = (m.head + 1) & (len(m.waiting) - 1)
	m.count--
	m.next = signal.Never
	if m.count > 0 {
		m.next = m.waiting[m.head].delivered
	}
	return signal.Sample{
		From:    r.delivered.Add(-m.facts.Most - m.facts.Window),
		To:      r.delivered.Add(-m.facts.Least),
		Current: r.current,
	}
}
