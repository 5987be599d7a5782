package benchtest

import (
	"testing"
	"time"

	"github.com/stretchr/testify/require"

	"pintle/rig"
	"pintle/rig/signal"
)

func TestFakeKeepsTheContract(t *testing.T) {
	Contract(t, func(*testing.T) (rig.Bench, rig.Facts) {
		f := NewFake()
		return f, f.About
	})
}

// A clause that was broken because the machine stood still holds when it is tried again.
func TestAClauseIsTriedAgain(t *testing.T) {
	opened := map[string]int{}
	stoodStill := func() func() time.Duration { return func() time.Duration { return still } }
	patiently(t, func(t *testing.T) (rig.Bench, rig.Facts) {
		b := &broken{Fake: NewFake()}
		if opened[t.Name()]++; opened[t.Name()] == 1 {
			b.next = when(rig.Emitted, func(f *Fake, o *rig.Observation) { f.now++; o.Span = signal.At(f.now) })
		}
		return b, b.About
	}, stoodStill)
	require.Equal(t, 2, opened[t.Name()+"/edges_come_in_order_and_on_time"])
}

// A bench with few lines and a slow meter keeps it as well.
func TestSmallFakeKeepsTheContract(t *testing.T) {
	Contract(t, func(*testing.T) (rig.Bench, rig.Facts) {
		f := NewFake()
		f.About.Lines = signal.SetOf(signal.Remote, signal.Supply, signal.DriveOpen)
		f.About.Meter.Interval, f.About.Meter.Window, f.About.Meter.Most = 100*time.Millisecond, 20*time.Millisecond, 40*time.Millisecond
		return f, f.About
	})
}

// broken is the fake with one promise broken.
type broken struct {
	*Fake
	plan  func(*Fake, signal.Line, []signal.Edge) error
	next  func(*Fake, signal.Instant) (rig.Observation, error)
	now   func(*Fake) signal.Instant
	safe  func(*Fake) error
	close func(*Fake) error
}

func (b *broken) Plan(l signal.Line, future []signal.Edge) error {
	if b.plan != nil {
		return b.plan(b.Fake, l, future)
	}
	return b.Fake.Plan(l, future)
}

func (b *broken) Next(until signal.Instant) (rig.Observation, error) {
	if b.next != nil {
		return b.next(b.Fake, until)
	}
	return b.Fake.Next(until)
}

func (b *broken) Now() signal.Instant {
	if b.now != nil {
		return b.now(b.Fake)
	}
	return b.Fake.Now()
}

func (b *broken) Safe() error {
	if b.safe != nil {
		return b.safe(b.Fake)
	}
	return b.Fake.Safe()
}

func (b *broken) Close() error {
	if b.close != nil {
		return b.close(b.Fake)
	}
	return b.Fake.Close()
}

// when changes an observation of one kind on its way.
func when(kind rig.ObservationKind, change func(*Fake, *rig.Observation)) func(*Fake, signal.Instant) (rig.Observation, error) {
	return func(f *Fake, until signal.Instant) (rig.Observation, error) {
		o, err := f.Next(until)
		if err == nil && o.Kind == kind {
			change(f, &o)
		}
		return o, err
	}
}

// Every clause must notice a bench that breaks its promise.
func TestContractNotices(t *testing.T) {
	for _, c := range []struct {
		clause string
		fault  string
		bench  broken
	}{
		{"starts safe", "supply on at the start", broken{Fake: func() *Fake { f := NewFake(); f.level[signal.Supply] = signal.Made; return f }()}},
		{"facts make sense", "no supply", broken{Fake: func() *Fake { f := NewFake(); f.About.Lines = signal.SetOf(signal.Remote); return f }()}},
		{"edges come in order and on time", "reported early", broken{next: when(rig.Emitted, func(f *Fake, o *rig.Observation) { o.Span.Early-- })}},
		{"edges come in order and on time", "late", broken{next: when(rig.Emitted, func(f *Fake, o *rig.Observation) { f.now++; o.Span = signal.At(f.now) })}},
		{"edges come in order and on time", "wrong level", broken{next: when(rig.Emitted, func(f *Fake, o *rig.Observation) { o.Level = o.Level.Not() })}},
		{"an edge already due comes at once", "planned instant taken for the true one", broken{next: when(rig.Emitted, func(f *Fake, o *rig.Observation) { o.Span = signal.At(o.Planned) })}},
		{"an edge already due comes at once", "dropped", broken{plan: func(f *Fake, l signal.Line, future []signal.Edge) error {
			if len(future) > 0 && future[0].At < f.now {
				future = nil
			}
			return f.Plan(l, future)
		}}},
		{"an edge to the present level is dropped", "given", broken{next: func() func(f *Fake, until signal.Instant) (rig.Observation, error) {
			var twice *rig.Observation
			return func(f *Fake, until signal.Instant) (rig.Observation, error) {
				if o := twice; o != nil {
					twice = nil
					return *o, nil
				}
				o, err := f.Next(until)
				if o.Kind == rig.Emitted && o.Level == signal.Made {
					copied := o
					twice = &copied
				}
				return o, err
			}
		}()}},
		{"planning again replaces the future", "added to", broken{plan: func(f *Fake, l signal.Line, future []signal.Edge) error {
			f.future[l] = append(f.future[l], future...)
			return nil
		}}},
		{"planning nothing cancels", "ignored", broken{plan: func(f *Fake, l signal.Line, future []signal.Edge) error {
			if len(future) == 0 {
				return nil
			}
			return f.Plan(l, future)
		}}},
		{"the bench keeps a copy of a plan", "kept the caller's", broken{plan: func(f *Fake, l signal.Line, future []signal.Edge) error {
			f.future[l] = future
			return nil
		}}},
		{"a line that is not driven cannot be planned", "accepted", broken{plan: func(f *Fake, l signal.Line, future []signal.Edge) error {
			if f.About.Lines.Has(l) {
				return f.Plan(l, future)
			}
			return nil
		}}},
		{"reached comes once, at the instant asked for", "another instant", broken{next: when(rig.Reached, func(f *Fake, o *rig.Observation) { o.Span = signal.At(f.now + 1) })}},
		{"reached comes once, at the instant asked for", "too soon", broken{next: func(f *Fake, until signal.Instant) (rig.Observation, error) {
			if f.now < until {
				f.now++
				return rig.Observation{Kind: rig.Reached, Span: signal.At(until)}, nil
			}
			return f.Next(until)
		}}},
		{"an instant gone by is reached at once", "waits", broken{next: when(rig.Reached, func(f *Fake, o *rig.Observation) { f.now += 1000 })}},
		{"samples follow each other without a gap", "every fifth lost", broken{next: func(f *Fake, until signal.Instant) (rig.Observation, error) {
			o, err := f.Next(until)
			if o.Kind == rig.Sampled && f.taken%5 == 0 {
				return f.Next(until)
			}
			return o, err
		}}},
		{"samples follow each other without a gap", "no samples", broken{Fake: func() *Fake { f := NewFake(); f.taken = 1 << 40; return f }()}},
		{"samples follow each other without a gap", "a stretch without the doubt", broken{next: when(rig.Sampled, func(f *Fake, o *rig.Observation) { o.Sample.From = o.Sample.To - 1 })}},
		{"samples follow each other without a gap", "out of range", broken{next: when(rig.Sampled, func(f *Fake, o *rig.Observation) { o.Sample.Current = f.About.Meter.Range + 1 })}},
		{"safe releases all lines and forgets every plan", "supply stays on", broken{safe: func(f *Fake) error {
			supply := f.level[signal.Supply]
			err := f.Safe()
			f.level[signal.Supply] = supply
			return err
		}}},
		{"safe releases all lines and forgets every plan", "plans stay", broken{safe: func(f *Fake) error {
			f.level = [signal.LineCount]signal.Level{}
			for l := range f.future {
				if len(f.future[l]) > 0 {
					f.future[l][0].Level = signal.Made
				}
			}
			return nil
		}}},
		{"safe may be called at any time", "not after close", broken{safe: func(f *Fake) error {
			if f.closed {
				return errClosed
			}
			return f.Safe()
		}}},
		{"close ends everything", "goes on", broken{close: func(f *Fake) error { return f.Safe() }}},
		{"close ends everything", "not twice", broken{close: func(f *Fake) error {
			if f.closed {
				return errClosed
			}
			return f.Close()
		}}},
		{"reached comes once, at the instant asked for", "time runs backwards", broken{now: func() func(f *Fake) signal.Instant {
			n := 0
			return func(f *Fake) signal.Instant { n++; return f.now - signal.Instant(n%2) }
		}()}},
	} {
		t.Run(c.clause+"/"+c.fault, func(t *testing.T) {
			if c.bench.Fake == nil {
				c.bench.Fake = NewFake()
			}
			text := failure(t, c.clause, &c.bench)
			t.Log(text)
			require.NotEmpty(t, text, "the clause did not notice")
		})
	}
}

func failure(t *testing.T, name string, b *broken) string {
	for _, c := range clauses {
		if c.name == name {
			return tried(c, b, b.About)
		}
	}
	t.Fatalf("no clause %q", name)
	return ""
}
