package live

import (
	"errors"
	"testing"
	"testing/synctest"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/drivers/benchtest"
	"pintle/drivers/meter"
	"pintle/rig"
	"pintle/rig/signal"
)

const ms = time.Millisecond

// echo is a meter at the other end of a wire without any length: what is spoken
// arrives at once.
type echo struct {
	clock    Clock
	facts    rig.MeterFacts
	readings chan meter.Reading
	closes   int
}

func newEcho(c Clock, f rig.MeterFacts) *echo {
	f.Most += 20 * ms // a turn, and what a busy computer adds
	return &echo{clock: c, facts: f, readings: make(chan meter.Reading, 10000)}
}

func (e *echo) Readings() <-chan meter.Reading { return e.readings }
func (e *echo) Facts() rig.MeterFacts          { return e.facts }
func (e *echo) Close() error                   { e.closes++; return nil }

func (e *echo) speak(s signal.Sample) error {
	now := e.clock()
	e.readings <- meter.Reading{At: now, Sample: signal.Sample{
		From: now.Add(-e.facts.Most - e.facts.Window), To: now.Add(-e.facts.Least), Current: s.Current,
	}}
	return nil
}

// openFake makes a live bench of the fake and an echo.
func openFake(t testing.TB, set func(*Config, *benchtest.Fake, *echo)) (*Bench, rig.Facts, *benchtest.Fake, *echo) {
	clock := NewClock()
	inner := benchtest.NewFake()
	inner.About.Meter.Interval, inner.About.Meter.Window = 5*ms, 5*ms
	e := newEcho(clock, inner.About.Meter)
	c := Config{Lines: inner, Facts: inner.About, Meter: e, Clock: clock, Speak: e.speak}
	if set != nil {
		set(&c, inner, e)
	}
	b, facts, err := New(c)
	require.NoError(t, err)
	return b, facts, inner, e
}

// The contract in simulated time: the clock is the computer's, and the bubble
// lets it stand still around the test.
func TestContract(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		benchtest.Clauses(t, func() (rig.Bench, rig.Facts) {
			b, f, _, _ := openFake(t, nil)
			return b, f
		})
	})
}

// The contract in real time, with a lateness that a busy computer keeps too.
func TestContractInRealTime(t *testing.T) {
	benchtest.Patiently(t, func(t *testing.T) (rig.Bench, rig.Facts) {
		b, f, _, _ := openFake(t, func(c *Config, inner *benchtest.Fake, e *echo) {
			c.Late = 500 * ms
			e.facts.Most += 500 * ms
		})
		return b, f
	})
}

// next waits for an observation of a kind.
func next(t *testing.T, b *Bench, kind rig.ObservationKind, within time.Duration) rig.Observation {
	t.Helper()
	until := b.Now().Add(within)
	for {
		o, err := b.Next(until)
		require.NoError(t, err)
		if o.Kind == kind {
			return o
		}
		require.NotEqual(t, rig.Reached, o.Kind, "it did not come within %v", within)
	}
}

// An edge keeps the instant at which the lines say it happened, however late it
// is looked at.
func TestEdgesHappenUnwatched(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b, _, inner, _ := openFake(t, nil)
		at := b.Now().Add(20 * ms)
		require.NoError(t, b.Plan(signal.Supply, []signal.Edge{{At: at, Level: signal.Made}}))
		time.Sleep(50 * ms)
		synctest.Wait()
		b.mu.Lock()
		require.Equal(t, signal.Made, inner.Level(signal.Supply), "nobody looked, and the supply is on all the same")
		b.mu.Unlock()
		o := next(t, b, rig.Emitted, ms)
		require.Equal(t, signal.At(at), o.Span)
		require.NoError(t, b.Close())
	})
}

func TestPlanInsideTheLead(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b, _, _, _ := openFake(t, nil)
		time.Sleep(100*ms + 300*time.Microsecond) // between two ticks
		at := b.Now().Add(-10 * ms)
		require.NoError(t, b.Plan(signal.Remote, []signal.Edge{{At: at, Level: signal.Made}}))
		o := next(t, b, rig.Emitted, ms)
		require.Equal(t, at, o.Planned)
		require.Equal(t, signal.At(b.Now()), o.Span, "it happened when it was planned, and not before")
		require.NoError(t, b.Close())
	})
}

// The world goes on while nobody looks: no sample is late for it.
func TestSamplesGoOnUnwatched(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b, f, _, _ := openFake(t, nil)
		time.Sleep(time.Second)
		synctest.Wait()
		var last signal.Sample
		for range 190 {
			s := next(t, b, rig.Sampled, 0).Sample
			if last.To != 0 {
				require.InDelta(t, float64(f.Meter.Interval), float64(s.To-last.To), float64(ms))
			}
			last = s
		}
		require.NoError(t, b.Close())
	})
}

func TestMeterTroubleIsPassedOn(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b, _, _, e := openFake(t, func(c *Config, inner *benchtest.Fake, e *echo) { c.Speak = nil })
		e.readings <- meter.Reading{At: e.clock(), Trouble: &rig.BenchTrouble{Code: meter.Silent, Text: "silent"}}
		require.Equal(t, meter.Silent, next(t, b, rig.Trouble, ms).Trouble.Code)
		e.readings <- meter.Reading{At: e.clock(), Trouble: &rig.BenchTrouble{Code: meter.HungUp, Text: "gone"}}
		close(e.readings)
		require.Equal(t, meter.HungUp, next(t, b, rig.Trouble, ms).Trouble.Code)
		next(t, b, rig.Reached, 10*ms) // said once, not for ever
		require.NoError(t, b.Safe())
		require.Equal(t, meter.HungUp, next(t, b, rig.Trouble, ms).Trouble.Code, "the next trial must hear of it too")
		require.NoError(t, b.Close())
	})
}

func TestMeterClosedUnderTheBench(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b, _, _, e := openFake(t, func(c *Config, inner *benchtest.Fake, e *echo) { c.Speak = nil })
		close(e.readings)
		require.Equal(t, meter.HungUp, next(t, b, rig.Trouble, ms).Trouble.Code)
		require.NoError(t, b.Close())
	})
}

// What the meter had read before the bench was opened is not given.
func TestOldReadings(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b, _, _, _ := openFake(t, func(c *Config, inner *benchtest.Fake, e *echo) {
			c.Speak = nil
			time.Sleep(10 * ms)
			e.readings <- meter.Reading{At: e.clock() - 1, Sample: signal.Sample{Current: 1}}
			e.readings <- meter.Reading{At: e.clock(), Sample: signal.Sample{From: e.clock() - 5, To: e.clock(), Current: 2}}
		})
		s := next(t, b, rig.Sampled, ms).Sample
		require.Equal(t, signal.Sample{From: -5, To: 0, Current: 2}, s, "instants count from the bench's opening")
		require.NoError(t, b.Close())
	})
}

func TestWireFails(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b, _, _, _ := openFake(t, func(c *Config, inner *benchtest.Fake, e *echo) {
			c.Speak = func(signal.Sample) error { return errors.New("broken pipe") }
		})
		o := next(t, b, rig.Trouble, 100*ms)
		require.Equal(t, WireFailed, o.Trouble.Code)
		require.Contains(t, o.Trouble.Text, "broken pipe")
		require.NoError(t, b.Close())
	})
}

// A wire that blocks must not keep the bench from being made safe.
func TestBlockedWire(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		stuck := make(chan struct{})
		b, _, inner, _ := openFake(t, func(c *Config, inner *benchtest.Fake, e *echo) {
			c.Speak = func(signal.Sample) error { <-stuck; return nil }
		})
		require.NoError(t, b.Plan(signal.Supply, []signal.Edge{{Level: signal.Made}}))
		next(t, b, rig.Emitted, 10*ms)
		require.NoError(t, b.Safe())
		require.Equal(t, signal.Broken, inner.Level(signal.Supply))
		require.Contains(t, next(t, b, rig.Trouble, 10*time.Second).Trouble.Text, "blocked")
		require.NoError(t, b.Close())
		close(stuck)
	})
}

// A sample that is spoken too late is taken for a later one, so it must not pass
// unnoticed. The echo's latency leaves 20 ms.
func TestLateWire(t *testing.T) {
	for _, c := range []struct {
		late  time.Duration
		wrong bool
	}{{20 * ms, false}, {20*ms + 1, true}} {
		synctest.Test(t, func(t *testing.T) {
			wait := c.late
			b, _, _, _ := openFake(t, func(conf *Config, inner *benchtest.Fake, e *echo) {
				inner.About.Meter.Least = inner.About.Meter.Most // so that a sample's stretch tells its delivery
				e.facts.Least = 0
				conf.Facts = inner.About
				conf.Speak = func(s signal.Sample) error {
					time.Sleep(wait - conf.Clock().Sub(s.To.Add(inner.About.Meter.Least)))
					wait = 0
					return e.speak(s)
				}
			})
			troubles := 0
			for until := b.Now().Add(200 * ms); ; {
				o, err := b.Next(until)
				require.NoError(t, err)
				if o.Kind == rig.Trouble {
					require.Equal(t, WireLate, o.Trouble.Code)
					require.Contains(t, o.Trouble.Text, "leaves 20ms")
					troubles++
				}
				if o.Kind == rig.Reached {
					break
				}
			}
			require.Equal(t, c.wrong, troubles == 1, "%d troubles", troubles)
			require.NoError(t, b.Close())
		})
	}
}

// A rehearsal on a meter whose stated latency does not cover the simulated one's
// would give samples of the wrong time from the start.
func TestRehearsalThatCannotBe(t *testing.T) {
	clock, inner := NewClock(), benchtest.NewFake()
	spoken := inner.About.Meter
	for _, c := range []struct {
		change func(*rig.MeterFacts)
		says   string
	}{
		{func(f *rig.MeterFacts) { f.Most = spoken.Most }, "leaves nothing for the wire"},
		{func(f *rig.MeterFacts) { f.Least = spoken.Least + 1 }, "shortest latency"},
		{func(f *rig.MeterFacts) { f.Window = spoken.Window - 1 }, "window"},
	} {
		e := newEcho(clock, spoken)
		c.change(&e.facts)
		conf := Config{Lines: inner, Facts: inner.About, Meter: e, Clock: clock, Speak: e.speak}
		_, _, err := New(conf)
		require.ErrorContains(t, err, c.says)
		conf.Speak = nil // a real meter need not be like the simulated one
		b, _, err := New(conf)
		require.NoError(t, err)
		require.NoError(t, b.Close())
	}
}

// The wire is let finish before whoever holds it is closed: a word may be on its
// way.
func TestCloseLetsTheWireFinish(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		var inner *benchtest.Fake
		closes := -1
		b, _, _, _ := openFake(t, func(c *Config, f *benchtest.Fake, e *echo) {
			inner = f
			c.Speak = func(signal.Sample) error {
				time.Sleep(50 * ms)
				closes = inner.Closes
				return nil
			}
		})
		time.Sleep(20 * ms)
		require.NoError(t, b.Close())
		require.Zero(t, closes, "closed while a word was on its way")
		require.Equal(t, 1, inner.Closes)
	})
}

// failing is a bench whose lines fail.
type failing struct{ *benchtest.Fake }

func (failing) Next(signal.Instant) (rig.Observation, error) {
	return rig.Observation{}, errors.New("no answer from the hands")
}

func TestLinesFail(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b, _, inner, e := openFake(t, func(c *Config, inner *benchtest.Fake, e *echo) { c.Lines = failing{inner} })
		_, err := b.Next(signal.Never)
		require.ErrorContains(t, err, "no answer from the hands")
		require.Error(t, b.Plan(signal.Supply, nil))
		require.NoError(t, b.Safe(), "it is made safe all the same")
		require.NoError(t, b.Close())
		require.Equal(t, 1, inner.Closes)
		require.Equal(t, 1, e.closes)
	})
}

// An error on the way to safety is told.
func TestUnsafe(t *testing.T) {
	synctest.Test(t, func(t *testing.T) {
		b, _, inner, _ := openFake(t, nil)
		inner.Failed = errors.New("relay stuck")
		require.ErrorContains(t, b.Safe(), "relay stuck")
		require.ErrorContains(t, b.Close(), "relay stuck")
	})
}

func TestNewRefuses(t *testing.T) {
	_, _, err := New(Config{Lead: -1, Late: -1})
	for _, what := range []string{"lines", "meter", "clock", "lead", "lateness"} {
		require.ErrorContains(t, err, what)
	}
}
