package main

import (
	"errors"
	"fmt"
	"hash/fnv"
	"time"

	"pintle/reports"
	"pintle/rig"
	"pintle/rig/reliability"
	"pintle/rig/share"
	"pintle/scenarios"
)

// A demonstration is what the trials are to show, and how many there are of it.
type demonstration struct {
	asked  bool
	plan   reliability.Plan
	fixed  int                     // trials of the plan
	test   *reliability.Sequential // nil: the trials are all performed
	trials int                     // of each scenario, at most
}

// demonstrate reads the flags. Without a demonstration it is as many trials as were
// asked for.
func demonstrate(o runOptions) (demonstration, error) {
	d := demonstration{trials: o.trials}
	if o.demonstrate == "" {
		if o.sequential || o.allow > 0 {
			return d, usage(errors.New("--sequential and --allow need --demonstrate, such as --demonstrate 95/95"))
		}
		return d, nil
	}
	plan, err := reliability.ParsePlan(o.demonstrate)
	if err != nil {
		return d, usage(fmt.Errorf("--demonstrate: %w", err))
	}
	plan.Allowed = o.allow
	if d, err = planned(plan, o.sequential); err != nil {
		return d, usage(fmt.Errorf("--demonstrate: %w", err))
	}
	if o.trial > 0 {
		return demonstration{trials: 1}, nil // one trial of it shows nothing
	}
	return d, nil
}

// planned works out what a plan takes.
func planned(plan reliability.Plan, sequential bool) (d demonstration, err error) {
	d.asked, d.plan = true, plan
	if d.fixed, err = d.plan.Trials(); err != nil {
		return d, err
	}
	d.trials = d.fixed
	if sequential {
		if d.test, err = d.plan.Sequential(reliability.Options{}); err != nil {
			return d, fmt.Errorf("sequential: %w", err)
		}
		d.trials = d.test.Most
	}
	return d, nil
}

// demonstrationOf is the demonstration of a run that was recorded.
func demonstrationOf(run *reports.Run) (demonstration, error) {
	r := run.Demonstration
	if r == nil {
		return demonstration{trials: run.Trials}, nil
	}
	return planned(reliability.Plan{Reliability: float64(r.Reliability) / 1e6, Confidence: float64(r.Confidence) / 1e6, Allowed: r.Allowed}, r.Sequential)
}

// course makes the way of one scenario through its trials: told whether each
// passed, it says whether the scenario is over.
func (d demonstration) course() func() func(passed bool) bool {
	if d.test == nil {
		return nil
	}
	return func() func(bool) bool {
		c, err := d.test.Start()
		if err != nil {
			panic(err) // Sequential gave it
		}
		return func(passed bool) bool { return c.Observe(passed) != reliability.Continue }
	}
}

// record is the demonstration as it goes into the record.
func (d demonstration) record() *reports.Demonstration {
	if !d.asked {
		return nil
	}
	r := &reports.Demonstration{Reliability: share.Of(d.plan.Reliability), Confidence: share.Of(d.plan.Confidence),
		Allowed: d.plan.Allowed, Trials: d.fixed, Sequential: d.test != nil}
	r.Method = fmt.Sprintf("Success-run theorem in its classic form, without prior knowledge: %d trials of each scenario, of which at most %d may fail. "+
		"Every trial that is not a pass counts as failed. After the first, each trial's day is drawn independently of the others.", d.fixed, d.plan.Allowed)
	if d.test != nil {
		r.Method = fmt.Sprintf("Sequential test (Wald) of a failure probability of %s against %s, with a risk of %s of accepting the second and %s of rejecting the first, "+
			"ended at %d trials; a fixed number of trials without allowed failures would be %d. Every trial that is not a pass counts as failed, and the days are drawn independently of each other. %s",
			percent(d.test.P1), percent(d.test.P0), percent(d.test.Beta), percent(d.test.Alpha), d.test.Most, d.fixed, d.expected())
	}
	return r
}

// expected tells how many trials the sequential test takes on average, worked out
// exactly.
func (d demonstration) expected() string {
	at := func(p float64) string {
		o, err := d.test.At(p)
		if err != nil {
			return "?"
		}
		return fmt.Sprintf("%.1f", o.Expected)
	}
	return fmt.Sprintf("On average it takes %s trials of a controller that never fails, %s of one at the first probability and %s of one at the second.",
		at(0), at(d.test.P1), at(d.test.P0))
}

// shown sums up what a scenario's trials show, and how its demonstration stands.
func (d demonstration) shown(s *reports.Scenario) *reports.Shown {
	confidence := int64(reports.DefaultConfidence)
	if d.asked {
		confidence = share.Of(d.plan.Confidence)
	}
	shown, ok := reports.Show(s, confidence)
	if !ok || len(s.Trials) < 2 && !d.asked {
		return nil
	}
	switch {
	case !d.asked:
	case d.test != nil:
		shown.State = d.replay(s)
	default:
		shown.State, _ = d.plan.State(shown.Trials, shown.Failures)
	}
	return &shown
}

// replay follows the sequential test through the trials that were made.
func (d demonstration) replay(s *reports.Scenario) reliability.State {
	c, err := d.test.Start()
	if err != nil {
		return reliability.Continue
	}
	for i := range s.Trials {
		c.Observe(passed(s.Trials[i].Verdict))
	}
	return c.State()
}

// longestWait is by how much a script may begin later from trial to trial, so that
// its presses meet every phase of a real controller's loop. It is longer than the
// loop of any such controller (common practice, no source).
const longestWait = 50 * time.Millisecond

// A nature gives a trial what it varies, each as a proportion.
type nature interface {
	Value(trial int, d reliability.Dimension) float64
}

// days gives each trial its day. The first trial of each scenario is on the ordinary
// one, and so is any trial that is performed alone. The others are spread evenly over
// what nature varies, which finds more in few trials; or, for a demonstration, drawn
// independently of each other, since that is what its confidence is for.
func days(job *scenarios.Job, seed uint64, independent bool) func(scenario string, trial int) rig.Day {
	v := &job.Gate.Varies
	far := rig.Varies{Wait: longestWait, Battery: v.Battery.Value, Load: v.Load.Value, Kelvin: v.Cold.Value}
	return func(scenario string, trial int) rig.Day {
		if trial == 1 {
			return rig.Day{}
		}
		h := fnv.New64a()
		fmt.Fprintf(h, "%d/%s", seed, scenario)
		var nature nature = reliability.Sequence(h.Sum64())
		if independent {
			nature = reliability.Chance(h.Sum64())
		}
		var u [rig.DayDimensions]float64
		for i, d := range [rig.DayDimensions]reliability.Dimension{reliability.PressPhase, reliability.MeterPhase, reliability.PressInstant,
			reliability.Battery, reliability.Load, reliability.Temperature} {
			u[i] = nature.Value(trial-2, d)
		}
		return far.Day(u)
	}
}
