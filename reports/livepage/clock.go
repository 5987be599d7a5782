package livepage

import "time"

// A Clock says what time it is. This file is the only place in which the package looks
// at the time.
type Clock func() time.Time

// NewClock is the machine's clock.
func NewClock() Clock { return time.Now }

// ticks gives something to do every so often, until stop is called.
func ticks(every time.Duration) (c <-chan time.Time, stop func()) {
	t := time.NewTicker(every)
	return t.C, t.Stop
}

// deadline is the instant after so long.
func deadline(d time.Duration) time.Time { return time.Now().Add(d) }
