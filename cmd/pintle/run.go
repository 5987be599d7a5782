package main

import (
	"context"
	"errors"
	"fmt"
	"path/filepath"
	"runtime"
	"time"

	"github.com/spf13/cobra"

	"pintle/reports"
	"pintle/reports/logbook"
	"pintle/reports/record"
	"pintle/reports/summary"
	"pintle/rig"
	"pintle/rig/rule"
	"pintle/scenarios"
)

// runOptions are the flags of pintle run.
type runOptions struct {
	trials, workers, trial int
	seed                   uint64
	log                    string
	left                   []*left // what the run leaves
	firmware               string
	json                   bool
	demonstrate            string
	allow                  int
	sequential             bool
	shows                  demonstration // what the three above come to
	checked                []string      // what is known of the bench's last check
}

// errInterrupted is why a run that somebody stopped is void.
var errInterrupted = errors.New("the run was interrupted")

// stopped is what an interrupted run came to: a bench that could not be let go of is
// told all the same.
func stopped(performed error) error {
	if u := (*rig.Unclosed)(nil); errors.As(performed, &u) {
		return errors.Join(errInterrupted, u)
	}
	return errInterrupted
}

// demoFolder is where a run of the demo leaves what it made.
const demoFolder = "pintle-demo"

func runCommand(a *app) *cobra.Command {
	var o runOptions
	c := &cobra.Command{
		Use:   "run [DIR] [SCENARIO...]",
		Short: "perform the scenarios and judge them",
		Long: `Performs the scenarios of a job, each as often as asked, and prints a verdict for each.

Without a job folder it performs the demo on the virtual bench, and leaves a
logbook and a certificate in the folder ` + demoFolder + `.

One good trial is not a proof. --demonstrate 95/95 performs as many trials of each
scenario as show, if all pass, that at least 95 % of all trials do, at 95 % confidence:
59, by the success-run theorem in its classic form. From the second trial on, nature
varies: when a press falls, how the contacts bounce, and what gate.yaml says under
varies. With --sequential a scenario ends as soon as its trials decide; it counts the
risk of rejecting a good controller as well, and so may take more trials than 59 where
none fails.

--trial N repeats one trial of an earlier run: with that run's seed, and --demonstrate
where that run had it, the press, the bounces and nature's day are the same again. On the
virtual bench so is the whole trace, to the byte. pintle show prints the call.`,
		ValidArgsFunction: completeScenarios,
		RunE: func(c *cobra.Command, args []string) error {
			dir, names := split(args)
			return a.run(c.Context(), dir, names, o)
		},
	}
	o.flags(c)
	return c
}

func (o *runOptions) flags(c *cobra.Command) {
	f := c.Flags()
	f.IntVar(&o.trials, "trials", 1, "how often each scenario is performed")
	f.StringVar(&o.demonstrate, "demonstrate", "", "as many trials as show a reliability at a confidence, both in per cent, reliability first: `R/C`")
	f.IntVar(&o.allow, "allow", 0, "with --demonstrate: failures that the plan allows; the verdict stays fail")
	f.BoolVar(&o.sequential, "sequential", false, "with --demonstrate: end each scenario as soon as it is accepted or rejected")
	c.MarkFlagsMutuallyExclusive("trials", "demonstrate")
	c.MarkFlagsMutuallyExclusive("allow", "sequential")
	f.IntVar(&o.trial, "trial", 0, "perform only the trial of this number, as a run with the same seed does: `N`")
	c.MarkFlagsMutuallyExclusive("trials", "trial")
	c.MarkFlagsMutuallyExclusive("sequential", "trial")
	f.IntVar(&o.workers, "workers", runtime.NumCPU(), "trials side by side, on the virtual bench")
	f.Uint64Var(&o.seed, "seed", 1, "what the trials' chances are drawn from")
	f.StringVar(&o.log, "logbook", "", "the `LOGBOOK`: a file, or the address of a database, postgres://... (default: logbook.db in the job folder)")
	o.left = leavingFlags(f)
	f.StringVar(&o.firmware, "firmware", "", "the program that the controller runs: the SHA-256 of `FILE` goes into the record")
	f.BoolVar(&o.json, "json", false, "print what happens as lines of JSON, and the record of the run as the last one")
}

// check refuses what does not go together.
func (o *runOptions) check() error {
	if o.trials < 1 || o.workers < 1 || o.trial < 0 {
		return usage(fmt.Errorf("--trials, --trial and --workers take a number from 1 up"))
	}
	for _, l := range o.left {
		if o.trial > 0 && l.whole && l.file != "" {
			return usage(fmt.Errorf("--trial %d repeats one trial, and one picked out of many is no ground for a %s: leave --%[2]s out, or perform them all", o.trial, l.flag))
		}
	}
	return nil
}

// A performance is a run under way.
type performance struct {
	*ledger
	job    *scenarios.Job
	plan   rig.Plan
	log    *logbook.Logbook
	tells  *progress
	events *events // nil: nobody asked for them
	shows  demonstration
	at     time.Time // of the beginning, by a clock that nobody sets
}

// ended is the instant by which a run that ends now does so, counted from its beginning: a
// clock that is set meanwhile makes it neither longer nor shorter.
func (p *performance) ended() time.Time {
	return p.run.Began.Add(time.Since(p.at)).Truncate(time.Millisecond)
}

func (a *app) run(ctx context.Context, dir string, names []string, o runOptions) error {
	job, err := loadJob(dir)
	if err != nil {
		return err
	}
	if err := firmware(job, o.firmware); err != nil {
		return err
	}
	chosen, err := choose(job, names)
	if err != nil {
		return err
	}
	if o.shows, err = demonstrate(o); err != nil {
		return err
	}
	if err := o.check(); err != nil {
		return err
	}
	o.trials = o.shows.trials
	o.defaults(dir)
	if o.checked, err = a.vetBench(job, dir); err != nil {
		return err
	}
	p, err := a.prepare(job, chosen, o)
	if err != nil {
		return err
	}
	defer p.log.Close()
	return a.conclude(ctx, p, o)
}

// conclude performs what is prepared, and tells what it came to. What kept a trial from
// being performed is told in any case, also where nothing else can be kept or told: it may
// be that a supply is on that nobody takes off.
func (a *app) conclude(ctx context.Context, p *performance, o runOptions) error {
	performed, err := p.finish(ctx)
	if performed != nil {
		defer func() { fmt.Fprintf(a.err, "pintle: %v\n", performed) }()
	}
	if err != nil {
		return err
	}
	if err := a.deliver(p, o); err != nil {
		return err
	}
	return done(p.run.Verdict)
}

// deliver writes the files that a run leaves, and tells what it came to. What could not be
// written is not told of as if it were there.
func (a *app) deliver(p *performance, o runOptions) error {
	bad := leave(part{log: p.log, run: p.run}, o.left)
	if err := a.tell(p.run, p.log, o); err != nil {
		return err
	}
	return bad
}

// finish performs all trials and settles what they came to. What kept a trial from being
// performed is told apart: the run is judged all the same.
func (p *performance) finish(ctx context.Context) (performed, err error) {
	performed = p.perform(ctx)
	if ctx.Err() != nil {
		performed = stopped(performed)
	}
	p.run.Ended = p.ended()
	p.settle(p.shows, performed)
	if err := p.log.Finish(p.run); err != nil {
		return performed, void(fmt.Errorf("finish the run: %w", err))
	}
	if p.events != nil {
		return performed, p.events.end()
	}
	return performed, nil
}

// defaults puts what a run leaves where it belongs: beside the job's files, or in
// a folder of its own for the demo.
func (o *runOptions) defaults(dir string) {
	home := dir
	if dir == "" {
		home = demoFolder
		for _, l := range o.left {
			if l.file == "" && o.trial == 0 && l.demo != "" {
				l.file, l.rehearsed = filepath.Join(home, l.demo), true
			}
		}
	}
	if o.log == "" {
		o.log = filepath.Join(home, "logbook.db")
	}
}

// prepare opens the bench once to see that it is there, then the logbook.
func (a *app) prepare(job *scenarios.Job, chosen []scenarios.Scenario, o runOptions) (*performance, error) {
	open, most, err := opener(job)
	if err != nil {
		return nil, err
	}
	conducted, err := rigJob(job)
	if err != nil {
		return nil, err
	}
	facts, first, err := firstBench(open)
	if err != nil {
		return nil, void(fmt.Errorf("open the bench: %w", err))
	}
	log, err := makeLog(o.log)
	if err != nil {
		return nil, errors.Join(err, first.Close())
	}
	now := time.Now()
	began := now.UTC().Truncate(time.Millisecond)
	p := &performance{at: now, job: job, log: log, shows: o.shows, ledger: newLedger(runID(began), job, chosen, facts, o),
		tells: newProgress(a.err, len(chosen)*o.trials)}
	p.run.Began, p.run.Digest, p.run.Environment = began, programDigest(), environment()
	if err := enter(log, p.run); err != nil {
		return nil, errors.Join(usage(fmt.Errorf("begin the run: %w; nothing was performed", err)), first.Close(), log.Close())
	}
	p.plan = rig.Plan{Job: conducted, Trials: o.trials, Only: o.trial, Seed: o.seed, Workers: min(o.workers, most),
		Open: reuse(first, facts, open), Sink: p.sink, Day: days(job, o.seed, o.demonstrate != ""), Course: o.shows.course()}
	switch {
	case o.json:
		p.events = newEvents(a.raw)
		p.events.begin(p.run)
		p.plan.Witness = func() rig.Witness { return &teller{events: p.events, run: p.run} }
	case p.tells.live && !facts.Virtual:
		strip := newLanes(p.run, facts.Lines, mostDrawn(job))
		p.plan.Witness = func() rig.Witness { return strip } // a bench in real time has one worker
		p.tells.show(strip)
	}
	for _, s := range chosen {
		p.plan.Scenarios = append(p.plan.Scenarios, s.Scenario)
	}
	a.warn(p.run.Warnings)
	return p, nil
}

func (p *performance) perform(ctx context.Context) error {
	defer p.tells.end()
	return rig.Run(ctx, p.plan)
}

// sink keeps one outcome: on the disk first, then in the summary.
func (p *performance) sink(o *rig.Outcome) error {
	name, trial := p.take(o)
	if err := p.log.Trial(p.run.ID, name, &trial, o.Trace); err != nil {
		return err
	}
	p.keep(o.Scenario, trial)
	if p.events != nil {
		p.events.keep(name, &trial)
	}
	p.tells.step(name)
	return nil
}

// firstBench opens the bench that says what it is.
func firstBench(open func() (rig.Bench, rig.Facts, error)) (rig.Facts, rig.Bench, error) {
	b, facts, err := open()
	return facts, b, err
}

// reuse hands the first bench out before opening more.
func reuse(first rig.Bench, facts rig.Facts, open func() (rig.Bench, rig.Facts, error)) func() (rig.Bench, rig.Facts, error) {
	hand := make(chan rig.Bench, 1)
	hand <- first
	return func() (rig.Bench, rig.Facts, error) {
		select {
		case b := <-hand:
			return b, facts, nil
		default:
			return open()
		}
	}
}

// runID names a run by the time of its beginning, so that names sort by age.
func runID(began time.Time) string { return began.Format(runName) }

const runName = "20060102-150405.000"

// enter enters a run in the logbook. Where another bench has begun one in the same
// millisecond, the run is named after the next that is free.
func enter(log *logbook.Logbook, run *reports.Run) (err error) {
	for range 1000 {
		if err = log.Begin(run); !errors.Is(err, logbook.ErrTaken) {
			return err
		}
		at, bad := time.Parse(runName, run.ID)
		if bad != nil {
			return errors.Join(err, bad)
		}
		run.ID = runID(at.Add(time.Millisecond))
	}
	return err
}

// tell prints what the run came to.
func (a *app) tell(run *reports.Run, traces reports.TraceSource, o runOptions) error {
	if o.json {
		return a.printRecord(run)
	}
	fmt.Fprintf(a.out, "%s\n%s\n\n", run.Job, run.Controller.Called())
	if err := summary.Write(a.out, run, summary.Options{Explain: headline(run, traces), Columns: a.wide()}); err != nil {
		return err
	}
	fmt.Fprintf(a.out, "\nrun %s in %s\n", run.ID, logbook.Name(o.log))
	for _, l := range o.left {
		if l.told && l.written {
			fmt.Fprintf(a.out, "%s %s\n", l.flag, l.file)
		}
	}
	a.next(afterRun(run, o.log)...)
	return nil
}

// afterRun is what a person does with a run: looks at what was not passed, which show
// explains, else at any scenario, and certifies what was passed.
func afterRun(run *reports.Run, log string) []string {
	in := ""
	if logName("") != log {
		in = " --logbook " + quoteArg(logbook.Name(log))
	}
	look := ""
	for i := range run.Scenarios {
		if s := &run.Scenarios[i]; look == "" || s.Verdict != rule.Pass {
			look = s.Name
			if s.Verdict != rule.Pass {
				return []string{fmt.Sprintf("pintle show last %s%s", look, in)}
			}
		}
	}
	return []string{fmt.Sprintf("pintle show last %s%s", look, in), "pintle certify last" + in}
}

func (a *app) printRecord(run *reports.Run) error {
	text, err := record.Canonical(run)
	if err != nil {
		return err
	}
	_, err = fmt.Fprintf(a.raw, "%s\n", text)
	return err
}
