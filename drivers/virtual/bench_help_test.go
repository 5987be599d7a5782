package virtual

import (
	"encoding/binary"
	"hash/fnv"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/rig"
	"pintle/rig/signal"
)

const (
	ms     = signal.Instant(time.Millisecond)
	second = signal.Instant(time.Second)
)

func bench(t testing.TB, c Config) *Bench {
	t.Helper()
	b, err := New(c, 0)
	require.NoError(t, err)
	return b
}

// exact is the default bench with a meter that adds nothing of its own and a
// controller whose looks are regular, so that figures can be worked out by hand.
func exact(defects ...string) Config {
	c := DefaultConfig()
	c.Lines = signal.LineSet(1<<signal.LineCount - 2)
	c.Meter.Interval, c.Meter.Window = 10*time.Millisecond, 10*time.Millisecond
	c.Meter.Latency, c.Meter.Spread, c.Meter.Jitter, c.Meter.Noise, c.Meter.Resolution = 0, 0, 0, 0, 1
	c.Controller.LoopJitter = 0
	c.Controller.Defects = defects
	return c
}

func made(at signal.Instant) signal.Edge   { return signal.Edge{At: at, Level: signal.Made} }
func broken(at signal.Instant) signal.Edge { return signal.Edge{At: at, Level: signal.Broken} }

// A stimulus is the whole future of each line.
type stimulus map[signal.Line][]signal.Edge

func (s stimulus) plan(t testing.TB, b *Bench) {
	t.Helper()
	for l := range signal.Line(signal.LineCount) {
		if edges, ok := s[l]; ok {
			require.NoError(t, b.Plan(l, edges))
		}
	}
}

// presses is the remote pressed for 200 ms at each instant.
func presses(at ...signal.Instant) (edges []signal.Edge) {
	for _, t := range at {
		edges = append(edges, made(t), broken(t+200*ms))
	}
	return edges
}

// A turn is one change of what the bridge does.
type turn struct {
	at signal.Instant
	to way
}

// turns performs a stimulus and gives what the bridge did, and the samples.
func turns(t testing.TB, b *Bench, seed uint64, s stimulus, until signal.Instant) ([]turn, []signal.Sample) {
	t.Helper()
	b.Reset(seed)
	s.plan(t, b)
	var list []turn
	var samples []signal.Sample
	now := idle
	for {
		o, err := b.Next(until)
		require.NoError(t, err)
		switch o.Kind {
		case rig.Reached:
			return list, samples
		case rig.Sampled:
			samples = append(samples, o.Sample)
		case rig.Sensed:
			now = idle
			if o.Level == signal.Made {
				now = closing
				if o.Line == signal.DriveOpen {
					now = opening
				}
			}
			list = append(list, turn{o.Span.Early, now})
		}
	}
}

// ways are the turns without their instants.
func ways(list []turn) (w []way) {
	for _, t := range list {
		w = append(w, t.to)
	}
	return w
}

// digest folds every observation up to an instant into one number. Next is asked
// in strides.
func digest(t testing.TB, b *Bench, until signal.Instant, stride time.Duration) uint64 {
	t.Helper()
	h := fnv.New64a()
	for b.Now() < until {
		goal := min(until, b.Now().Add(stride))
		for {
			o, err := b.Next(goal)
			require.NoError(t, err)
			if o.Kind == rig.Reached {
				break
			}
			for _, v := range []int64{int64(o.Kind), int64(o.Line), int64(o.Level), int64(o.Span.Early), int64(o.Span.Late),
				int64(o.Planned), int64(o.Sample.From), int64(o.Sample.To), int64(o.Sample.Current)} {
				var raw [8]byte
				binary.LittleEndian.PutUint64(raw[:], uint64(v))
				h.Write(raw[:])
			}
		}
	}
	return h.Sum64()
}
