package main

import (
	"context"
	"fmt"
	"runtime"
	"time"

	"github.com/spf13/cobra"

	"pintle/rig"
	"pintle/rig/rule"
	"pintle/scenarios"
)

func checkCommand(a *app) *cobra.Command {
	return &cobra.Command{
		Use:   "check [DIR]",
		Short: "check every file, and say what this meter cannot decide",
		Long: `Checks every file of a job folder and tells all mistakes at once. Where there are none it
says which rules the meter cannot decide, because their limit is no longer than the doubt
in a measured time, and how long a run of all scenarios will take: it rehearses each on the
virtual bench with a sound simulated controller.`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			dir := ""
			if len(args) > 0 {
				dir = args[0]
			}
			return a.check(c.Context(), dir)
		},
	}
}

func (a *app) check(ctx context.Context, dir string) error {
	job, err := loadJob(dir)
	if err != nil {
		return err
	}
	if _, _, err := opener(job); err != nil {
		return err
	}
	fmt.Fprintf(a.out, "%s\n", job.Title)
	applicable := job.Applicable()
	fmt.Fprintf(a.out, "%d files and %d scenarios are in order", len(job.Files), len(job.Scenarios))
	if n := len(job.Scenarios) - len(applicable); n > 0 {
		fmt.Fprintf(a.out, "; %d of them do not apply", n)
	}
	fmt.Fprintln(a.out)
	for _, s := range job.Scenarios {
		if s.NotApplicable != "" {
			fmt.Fprintf(a.out, "  %s does not apply: %s\n", s.Name, s.NotApplicable)
		}
	}
	undecidable := a.feasibility(job, applicable)
	if err := a.duration(ctx, job, applicable); err != nil {
		return err
	}
	if err := a.soundness(job); err != nil {
		return err
	}
	if undecidable > 0 {
		return &ended{status: statusInconclusive}
	}
	return nil
}

// soundness warns of declared claims that are not sound for the gate. The bench
// holds the controller to them all the same.
func (a *app) soundness(job *scenarios.Job) error {
	proposals, err := derived(job)
	if err != nil {
		return err
	}
	for _, why := range unsoundClaims(job, proposals) {
		a.paragraph("warning: " + why + "; pintle derive shows the reasoning")
	}
	return nil
}

// feasibility tells the doubt in a time that this meter measures, and the rules
// whose limits are within it.
func (a *app) feasibility(job *scenarios.Job, all []scenarios.Scenario) int {
	doubt := doubtOf(job)
	fmt.Fprintf(a.out, "a time between an edge and the motor's answer is known to ± %v with this meter\n", doubt)
	n := 0
	for i := range all {
		for _, r := range all[i].Rules {
			if r.Limit > 0 && r.Limit <= 2*doubt && timed(r.Pattern) {
				n++
				fmt.Fprintf(a.out, "  %s cannot be decided: %q has a limit of %v\n    a meter with a shorter interval or a steadier delay could\n", r.Source, r.Name, r.Limit)
			}
		}
	}
	return n
}

func timed(p rule.Pattern) bool { return p >= rule.MinimumDuration && p <= rule.BoundedInvariance }

// doubtOf is half the span of a change that the meter sees: from the start of one
// reading to the end of the next, widened by the doubt in the meter's delay.
func doubtOf(job *scenarios.Job) time.Duration {
	m := &job.Bench.Meter
	return (m.Window.Value + m.Interval.Value + m.Latest() - m.Least.Value) / 2
}

// duration tells how long a run of one trial each will take, and what it saves
// that the bench goes on as soon as what it waits for has come.
func (a *app) duration(ctx context.Context, job *scenarios.Job, all []scenarios.Scenario) error {
	if len(all) == 0 {
		return nil
	}
	w, err := newProver(job, all, 1, 1)
	if err != nil {
		return err
	}
	took, which := make([]time.Duration, len(all)), make([]int, len(all))
	for i := range which {
		which[i] = i
	}
	if _, err := w.perform(ctx, nil, which, took, runtime.NumCPU()); err != nil {
		return err
	}
	var expected, longest time.Duration
	for i := range all {
		expected += took[i]
		longest += max(took[i], longestTrial(job, &all[i].Scenario))
	}
	fmt.Fprintf(a.out, "one trial of each takes about %v of bench time by a rehearsal with a sound controller\n", expected.Round(time.Second))
	fmt.Fprintf(a.out, "  %v less than if every wait took as long as it may\n", (longest - expected).Round(time.Second))
	return nil
}

// longestTrial is how long a trial takes if every step takes as long as it may.
func longestTrial(job *scenarios.Job, s *rig.Scenario) time.Duration {
	d := time.Duration(0)
	for _, step := range s.Script {
		switch step.Kind {
		case rig.Wait:
			d += step.For
		case rig.Await:
			d += step.Within
		}
	}
	tail := time.Duration(0)
	for _, r := range s.Rules {
		tail = max(tail, r.Limit)
	}
	repeat := time.Duration(max(s.Repeat, 1))
	return min(job.Bench.Settle.Value+repeat*d+tail, repeat*job.Bench.Longest.Value)
}
