package main

import (
	"context"
	"fmt"
	"runtime"
	"slices"
	"time"

	"github.com/spf13/cobra"

	"pintle/rig"
	"pintle/rig/wording"
	"pintle/scenarios"
	"pintle/scenarios/builtin"
	"pintle/scenarios/yamlfile"
)

func checkCommand(a *app) *cobra.Command {
	var everyRule, bench, quick, watch bool
	c := &cobra.Command{
		Use:   "check [DIR]",
		Short: "check every file, and say what this bench cannot decide",
		Long: `Checks every file of a job folder and tells all mistakes at once. Where there are none it
works out for every rule the best uncertainty that this bench can reach, says which claims
it cannot decide and what would, and how long a run of all scenarios will take: it
rehearses each on the virtual bench with a sound simulated controller.

--bench puts the bench itself to the test instead, before it judges anyone: it drives the
lines and lets the motor run. Keep clear, and have a way to cut the power at hand.

--watch checks the files again whenever one of them changes, and tells the mistakes, for
a window beside the editor. It rehearses nothing. Ctrl-C ends it.`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			dir := ""
			if len(args) > 0 {
				dir = args[0]
			}
			if watch {
				return a.watch(c.Context(), dir)
			}
			if bench {
				return a.checkBench(c.Context(), dir, quick)
			}
			return a.check(c.Context(), dir, everyRule)
		},
	}
	c.Flags().BoolVar(&bench, "bench", false, "put the bench itself to the test; this drives the lines and the motor")
	c.Flags().BoolVar(&quick, "quick", false, "with --bench: some seconds of each part instead of a minute")
	c.Flags().BoolVar(&watch, "watch", false, "check the files again whenever one of them changes")
	c.Flags().BoolVar(&everyRule, "rules", false, "tell the uncertainty of every rule, not only the least certain of each claim")
	c.MarkFlagsMutuallyExclusive("watch", "bench")
	c.MarkFlagsMutuallyExclusive("watch", "rules")
	return c
}

func (a *app) check(ctx context.Context, dir string, everyRule bool) error {
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
			fmt.Fprintf(a.out, "  %s: %s\n", s.Name, s.NotApplicable)
		}
	}
	undecidable, err := a.feasibility(job, applicable, everyRule)
	if err != nil {
		return err
	}
	if err := a.duration(ctx, job, applicable); err != nil {
		return err
	}
	if err := a.soundness(job); err != nil {
		return err
	}
	if undecidable > 0 {
		return &ended{status: statusInconclusive}
	}
	call := "pintle run"
	if dir != "" {
		call += " " + quoteArg(dir)
	}
	a.next(call, call+" normal-cycle")
	return nil
}

// soundness warns of rules that prove nothing, and of declared claims that are not sound
// for the gate. The bench holds the controller to them all the same.
func (a *app) soundness(job *scenarios.Job) error {
	for _, why := range slices.Concat(mistakable(job), vacuous(job), unsure(job), tripping(job)) {
		a.paragraph("warning: " + why)
	}
	_, proposals, err := derived(job)
	if err != nil {
		return err
	}
	for _, why := range unsoundClaims(job, proposals) {
		a.paragraph("warning: " + why + "; pintle derive shows the reasoning")
	}
	return nil
}

// warn tells whoever starts a run what looks like a mistake in the job's files.
func (a *app) warn(all []string) {
	for _, why := range all {
		fmt.Fprintf(a.err, "pintle: warning: %s\n", why)
	}
}

// mistakable is what in the files may not have been meant.
func mistakable(job *scenarios.Job) []string { return append(misspelled(job), replaced(job)...) }

// replaced tells of scenarios of the job's own that are performed in place of built-in ones,
// whose names they have.
func replaced(job *scenarios.Job) (why []string) {
	built := map[string]bool{}
	for _, f := range builtin.All() {
		built[f.Name] = true
	}
	for _, s := range job.Scenarios {
		if built[s.Name] && !s.BuiltIn {
			why = append(why, fmt.Sprintf("scenarios/%s.yaml takes the place of the built-in scenario of that name: call it otherwise if both are to be performed", s.Name))
		}
	}
	return why
}

// misspelled tells of claims that look like a well-known one which is not made. A builder
// may claim what he likes, so it is no mistake; but the scenarios for the well-known claim
// would be left out in silence.
func misspelled(job *scenarios.Job) (why []string) {
	var missing []string
	for _, k := range scenarios.KnownClaims {
		if _, made := job.Controller.Claim(k.Name); !made {
			missing = append(missing, k.Name)
		}
	}
	for _, c := range job.Controller.Values {
		if _, known := scenarios.KnownClaimNamed(c.Name); known {
			continue
		}
		if near, ok := yamlfile.Nearest(c.Name, missing); ok {
			why = append(why, fmt.Sprintf("no built-in scenario asks for the claim %q: did you mean %q?", c.Name, near))
		}
	}
	return why
}

// duration tells how long a run of one trial each will take, and what it saves
// that the bench goes on as soon as what it waits for has come.
func (a *app) duration(ctx context.Context, job *scenarios.Job, all []scenarios.Scenario) error {
	if len(all) == 0 {
		return nil
	}
	expected, longest, err := expectedTime(ctx, job, all)
	if err != nil {
		return err
	}
	fmt.Fprintf(a.out, "one trial of each takes about %s of bench time, by a rehearsal\n", wording.Time(expected.Round(time.Second)))
	fmt.Fprintf(a.out, "with a sound controller, %s less than if each wait took its longest\n", wording.Time((longest - expected).Round(time.Second)))
	if anyPace(job) {
		fmt.Fprintln(a.out, "simulated as this bench is, it gets through that far faster than a clock does")
	}
	return nil
}

// expectedTime is the bench time of one trial of each with a sound controller, and what
// it would be if every step took as long as it may. Both have the rest before each trial.
func expectedTime(ctx context.Context, job *scenarios.Job, all []scenarios.Scenario) (expected, longest time.Duration, err error) {
	w, err := newProver(job, all, 1, 1)
	if err != nil {
		return 0, 0, err
	}
	took, which := make([]time.Duration, len(all)), make([]int, len(all))
	for i := range which {
		which[i] = i
	}
	if _, err := w.perform(ctx, nil, which, took, runtime.NumCPU()); err != nil {
		return 0, 0, err
	}
	for i := range all {
		expected += restOf(job) + took[i]
		longest += restOf(job) + max(took[i], longestTrial(job, &all[i].Scenario))
	}
	return expected, longest, nil
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
