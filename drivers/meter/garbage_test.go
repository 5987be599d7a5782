package meter

import (
	"runtime"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/rig/signal"
)

// An endless port is a line on which a meter says the same over and over.
type endless struct {
	line []byte
	from int
}

func (e *endless) Read(p []byte) (int, error) {
	p = p[:min(len(p), 64)]
	for i := range p {
		p[i] = e.line[(e.from+i)%len(e.line)]
	}
	e.from += len(p)
	return len(p), nil
}

func (*endless) Write(p []byte) (int, error)        { return len(p), nil }
func (*endless) SetReadTimeout(time.Duration) error { return nil }
func (*endless) Close() error                       { return nil }

// From the port to whoever takes it no reading leaves garbage: the hands do not collect
// any.
func TestAReadingLeavesNoGarbage(t *testing.T) {
	c := config("text")
	c.Interval, c.Window, c.Most = ms, ms, time.Hour
	const warm, counted = 200, 20_000
	var now signal.Instant
	var before, after runtime.MemStats
	got, done := 0, make(chan struct{})
	m, err := on(c, &endless{line: []byte("00.00100A\n")}, func() signal.Instant { now += 100_000; return now }, nil, func(Reading) {
		switch got++; got {
		case warm:
			runtime.ReadMemStats(&before)
		case warm + counted:
			runtime.ReadMemStats(&after)
			close(done)
		}
	})
	require.NoError(t, err)
	<-done
	require.NoError(t, m.Close())
	require.Less(t, after.Mallocs-before.Mallocs, uint64(counted/100), "by %d readings", counted)
}
