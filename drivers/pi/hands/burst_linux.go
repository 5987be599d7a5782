package hands

import "time"

// A burst is edges that follow each other closely, as those of a bouncing contact do.
// Between them the hands go round without sleeping: to wake takes a processor that has
// gone to rest longer than the edge may be late. All that a turn heeds is heeded meanwhile.
type burst struct {
	alone  bool  // there is no other processor: the meter's reader needs this one
	latest int64 // when the latest edge was emitted
	began  int64 // 0: there is none
}

const (
	burstGap = int64(600 * time.Microsecond)
	// No longer than this in one burst: the kernel stops a thread of real-time priority
	// that takes a processor for itself.
	burstAwake = int64(300 * time.Millisecond)
)

// goesOn says whether to stay awake for the next edge.
func (b *burst) goesOn(now, next int64) bool {
	if now-b.latest > burstGap || next-now > burstGap {
		b.began = 0
		return false
	}
	if b.began == 0 {
		b.began = now
	}
	return !b.alone && now-b.began <= burstAwake
}
