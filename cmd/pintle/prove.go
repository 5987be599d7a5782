package main

import (
	"context"
	"fmt"
	"runtime"
	"sync"
	"time"

	"github.com/spf13/cobra"

	"pintle/drivers/virtual"
	"pintle/reports"
	"pintle/reports/proof"
	"pintle/rig"
	"pintle/rig/rule"
	"pintle/scenarios"
)

type proveOptions struct {
	trials   int
	sound    int
	seed     uint64
	shortest bool
	json     bool
}

func proveCommand(a *app) *cobra.Command {
	var o proveOptions
	c := &cobra.Command{
		Use:   "prove [DIR]",
		Short: "show that the scenarios catch every seeded defect",
		Long: `Performs all scenarios on the virtual bench, once with a sound simulated controller, once
for each defect that it can be made with, and once for each pair of defects that come
together. A scenario set proves itself when the sound controller passes everything and
no defect escapes.

It prints what each scenario says of each defect, the cheapest scenario that catches each,
and what only one scenario catches. With --shortest it prints the smallest part of the
scenarios that catches as much. A scenario of more than five minutes is performed only
where nothing shorter has caught the defect. What --json prints has a schema: pintle
schema proof.

Exit status: 0 where everything is caught, 1 where it is not.`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			dir := ""
			if len(args) > 0 {
				dir = args[0]
			}
			return a.prove(c.Context(), dir, o)
		},
	}
	c.Flags().IntVar(&o.trials, "trials", 1, "how often each scenario is performed")
	c.Flags().IntVar(&o.sound, "sound", 0, "how often the sound controller performs each, if more often than the others")
	c.Flags().Uint64Var(&o.seed, "seed", 1, "what the trials' chances are drawn from")
	c.Flags().BoolVar(&o.shortest, "shortest", false, "print the smallest part of the scenarios that catches as much")
	c.Flags().BoolVar(&o.json, "json", false, "print as JSON")
	return c
}

func (a *app) prove(ctx context.Context, dir string, o proveOptions) error {
	if o.trials < 1 {
		return usage(fmt.Errorf("--trials takes a number from 1 up"))
	}
	if o.sound < 0 {
		return usage(fmt.Errorf("--sound takes a number from 1 up, or 0 for as many as --trials says"))
	}
	job, err := loadJob(dir)
	if err != nil {
		return err
	}
	chosen, err := choose(job, nil)
	if err != nil {
		return err
	}
	p, err := prove(ctx, job, chosen, o)
	if err != nil {
		return err
	}
	if err := a.printProof(p, o); err != nil {
		return fmt.Errorf("print the proof: %w", err)
	}
	if !p.Holds() {
		return &ended{status: statusFail}
	}
	return nil
}

func (a *app) printProof(p *proof.Proof, o proveOptions) error {
	switch {
	case o.json:
		return reports.WriteJSON(a.raw, p.Tell())
	case o.shortest:
		return p.PrintShortest(a.out)
	}
	return p.Print(a.out, columns(a.out))
}

// tooLong is the bench time of a trial above which a scenario is performed only
// for the defects that nothing shorter catches.
const tooLong = 5 * time.Minute

// A prover performs scenarios with one controller after another.
type prover struct {
	job       *scenarios.Job
	conducted *rig.Job
	chosen    []scenarios.Scenario
	trials    int
	seed      uint64
}

func newProver(job *scenarios.Job, chosen []scenarios.Scenario, trials int, seed uint64) (*prover, error) {
	conducted, err := rigJob(job)
	if err != nil {
		return nil, err
	}
	return &prover{job, conducted, chosen, trials, seed}, nil
}

// prove performs everything with every controller, several controllers at once.
func prove(ctx context.Context, job *scenarios.Job, chosen []scenarios.Scenario, o proveOptions) (*proof.Proof, error) {
	w, err := newProver(job, chosen, max(o.trials, o.sound), o.seed)
	if err != nil {
		return nil, err
	}
	rows, defects := seeded()
	p := &proof.Proof{Rows: rows}
	var all, brief, lengthy []int
	for i := range chosen {
		all = append(all, i)
		p.Scenarios = append(p.Scenarios, proof.Scenario{Name: chosen[i].Name, Group: chosen[i].Group})
	}
	took := make([]time.Duration, len(chosen))
	if p.Sound, err = w.perform(ctx, nil, all, took, runtime.NumCPU()); err != nil {
		return nil, err
	}
	w.trials = o.trials
	for i := range all {
		p.Scenarios[i].Took = took[i]
		if took[i] > tooLong {
			lengthy = append(lengthy, i)
		} else {
			brief = append(brief, i)
		}
	}
	err = eachAtOnce(len(p.Rows), func(i int) error { return w.row(ctx, &p.Rows[i], defects[i], brief, lengthy) })
	return p, err
}

// row performs the brief scenarios with a controller, and the lengthy ones one by one
// until its defect is caught.
func (w *prover) row(ctx context.Context, r *proof.Row, defects []string, brief, lengthy []int) error {
	cells, err := w.perform(ctx, defects, brief, nil, 1)
	if err != nil {
		return err
	}
	r.Cells = cells
	for _, s := range lengthy {
		if len(r.By()) > 0 {
			return nil
		}
		cells, err := w.perform(ctx, defects, []int{s}, nil, 1)
		if err != nil {
			return err
		}
		r.Cells[s] = cells[s]
	}
	return nil
}

// seeded lists the controllers with a defect, then those with a pair, and the
// defects of each.
func seeded() (rows []proof.Row, defects [][]string) {
	for _, d := range virtual.Defects() {
		rows = append(rows, proof.Row{Name: d.Name, Means: d.Means})
		defects = append(defects, []string{d.Name})
	}
	for _, p := range virtual.Pairs() {
		rows = append(rows, proof.Row{Name: p.Defects[0] + ", " + p.Defects[1], Means: p.Why, Pair: true})
		defects = append(defects, p.Defects[:])
	}
	return rows, defects
}

// eachAtOnce calls do for every number below n, as many at once as there are
// processors, and gives the first error.
func eachAtOnce(n int, do func(i int) error) error {
	var workers sync.WaitGroup
	next := make(chan int)
	errs := make(chan error, n)
	for range runtime.NumCPU() {
		workers.Go(func() {
			for i := range next {
				if err := do(i); err != nil {
					errs <- err
				}
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	workers.Wait()
	close(errs)
	return <-errs
}

// perform performs some of the scenarios with a controller that has the defects,
// and gives the worst verdict of each, and where asked for its bench time.
func (w *prover) perform(ctx context.Context, defects []string, which []int, took []time.Duration, workers int) ([]proof.Cell, error) {
	config := virtualConfig(w.job)
	config.Controller.Defects = defects
	cells := make([]proof.Cell, len(w.chosen))
	var mu sync.Mutex
	plan := rig.Plan{Job: w.conducted, Trials: w.trials, Seed: w.seed, Workers: workers, Brief: true, Day: days(w.job, w.seed, false),
		Open: func() (rig.Bench, rig.Facts, error) {
			b, err := virtual.New(config, 0)
			if err != nil {
				return nil, rig.Facts{}, usage(unmade(err))
			}
			return b, b.Facts(), nil
		},
		Sink: func(o *rig.Outcome) error {
			mu.Lock()
			defer mu.Unlock()
			i := which[o.Scenario]
			c := &cells[i]
			if !c.Performed() || rule.Worst(c.Verdict, o.Verdict) != c.Verdict {
				c.Verdict, c.Reason = o.Verdict, o.Reason
			}
			if took != nil {
				took[i] = max(took[i], o.Took)
			}
			return nil
		}}
	for _, i := range which {
		plan.Scenarios = append(plan.Scenarios, w.chosen[i].Scenario)
	}
	return cells, rig.Run(ctx, plan)
}
