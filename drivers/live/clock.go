package live

import (
	"time"

	"pintle/rig/signal"
)

// A Clock gives the present instant.
type Clock func() signal.Instant

// NewClock is the machine's monotonic clock from now on. It is the only place in
// which this package looks at the time.
func NewClock() Clock {
	began := time.Now()
	return func() signal.Instant { return signal.Instant(time.Since(began)) }
}
