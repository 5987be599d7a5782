package fitness_test

import (
	"sync"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/drivers/live"
	"pintle/drivers/meter"
	"pintle/drivers/virtual"
	"pintle/rig"
	"pintle/rig/fitness"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// A wire is a meter at the other end of a wire that takes no time, and now and then
// loses a reading.
type wire struct {
	clock    live.Clock
	facts    rig.MeterFacts
	readings chan meter.Reading
	loses    int
	mu       sync.Mutex
	spoken   int
}

func (w *wire) Readings() <-chan meter.Reading { return w.readings }
func (w *wire) Facts() rig.MeterFacts          { return w.facts }
func (w *wire) Close() error                   { return nil }

func (w *wire) speak(s signal.Sample) error {
	w.mu.Lock()
	defer w.mu.Unlock()
	if w.spoken++; w.spoken == w.loses {
		return nil
	}
	now := w.clock()
	w.readings <- meter.Reading{At: now, Sample: signal.Sample{
		From: now.Add(-w.facts.Most - w.facts.Window), To: now.Add(-w.facts.Least), Current: s.Current,
	}}
	return nil
}

// A bench whose time is the computer's, in a bubble in which that is simulated: found
// fit but for the reading that was lost on the wire.
func TestLiveBench(t *testing.T) {
	for _, c := range []struct {
		loses  int
		failed []string
	}{{0, nil}, {1500, []string{"meter: samples"}}} {
		synctest.Test(t, func(t *testing.T) {
			v := config()
			v.Meter.Interval, v.Meter.Window = 5*ms, 5*ms
			inner, err := virtual.New(v, 3)
			require.NoError(t, err)
			clock := live.NewClock()
			w := &wire{clock: clock, facts: inner.Facts().Meter, readings: make(chan meter.Reading, 10_000), loses: c.loses}
			w.facts.Most += 2 * ms // the lines are asked every millisecond
			b, facts, err := live.New(live.Config{Lines: inner, Facts: inner.Facts(), Meter: w, Clock: clock, Speak: w.speak})
			require.NoError(t, err)
			s := fitness.Setup{Facts: facts, Identity: "x", Expected: "x", Lateness: 5 * time.Second, Rest: 5 * time.Second, Steps: 10, Drops: 2}
			s.Step.Follows = fitness.Range{Most: 1} // the switch is simulated, and known
			s.Guard = conductors(b)
			r := run(t, b, s)
			require.Equal(t, c.failed, r.Failed())
			guard, _ := r.Result("guard")
			require.Equal(t, rule.Pass, guard.Verdict, guard.Reason)
			require.NoError(t, b.Close())
		})
	}
}
