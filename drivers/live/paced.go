package live

import (
	"time"

	"pintle/rig"
	"pintle/rig/signal"
)

// Paced lets a bench whose time is simulated go no faster than the clock, times a
// factor, so that people can watch. What is seen on it, and when on its own time, is
// the same to the byte: it is only told later.
func Paced(b rig.Bench, clock Clock, factor float64) rig.Bench {
	return &paced{Bench: b, clock: clock, factor: factor, alarm: clock.newAlarm(), from: clock(), base: b.Now()}
}

// ahead is how far simulated time may be before the clock: a system is not asked to
// wait for less.
const ahead = 2 * time.Millisecond

// behind is how far it may fall behind before what was lost is not caught up with.
const behind = 250 * time.Millisecond

type paced struct {
	rig.Bench
	clock      Clock
	factor     float64
	alarm      alarm
	from, base signal.Instant // these two instants, of clock and bench, are one
}

// Next waits for the instant of what the bench saw.
func (p *paced) Next(until signal.Instant) (rig.Observation, error) {
	o, err := p.Bench.Next(until)
	due := p.from.Add(time.Duration(float64(p.Bench.Now().Sub(p.base)) / p.factor))
	switch early := due.Sub(p.clock()); {
	case early > ahead:
		<-p.alarm.set(due)
	case early < -behind:
		p.from, p.base = p.clock(), p.Bench.Now()
	}
	return o, err
}

// Reset begins anew; time goes on from here.
func (p *paced) Reset(seed uint64) {
	if b, ok := rig.Can[rig.Reseeder](p.Bench); ok {
		b.Reset(seed)
	}
	p.from, p.base = p.clock(), p.Bench.Now()
}

// Unwrap gives the bench that is paced.
func (p *paced) Unwrap() rig.Bench { return p.Bench }

// Close closes the bench.
func (p *paced) Close() error {
	p.alarm.stop()
	return p.Bench.Close()
}
