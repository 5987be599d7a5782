package rig

import (
	"context"
	"errors"
	"fmt"
	"hash/fnv"
	"sync"
	"sync/atomic"

	"pintle/rig/rule"
)

// A Plan is all that a run is to perform.
type Plan struct {
	Job       *Job
	Scenarios []Scenario
	Trials    int
	Only      int // number of the one trial to perform of each scenario; 0: all
	Seed      uint64
	Workers   int // side by side; more than one only on a virtual bench
	// Course, where there is one, makes the way of a scenario through its trials: told
	// of each trial, in their order, whether it passed, it says whether the scenario is
	// over. One worker then performs all trials of a scenario.
	Course func() func(passed bool) (over bool)
	Day    func(scenario string, trial int) Day // nil: every day is the ordinary one
	Brief  bool                                 // outcomes come without samples: for those who want nothing but verdicts
	Open   func() (Bench, Facts, error)
	// Witness, where there is one, gives each worker its own, to be told what happens.
	Witness func() Witness
	// Sink takes each outcome as it comes. It may be called from several
	// goroutines at once, and the outcome's trace is the sink's until it returns.
	Sink func(*Outcome) error
}

// task is the trials of a scenario that one worker is to perform.
type task struct{ scenario, first, last int }

// Run performs a plan. It ends early with an error where a bench cannot be
// opened, a scenario cannot be prepared, or the sink refuses an outcome; a fault
// of the bench during a trial makes that trial void. Where the context is done,
// trials under way come out void, those not begun do not come out at all, and the
// error is the context's. An error of a bench that could not be let go of comes in any
// case, as an Unclosed beside it: its supply may be on.
func Run(ctx context.Context, p Plan) error {
	ctx, cancel := context.WithCancelCause(ctx)
	defer cancel(nil)
	var stop atomic.Bool
	defer context.AfterFunc(ctx, func() { stop.Store(true) })()

	tasks := make(chan task)
	var workers sync.WaitGroup
	unclosed := make(chan *Unclosed, max(1, p.Workers))
	for range max(1, p.Workers) {
		workers.Go(func() {
			err := work(ctx, &p, &stop, tasks)
			if u := (*Unclosed)(nil); errors.As(err, &u) {
				unclosed <- u
			}
			if err != nil {
				cancel(err)
			}
		})
	}
	deal(ctx, &p, tasks)
	workers.Wait()
	close(unclosed)
	err := context.Cause(ctx)
	for u := range unclosed {
		if !errors.Is(err, u) {
			err = errors.Join(err, u)
		}
	}
	return err
}

// An Unclosed is why a bench could not be let go of.
type Unclosed struct{ Err error }

func (u *Unclosed) Error() string { return "let go of the bench: " + u.Err.Error() }
func (u *Unclosed) Unwrap() error { return u.Err }

// deal hands out the trials in their order.
func deal(ctx context.Context, p *Plan, tasks chan<- task) {
	defer close(tasks)
	first, last, step := 1, p.Trials, 1
	switch {
	case p.Only > 0:
		first, last = p.Only, p.Only
	case p.Course != nil:
		step = p.Trials
	}
	for s := range p.Scenarios {
		for trial := first; trial <= last; trial += step {
			select {
			case tasks <- task{s, trial, trial + step - 1}:
			case <-ctx.Done():
				return
			}
		}
	}
}

// work performs trials on a bench of its own.
func work(ctx context.Context, p *Plan, stop *atomic.Bool, tasks <-chan task) (err error) {
	bench, facts, err := p.Open()
	if err != nil {
		return fmt.Errorf("open the bench: %w", err)
	}
	defer func() {
		if failed := bench.Close(); failed != nil {
			err = errors.Join(err, &Unclosed{failed})
		}
	}()
	if h, ok := Can[Halter](bench); ok { // the conductor heeds the stop too, unless it hangs
		defer context.AfterFunc(ctx, func() {
			stop.Store(true) // first, so that the conductor does not plan again
			_ = h.Halt()
		})()
	}
	c := NewConductor(p.Job, bench, facts, stop)
	if p.Brief {
		c.Brief()
	}
	if p.Witness != nil {
		c.Attend(p.Witness())
	}
	for t := range tasks {
		if err := p.performAll(c, facts, t, stop); err != nil {
			return err
		}
	}
	return nil
}

// performAll performs the trials of a task, no more than its course needs.
func (p *Plan) performAll(c *Conductor, facts Facts, t task, stop *atomic.Bool) error {
	over := func(bool) bool { return false }
	if p.Course != nil {
		over = p.Course()
	}
	for trial := t.first; trial <= t.last && (trial == t.first || !stop.Load()); trial++ {
		v, err := p.performOne(c, facts, t.scenario, trial)
		if err != nil {
			return err
		}
		if over(v == rule.Pass) {
			break
		}
	}
	return nil
}

func (p *Plan) performOne(c *Conductor, facts Facts, scenario, trial int) (rule.Verdict, error) {
	s := &p.Scenarios[scenario]
	var day Day
	if p.Day != nil {
		day = p.Day(s.Name, trial)
	}
	if s.Steady {
		day = day.Steady()
	}
	if c.witness != nil {
		c.witness.Begin(Beginning{scenario, trial, p.Trials, day})
	}
	o, err := c.Perform(s, Seed(p.Seed, s.Name, trial), day)
	if err != nil {
		return rule.Unsettled, err
	}
	o.Scenario, o.Trial = scenario, trial
	if c.witness != nil {
		c.witness.End(&o)
	}
	if err := p.Sink(&o); err != nil {
		return rule.Unsettled, fmt.Errorf("keep trial %d of %s: %w", trial, s.Name, err)
	}
	if !facts.Virtual && len(o.Troubles) > 0 {
		return rule.Unsettled, &o.Troubles[0]
	}
	return o.Verdict, nil
}

// Seed gives the seed of a trial. It depends on nothing but its arguments, so any
// trial can be repeated alone, and the order of trials does not matter.
func Seed(run uint64, scenario string, trial int) uint64 {
	h := fnv.New64a()
	fmt.Fprintf(h, "%d/%s/%d", run, scenario, trial)
	z := h.Sum64()
	z = (z ^ z>>30) * 0xbf58476d1ce4e5b9
	z = (z ^ z>>27) * 0x94d049bb133111eb
	return z ^ z>>31
}
