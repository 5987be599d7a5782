package signal

import (
	"math"
	"time"
)

// An Instant is a point on the bench's monotonic clock, in nanoseconds from the
// origin of the trial. Before the origin it is negative.
type Instant int64

// Never is later than every instant that can happen.
const Never Instant = math.MaxInt64

// Add gives the instant d later. Never stays Never.
func (t Instant) Add(d time.Duration) Instant {
	if t == Never {
		return Never
	}
	return t + Instant(d)
}

// Sub gives the time from u to t.
func (t Instant) Sub(u Instant) time.Duration { return time.Duration(t - u) }

// String gives the time since the origin, as a duration.
func (t Instant) String() string {
	if t == Never {
		return "never"
	}
	return time.Duration(t).String()
}

// A Span is the earliest and the latest instant at which a thing can have
// happened, both included.
type Span struct{ Early, Late Instant }

// At is the span of a thing whose instant is known exactly.
func At(t Instant) Span { return Span{t, t} }

// Mid is the middle of the span, the best estimate where every instant in it is
// equally likely.
func (s Span) Mid() Instant { return s.Early + (s.Late-s.Early)/2 }

// Width is the time from the earliest to the latest instant.
func (s Span) Width() time.Duration { return s.Late.Sub(s.Early) }

// Before says that s certainly ended before o began, or at the same instant.
func (s Span) Before(o Span) bool { return s.Late <= o.Early }
