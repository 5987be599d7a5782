package main

import (
	"context"
	"fmt"
	"runtime"
	"strings"
	"sync"

	"github.com/spf13/cobra"

	"pintle/drivers/virtual"
	"pintle/rig"
	"pintle/rig/rule"
	"pintle/scenarios"
)

func proveCommand(a *app) *cobra.Command {
	var trials int
	var seed uint64
	c := &cobra.Command{
		Use:   "prove [DIR]",
		Short: "show that the scenarios catch every seeded defect",
		Long: `Performs all scenarios on the virtual bench, once with a sound simulated controller and
once for each defect that it can be made with. A scenario set proves itself when the
sound controller passes everything and no defect escapes.

Exit status: 0 where that is so, 1 where it is not.`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			dir := ""
			if len(args) > 0 {
				dir = args[0]
			}
			return a.prove(c.Context(), dir, trials, seed)
		},
	}
	c.Flags().IntVar(&trials, "trials", 1, "how often each scenario is performed")
	c.Flags().Uint64Var(&seed, "seed", 1, "what the trials' chances are drawn from")
	return c
}

// A proof is the verdict of each scenario for each controller.
type proof struct {
	scenarios []scenarios.Scenario
	rows      []proofRow // the sound controller first
}

type proofRow struct {
	defect   virtual.DefectInfo
	verdicts []rule.Verdict
	reasons  []string
}

// caught says whether any scenario failed, and which.
func (r proofRow) caught() []int {
	var by []int
	for i, v := range r.verdicts {
		if v == rule.Fail {
			by = append(by, i)
		}
	}
	return by
}

func (a *app) prove(ctx context.Context, dir string, trials int, seed uint64) error {
	if trials < 1 {
		return usage(fmt.Errorf("--trials takes a number from 1 up"))
	}
	job, err := loadJob(dir)
	if err != nil {
		return err
	}
	chosen, err := choose(job, nil)
	if err != nil {
		return err
	}
	p := proof{scenarios: chosen}
	for _, d := range append([]virtual.DefectInfo{{Name: "sound", Means: "has no defect"}}, virtual.Defects()...) {
		row, err := proveOne(ctx, job, chosen, d, trials, seed)
		if err != nil {
			return err
		}
		p.rows = append(p.rows, row)
	}
	return p.print(a)
}

// proveOne performs everything with one controller.
func proveOne(ctx context.Context, job *scenarios.Job, chosen []scenarios.Scenario, d virtual.DefectInfo, trials int, seed uint64) (proofRow, error) {
	config := virtualConfig(job)
	config.Controller.Defects = nil
	if d.Name != "sound" {
		config.Controller.Defects = []string{d.Name}
	}
	row := proofRow{defect: d, verdicts: make([]rule.Verdict, len(chosen)), reasons: make([]string, len(chosen))}
	var mu sync.Mutex
	plan := rig.Plan{Job: rigJob(job), Trials: trials, Seed: seed, Workers: runtime.NumCPU(),
		Open: func() (rig.Bench, rig.Facts, error) {
			b, err := virtual.New(config, 0)
			if err != nil {
				return nil, rig.Facts{}, usage(fmt.Errorf("the virtual bench cannot be made from this job: %w", err))
			}
			return b, b.Facts(), nil
		},
		Sink: func(o *rig.Outcome) error {
			mu.Lock()
			defer mu.Unlock()
			was := row.verdicts[o.Scenario]
			if was == rule.Unsettled || rule.Worst(was, o.Verdict) != was {
				row.verdicts[o.Scenario], row.reasons[o.Scenario] = o.Verdict, o.Reason
			}
			return nil
		}}
	for _, s := range chosen {
		plan.Scenarios = append(plan.Scenarios, s.Scenario)
	}
	return row, rig.Run(ctx, plan)
}

// letters of the matrix, each a shape of its own.
var proofLetter = map[rule.Verdict]string{rule.Pass: ".", rule.Fail: "X", rule.Inconclusive: "?", rule.Void: "!", rule.Unsettled: " "}

func (p *proof) print(a *app) error {
	p.matrix(a)
	sound := p.rows[0]
	escaped, wrong := 0, 0
	for i, v := range sound.verdicts {
		if v != rule.Pass {
			wrong++
			fmt.Fprintf(a.out, "the sound controller does not pass %s: %v: %s\n", p.scenarios[i].Name, v, sound.reasons[i])
		}
	}
	for _, r := range p.rows[1:] {
		if len(r.caught()) == 0 {
			escaped++
			fmt.Fprintf(a.out, "the defect %q escapes: a controller that %s fails nothing\n", r.defect.Name, r.defect.Means)
		}
	}
	n := len(p.rows) - 1
	fmt.Fprintf(a.out, "%d of %d defects caught (%.4g %%), and the sound controller passes %d of %d scenarios\n",
		n-escaped, n, 100*float64(n-escaped)/float64(max(1, n)), len(p.scenarios)-wrong, len(p.scenarios))
	if escaped+wrong > 0 {
		return &ended{status: statusFail}
	}
	return nil
}

// matrix prints a row for each controller and a numbered column for each scenario.
func (p *proof) matrix(a *app) {
	wide := 0
	for _, r := range p.rows {
		wide = max(wide, len(r.defect.Name))
	}
	for i, s := range p.scenarios {
		fmt.Fprintf(a.out, "%3d %s\n", i+1, s.Name)
	}
	var tens, ones strings.Builder
	for i := range p.scenarios {
		fmt.Fprintf(&tens, "%2s", strings.TrimPrefix(fmt.Sprint((i+1)/10), "0"))
		fmt.Fprintf(&ones, "%2d", (i+1)%10)
	}
	fmt.Fprintf(a.out, "\n%*s %s\n%*s %s\n", wide, "", tens.String(), wide, "", ones.String())
	for _, r := range p.rows {
		fmt.Fprintf(a.out, "%-*s ", wide, r.defect.Name)
		for _, v := range r.verdicts {
			fmt.Fprintf(a.out, " %s", proofLetter[v])
		}
		fmt.Fprintln(a.out)
	}
	fmt.Fprintf(a.out, "\nX fail   . pass   ? inconclusive   ! void\n\n")
}
