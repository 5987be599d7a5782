package live

import (
	"time"

	"pintle/rig/signal"
)

// A Clock gives the present instant. It never runs backwards, and may be asked by
// several goroutines at once.
type Clock func() signal.Instant

// NewClock is the machine's monotonic clock from now on; setting the date does not
// move it. This file is the only place in which the package looks at the time.
func NewClock() Clock {
	began := time.Now()
	return func() signal.Instant { return signal.Instant(time.Since(began)) }
}

// An alarm tells one goroutine that an instant has come.
type alarm struct {
	clock Clock
	timer *time.Timer
}

func (c Clock) newAlarm() alarm {
	t := time.NewTimer(time.Hour)
	t.Stop()
	return alarm{c, t}
}

// set sets the alarm. The channel gives one value when the instant has come;
// setting the alarm again takes back what it had not given yet.
func (a alarm) set(at signal.Instant) <-chan time.Time {
	a.timer.Reset(at.Sub(a.clock()))
	return a.timer.C
}

func (a alarm) stop() { a.timer.Stop() }
