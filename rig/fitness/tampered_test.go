package fitness_test

import (
	"context"
	"errors"
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/drivers/virtual"
	"pintle/rig"
	"pintle/rig/fitness"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// A tampered bench is a virtual one with something wrong between it and whoever
// checks it.
type tampered struct {
	*virtual.Bench
	change func(t *tampered, o *rig.Observation) bool // false: it is not given
	queue  []rig.Observation

	safes int
	safe  error
	on    bool           // what the supply was last seen at
	last  signal.Current // what the meter last read
	count int
}

func (t *tampered) Next(until signal.Instant) (rig.Observation, error) {
	for {
		if len(t.queue) > 0 {
			o := t.queue[0]
			t.queue = t.queue[1:]
			return o, nil
		}
		o, err := t.Bench.Next(until)
		if err != nil {
			return o, err
		}
		if o.Kind == rig.Emitted && o.Line == signal.Supply {
			t.on = o.Level == signal.Made
		}
		if t.change == nil || o.Kind == rig.Reached || t.change(t, &o) {
			return o, nil
		}
	}
}

func (t *tampered) Safe() error {
	t.safes++
	return errors.Join(t.Bench.Safe(), t.safe)
}

// loop reads remote and beam back by the inputs for the controller's drive.
func loop(t *tampered, o *rig.Observation) bool {
	if o.Kind == rig.Emitted && o.Line == signal.Remote {
		t.queue = append(t.queue, rig.Observation{Kind: rig.Sensed, Line: signal.DriveOpen, Level: o.Level, Span: o.Span})
	}
	if o.Kind == rig.Emitted && o.Line == signal.Beam {
		t.queue = append(t.queue, rig.Observation{Kind: rig.Sensed, Line: signal.DriveClose, Level: o.Level.Not(), Span: o.Span})
	}
	return true
}

var pairs = []fitness.Pair{{Output: signal.Remote, Input: signal.DriveOpen}, {Output: signal.Beam, Input: signal.DriveClose, Inverted: true}}

func sampled(change func(t *tampered, s *signal.Sample) bool) func(*tampered, *rig.Observation) bool {
	return func(t *tampered, o *rig.Observation) bool {
		if o.Kind != rig.Sampled {
			return loop(t, o)
		}
		t.count++
		return change(t, &o.Sample)
	}
}

// Every tampering must be found in the part that it belongs to, and nowhere else but
// in what hangs on that.
func TestTamperingIsFound(t *testing.T) {
	for _, c := range []struct {
		name   string
		config func(*virtual.Config)
		facts  func(*rig.Facts)
		change func(*tampered, *rig.Observation) bool
		setup  func(*fitness.Setup)
		failed []string
		reason string
	}{
		{name: "nothing"},
		{name: "an edge in a hundred is late", failed: []string{"edges on time", "edges on time in bursts"}, reason: "later than the bench allows",
			facts: func(f *rig.Facts) { f.Late = ms },
			change: func(t *tampered, o *rig.Observation) bool {
				if o.Kind == rig.Emitted && o.Line == signal.OpenLimit {
					if t.count++; t.count%100 == 0 {
						o.Span.Late = o.Span.Late.Add(2 * ms)
					}
				}
				return loop(t, o)
			}},
		{name: "late in bursts alone", failed: []string{"edges on time in bursts"}, reason: "later than the bench allows",
			facts: func(f *rig.Facts) { f.Late = ms },
			change: func(t *tampered, o *rig.Observation) bool {
				if o.Kind == rig.Emitted && o.Line == signal.OpenLimit {
					if o.Planned.Sub(signal.Instant(t.count)) < ms {
						o.Span.Late = o.Span.Late.Add(1100 * time.Microsecond)
					}
					t.count = int(o.Planned)
				}
				return loop(t, o)
			}},
		{name: "an edge is early", failed: []string{"edges on time", "edges on time in bursts"}, reason: "before their time",
			change: func(t *tampered, o *rig.Observation) bool {
				if o.Kind == rig.Emitted && o.Line == signal.OpenLimit {
					if t.count++; t.count%100 == 0 {
						o.Span = signal.At(o.Span.Early - 2)
					}
				}
				return loop(t, o)
			}},
		{name: "edges are merged", failed: []string{"edges on time in bursts"}, reason: "never happened: ",
			change: func(t *tampered, o *rig.Observation) bool {
				if o.Kind == rig.Emitted && o.Line == signal.OpenLimit {
					near := o.Planned.Sub(signal.Instant(t.count)) < 60*time.Microsecond
					t.count = int(o.Planned)
					return !near
				}
				return loop(t, o)
			}},
		{name: "a line is stuck", failed: []string{"line remote"}, reason: "drive-open did not become broken",
			change: func(t *tampered, o *rig.Observation) bool {
				if o.Kind == rig.Emitted && o.Line == signal.Remote && o.Level == signal.Broken {
					return true
				}
				return loop(t, o)
			}},
		{name: "a line is never switched", failed: []string{"line beam"}, reason: "never said that it was made",
			change: func(t *tampered, o *rig.Observation) bool {
				return !(o.Kind == rig.Emitted && o.Line == signal.Beam) && loop(t, o)
			}},
		{name: "two lines touch", failed: []string{"line remote"}, reason: "drive-close moved as well",
			change: func(t *tampered, o *rig.Observation) bool {
				if o.Kind == rig.Emitted && o.Line == signal.Remote {
					t.queue = append(t.queue, rig.Observation{Kind: rig.Sensed, Line: signal.DriveClose, Level: o.Level, Span: o.Span})
				}
				return loop(t, o)
			}},
		{name: "one sample in 900 is lost", failed: []string{"meter: samples"}, reason: "did not come",
			change: sampled(func(t *tampered, s *signal.Sample) bool { return t.count%900 != 0 })},
		{name: "a single sample is lost", failed: []string{"meter: samples"}, reason: "1 did not come",
			change: sampled(func(t *tampered, s *signal.Sample) bool { return t.count != 9000 })},
		{name: "the meter is noisy", failed: []string{"meter: noise"}, reason: "noisier",
			config: func(c *virtual.Config) { c.Meter.Noise = 40_000 }, facts: func(f *rig.Facts) { f.Meter.Noise = 20_000 }},
		{name: "the meter is silent", failed: []string{"meter: samples"}, reason: "silent",
			change: sampled(func(*tampered, *signal.Sample) bool { return false })},
		{name: "the meter is stuck at nothing", failed: []string{"meter: noise"}, reason: "dead, or stuck",
			change: sampled(func(_ *tampered, s *signal.Sample) bool { s.Current = 0; return true })},
		{name: "the meter sees nothing but noise", failed: []string{"supply relay"}, reason: "no current flows, or the meter does not see it",
			change: sampled(func(_ *tampered, s *signal.Sample) bool { s.Current %= 20_000; return true })},
		{name: "the zero is off", failed: []string{"meter: zero"}, reason: "where there is none",
			change: sampled(func(_ *tampered, s *signal.Sample) bool { s.Current += 50_000; return true })},
		{name: "coarse steps", failed: []string{"meter: resolution"}, reason: "coarser",
			config: func(c *virtual.Config) { c.Meter.Resolution = 20_000 }, facts: func(f *rig.Facts) { f.Meter.Resolution = 10_000 }},
		{name: "the range is too small", failed: []string{"meter: range"}, reason: "end of its range",
			config: func(c *virtual.Config) { c.Meter.Range = 20 * signal.Ampere },
			setup:  func(s *fitness.Setup) { s.Protect.MostCurrent = 100 * signal.Ampere }},
		{name: "the interval is off", failed: []string{"meter: samples", "meter: interval"}, reason: "were due",
			config: func(c *virtual.Config) { c.Meter.Interval, c.Meter.Window = 1030*time.Microsecond, ms },
			facts:  func(f *rig.Facts) { f.Meter.Interval = ms }},
		{name: "arrivals swing", failed: []string{"meter: jitter", "meter: latency"}, reason: "more than the stated latency allows",
			config: func(c *virtual.Config) { c.Meter.Spread = 0 },
			facts:  func(f *rig.Facts) { f.Meter.Least, f.Meter.Most = 2950*time.Microsecond, 3050*time.Microsecond }},
		{name: "the latency is longer than stated", failed: []string{"meter: latency"}, reason: "is stated",
			facts: func(f *rig.Facts) { f.Meter.Least, f.Meter.Most = f.Meter.Least-2*ms, f.Meter.Most-2*ms }},
		{name: "the latency is shorter than stated", failed: []string{"meter: latency"}, reason: "is stated",
			facts: func(f *rig.Facts) { f.Meter.Least, f.Meter.Most = f.Meter.Least+2*ms, f.Meter.Most+2*ms }},
		{name: "the relay does not drop", failed: []string{"supply relay"}, reason: "the relay does not drop",
			change: sampled(func(t *tampered, s *signal.Sample) bool {
				if t.on {
					t.last = s.Current
				} else if t.last.Abs() > signal.Ampere {
					s.Current = t.last
				}
				return true
			})},
		{name: "the relay drops late", failed: []string{"supply relay"}, reason: "too long",
			change: sampled(func(t *tampered, s *signal.Sample) bool {
				if t.on {
					t.last, t.count = s.Current, 0
				} else if t.last.Abs() > signal.Ampere && t.count < 150 {
					s.Current = t.last
				}
				return true
			})},
		{name: "a polled meter loses a sample", failed: []string{"meter: samples", "meter: jitter"}, reason: "1 did not come",
			facts: func(f *rig.Facts) {
				f.Meter.Steady, f.Meter.Least, f.Meter.Most = false, 2900*time.Microsecond, 3500*time.Microsecond
			},
			config: func(c *virtual.Config) { c.Meter.Spread, c.Meter.Jitter = 0, 0 },
			change: sampled(func(t *tampered, s *signal.Sample) bool { return t.count != 8000 && t.count != 8001 })},
		{name: "the guard sleeps", failed: []string{"guard"}, reason: "did not take the supply off",
			setup: func(s *fitness.Setup) {
				guarded := s.Guard
				s.Guard = func(most signal.Current) (rig.Bench, func() error, error) { return guarded(100 * most) }
			}},
		{name: "the guard cannot be set", failed: []string{"guard"}, reason: "no such thing",
			setup: func(s *fitness.Setup) {
				s.Guard = func(signal.Current) (rig.Bench, func() error, error) { return nil, nil, errors.New("no such thing") }
			}},
		{name: "the wrong meter", failed: []string{"meter: identity"}, reason: "meter 13",
			setup: func(s *fitness.Setup) { s.Identity = "meter 13" }},
		{name: "the bench complains", failed: []string{"troubles"}, reason: "lost its place",
			change: func(t *tampered, o *rig.Observation) bool {
				if t.count++; t.count == 100 {
					t.queue = append(t.queue, rig.Observation{Kind: rig.Trouble, Span: o.Span, Trouble: &rig.BenchTrouble{Code: "lost", Text: "the bench lost its place"}})
				}
				return loop(t, o)
			}},
		{name: "the bench complains while a current flows", failed: []string{"troubles"}, reason: "lost its place",
			change: func(t *tampered, o *rig.Observation) bool {
				if t.on {
					if t.count++; t.count == 500 {
						t.queue = append(t.queue, rig.Observation{Kind: rig.Trouble, Span: o.Span, Trouble: &rig.BenchTrouble{Code: "lost", Text: "the bench lost its place"}})
					}
				}
				return loop(t, o)
			}},
		{name: "the bench complains all the time", failed: []string{"supply relay", "troubles"}, reason: "lost its place",
			change: func(t *tampered, o *rig.Observation) bool {
				if t.on {
					if t.count++; t.count%500 == 0 {
						t.queue = append(t.queue, rig.Observation{Kind: rig.Trouble, Span: o.Span, Trouble: &rig.BenchTrouble{Code: "lost", Text: "the bench lost its place"}})
					}
				}
				return loop(t, o)
			}},
		{name: "more current than it protects against", failed: []string{"supply relay"}, reason: "guard took the supply off",
			setup: func(s *fitness.Setup) { s.Protect.MostCurrent = 5 * signal.Ampere }},
	} {
		t.Run(c.name, func(t *testing.T) {
			config := config()
			if c.config != nil {
				c.config(&config)
			}
			b, s := open(t, config)
			s.Pairs = pairs
			s.Facts.Lines |= signal.SetOf(signal.DriveOpen, signal.DriveClose)
			bench := &tampered{Bench: b, change: loop}
			if c.facts != nil {
				c.facts(&s.Facts)
			}
			if c.change != nil {
				bench.change = c.change
			}
			bench.change = restamp(bench.change, s.Facts.Meter)
			s.Guard = conductors(bench)
			if c.setup != nil {
				c.setup(&s)
			}
			r := run(t, bench, s)
			require.Equal(t, c.failed, r.Failed())
			require.Positive(t, bench.safes)
			require.False(t, level(bench), "the supply is off")
			if len(c.failed) == 0 {
				require.NoError(t, r.Refuses())
				return
			}
			part, _ := r.Result(c.failed[0])
			require.Contains(t, part.Reason, c.reason)
			require.NotEmpty(t, part.Advice)
			require.Equal(t, rule.Fail, r.Verdict)
			require.ErrorIs(t, r.Refuses(), fitness.ErrUnfit)
			require.ErrorContains(t, r.Refuses(), c.failed[0])
		})
	}
}

// restamp makes the samples those of a bench that believes the facts.
func restamp(change func(*tampered, *rig.Observation) bool, m rig.MeterFacts) func(*tampered, *rig.Observation) bool {
	return func(t *tampered, o *rig.Observation) bool {
		if o.Kind == rig.Sampled {
			o.Sample.From, o.Sample.To = t.Now().Add(-m.Most-m.Window), t.Now().Add(-m.Least)
		}
		return change(t, o)
	}
}

// level asks the bench itself whether the supply is on: an edge to the level that it
// has is dropped.
func level(t *tampered) (on bool) {
	ask := func(at signal.Instant) {
		for {
			o, err := t.Bench.Next(at)
			if err != nil || o.Kind == rig.Reached {
				return
			}
			on = on || o.Kind == rig.Emitted && o.Line == signal.Supply && o.Planned == at
		}
	}
	ask(t.Now() + 1) // what Safe has planned happens now, or right after an edge at now
	on = false
	at := t.Now() + 1
	_ = t.Bench.Plan(signal.Supply, []signal.Edge{{At: at, Level: signal.Broken}})
	ask(at)
	return on
}

// Broken off at any instant, the check leaves the bench safe, and says that it is not
// finished.
func TestBrokenOff(t *testing.T) {
	for after := 10; after < 40_000; after = after*5/4 + 1 {
		b, s := open(t, config())
		s.Lateness, s.Rest, s.Steps = time.Second, time.Second, 2
		ctx, cancel := context.WithCancel(t.Context())
		bench := &tampered{Bench: b, change: func(t *tampered, _ *rig.Observation) bool {
			if t.count++; t.count == after {
				cancel()
			}
			return true
		}}
		s.Guard = conductors(bench)
		r, err := fitness.Run(ctx, bench, s)
		require.False(t, level(bench), "the supply is off")
		if bench.count < after {
			require.NoError(t, err)
			break
		}
		require.ErrorIs(t, err, context.Canceled)
		require.Contains(t, []rule.Verdict{rule.Void}, r.Verdict)
		require.NotEmpty(t, r.Aborted)
		require.Error(t, r.Refuses())
		cancel()
	}
}

func TestPanicLeavesTheBenchSafe(t *testing.T) {
	b, s := open(t, config())
	bench := &tampered{Bench: b, change: func(t *tampered, o *rig.Observation) bool {
		if t.on {
			panic("a bug")
		}
		return true
	}}
	require.PanicsWithValue(t, "a bug", func() { _, _ = fitness.Run(t.Context(), bench, s) })
	require.False(t, level(bench))
}

func TestSafeThatFailsIsSaid(t *testing.T) {
	b, s := open(t, config())
	broken := errors.New("the lines are gone")
	bench := &tampered{Bench: b, safe: broken}
	r, err := fitness.Run(t.Context(), bench, s)
	require.ErrorIs(t, err, broken)
	require.Contains(t, r.Failed(), "safe at the end")
	require.Error(t, r.Refuses())
}

// A relay that takes longer every time: the least is the first one's, the most the
// last one's.
func TestDropsDiffer(t *testing.T) {
	b, s := open(t, config())
	s.Drops = 3
	drops, left := 0, 0
	bench := &tampered{Bench: b, change: func(t *tampered, o *rig.Observation) bool {
		switch {
		case o.Kind == rig.Emitted && o.Line == signal.Supply && o.Level == signal.Broken:
			drops++
			left = 20 * drops
		case o.Kind == rig.Sampled && t.on:
			t.last = o.Sample.Current
		case o.Kind == rig.Sampled && left > 0 && drops <= 3:
			left--
			o.Sample.Current = t.last
		}
		return true
	}}
	s.Guard = conductors(bench)
	r := run(t, bench, s)
	part, _ := r.Result("supply relay")
	require.Equal(t, rule.Pass, part.Verdict, part.Reason)
	require.InDelta(t, float64(20*ms), float64(r.Measured.Drop.Least), float64(6*ms))
	require.InDelta(t, float64(60*ms), float64(r.Measured.Drop.Most), float64(6*ms))
}
