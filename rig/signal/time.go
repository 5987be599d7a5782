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

// Farthest is the instant that is farthest from the origin of all that are reckoned with:
// some 36 years. The time between any two of them still has room.
const Farthest Instant = 1 << 60

// Within says that the instant is one that is reckoned with.
func (t Instant) Within() bool { return t <= Farthest && t >= -Farthest }

// Add gives the instant d later. Never stays Never, and what would come after it is Never.
func (t Instant) Add(d time.Duration) Instant {
	if t == Never || d > 0 && t > Never-Instant(d) {
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

// Within says that the span lies where instants are reckoned with, its end no earlier than
// its beginning.
func (s Span) Within() bool { return s.Early.Within() && s.Late.Within() && s.Early <= s.Late }

// Width is the time from the earliest to the latest instant.
func (s Span) Width() time.Duration { return s.Late.Sub(s.Early) }

// Before says that s certainly ended before o began, or at the same instant.
func (s Span) Before(o Span) bool { return s.Late <= o.Early }
