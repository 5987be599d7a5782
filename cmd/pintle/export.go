package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"pintle/reports"
	"pintle/reports/account"
	"pintle/reports/diagnosis"
	"pintle/reports/junit"
	"pintle/reports/logbook"
	"pintle/reports/outline"
	"pintle/reports/record"
	"pintle/reports/waveform"
	"pintle/reports/webreport"
	"pintle/rig/signal"
	"pintle/rig/wording"
)

// A part is what is exported: a run or, where a scenario is named, that alone.
type part struct {
	log      *logbook.Logbook
	run      *reports.Run
	scenario *reports.Scenario // nil: all of the run
	trial    *reports.Trial    // the one named, else the one that decided
	named    bool              // the trial was
}

// A form is one way to hand a run or a trial to another program, or to a person.
type form struct {
	name  string
	means string
	of    scope
	left  leaving // how a run leaves it in a file; zero: it does not
	write func(w io.Writer, p part) error
}

// scope says what a form can be of.
type scope uint8

const (
	ofRun   scope = iota // a whole run and nothing less
	ofPart               // a run, a scenario of it, or a trial
	ofTrial              // a trial and nothing more
)

// forms is the table of all forms.
var forms = []form{
	{name: "json", means: "the record of a run, a scenario or a trial, canonical JSON (RFC 8785)", of: ofPart, write: func(w io.Writer, p part) error {
		text, err := p.record()
		if err != nil {
			return err
		}
		_, err = w.Write(append(text, '\n'))
		return err
	}},
	{name: "summary", means: "what a run, a scenario or a trial came to, as JSON for programs", of: ofPart, write: func(w io.Writer, p part) error {
		run, of := p.excerpt()
		return outline.Write(w, run, outline.Options{Excerpt: of, Whole: p.run})
	}},
	{name: "html", means: "what a run, a scenario or a trial came to, as a page to read", of: ofPart, left: leaving{
		flag: "report", means: "an HTML report", told: true, ending: "html", media: "text/html; charset=utf-8",
	}, write: func(w io.Writer, p part) error {
		run, of := p.excerpt()
		return webreport.Write(w, run, p.log, webreport.Options{Excerpt: of, Whole: p.run})
	}},
	{name: "junit", means: "the verdicts of a run as JUnit-style XML, for build servers", of: ofRun, left: leaving{
		flag: "junit", means: "JUnit-style XML",
	}, write: func(w io.Writer, p part) error { return junit.Write(w, p.run) }},
	{name: "vcd", means: "a trial as a value change dump (IEEE 1364), for wave viewers", of: ofTrial, write: func(w io.Writer, p part) error {
		trace, err := p.trace()
		if err != nil {
			return err
		}
		return waveform.VCD(w, trace, fmt.Sprintf("%s/%d", p.scenario.Name, p.trial.Number), p.lanes(trace)...)
	}},
	{name: "csv", means: "a trial as comma-separated values", of: ofTrial, write: func(w io.Writer, p part) error {
		trace, err := p.trace()
		if err != nil {
			return err
		}
		return waveform.CSV(w, trace)
	}},
	{name: "parquet", means: "a trial as it is kept, Apache Parquet", of: ofTrial, write: func(w io.Writer, p part) error {
		file, err := p.log.TraceFile(p.run.ID, p.scenario.Name, p.trial.Number)
		if err != nil {
			return err
		}
		_, err = w.Write(file)
		return err
	}},
}

func formNames() []string {
	var names []string
	for _, f := range forms {
		names = append(names, f.name)
	}
	return names
}

func (p part) trace() (*signal.Trace, error) {
	return p.log.Trace(p.run.ID, p.scenario.Name, p.trial.Number)
}

// record is the part in canonical form, as it stands in the record of the run.
func (p part) record() ([]byte, error) {
	switch {
	case p.scenario == nil:
		return record.Canonical(p.run)
	case p.named:
		return record.Value(p.trial)
	}
	return record.Value(p.scenario)
}

// excerpt is the part as a run of its own, with what it is of; empty where it is the
// whole.
func (p part) excerpt() (*reports.Run, string) {
	switch {
	case p.scenario == nil:
		return p.run, ""
	case p.named:
		return account.Excerpt(p.run, p.scenario, p.trial)
	}
	return account.Excerpt(p.run, p.scenario, nil)
}

// lanes are what a dump shows besides the trace. A run that does not say when its
// motor counts as moving has no lanes of the motor.
func (p part) lanes(trace *signal.Trace) []waveform.Lane {
	var names []string
	for _, r := range p.scenario.Rules {
		names = append(names, r.Name)
	}
	lanes := waveform.FindingLanes(p.trial.Findings, names)
	if motor := diagnosis.Motor(p.run, trace); motor != nil {
		lanes = append(waveform.MotorLanes(motor), lanes...)
	}
	return lanes
}

func exportCommand(a *app) *cobra.Command {
	var file, as, out, all string
	var table strings.Builder
	for _, f := range forms {
		fmt.Fprintf(&table, "\n  %-8s %s", f.name, f.means)
	}
	c := &cobra.Command{
		Use:   "export RUN [SCENARIO[/TRIAL]]",
		Short: "a run or a trial for other programs",
		Long: "Writes a run, or a part of it, in a form that other programs read:\n" + table.String() + `

--all writes every trial of the run, or of the scenario named, into a folder instead: a
file each, named by the scenario and the trial.`,
		Args: cobra.RangeArgs(1, 2),
		RunE: func(c *cobra.Command, args []string) error {
			if f, ok := beneath(a.raw).(*os.File); ok && !c.Flags().Changed("as") && out == "" && all == "" && term.IsTerminal(int(f.Fd())) {
				return usage(errors.New("the whole run as JSON is too much for a terminal: name a file with --out, another form with --as, or insist with --as json; pintle show is for reading"))
			}
			i := slices.Index(formNames(), as)
			if i < 0 {
				return usage(fmt.Errorf("there is no form %q: it is one of %s", as, strings.Join(formNames(), ", ")))
			}
			return withRun(file, args[0], func(log *logbook.Logbook, run *reports.Run) error {
				p := part{log: log, run: run}
				if all != "" {
					return a.exportAll(p, forms[i], args[1:], all)
				}
				return a.export(p, forms[i], args[1:], out)
			})
		},
	}
	logFlag(c, &file)
	c.Flags().StringVar(&as, "as", "json", "the form: "+strings.Join(formNames(), ", "))
	c.Flags().StringVar(&out, "out", "", "write to `FILE` (default: standard output)")
	c.Flags().StringVar(&all, "all", "", "write every trial into the folder `DIR`")
	c.MarkFlagsMutuallyExclusive("out", "all")
	_ = c.RegisterFlagCompletionFunc("as", cobra.FixedCompletions(formNames(), cobra.ShellCompDirectiveNoFileComp))
	return c
}

func (a *app) export(p part, f form, what []string, out string) error {
	switch {
	case f.of == ofRun && len(what) > 0:
		return usage(fmt.Errorf("%s is of a whole run: leave the scenario out", f.name))
	case f.of == ofTrial && len(what) == 0:
		return usage(fmt.Errorf("%s is of one trial: name a scenario, such as pintle export RUN %s/1 --as %[1]s, or a folder with --all", f.name, firstScenario(p.run)))
	case len(what) > 0:
		s, trial, err := find(p.run, what[0])
		if err != nil {
			return usage(err)
		}
		p.scenario, p.trial, p.named = s, &s.Trials[trial], strings.Contains(what[0], "/")
	}
	fill := func(w io.Writer) error { return f.write(w, p) }
	if out == "" {
		return fill(a.raw)
	}
	return write(out, fill)
}

// exportAll writes every trial into a folder, which must not hold any of the files
// yet: nothing is written over. A trial of which no trace was kept is told of.
func (a *app) exportAll(p part, f form, what []string, dir string) error {
	if f.of != ofTrial {
		return usage(fmt.Errorf("%s is not of single trials: --all goes with --as %s", f.name, trialForms()))
	}
	if len(what) > 0 && strings.Contains(what[0], "/") {
		return usage(errors.New("--all writes every trial: leave the trial's number out"))
	}
	if len(what) > 0 {
		if _, _, err := find(p.run, what[0]); err != nil {
			return usage(err)
		}
	}
	written, missing := 0, 0
	for i := range p.run.Scenarios {
		s := &p.run.Scenarios[i]
		if len(what) > 0 && s.Name != what[0] {
			continue
		}
		for t := range s.Trials {
			if p.scenario, p.trial = s, &s.Trials[t]; p.trial.Trace == "" {
				missing++
				continue
			}
			name := filepath.Join(dir, trialFile(i, s.Name, p.trial.Number, f.name))
			if _, err := os.Lstat(name); err == nil {
				return usage(fmt.Errorf("write trial %d of %s: %s is there already", p.trial.Number, s.Name, name))
			}
			if err := write(name, func(w io.Writer) error { return f.write(w, p) }); err != nil {
				return fmt.Errorf("write trial %d of %s: %w", p.trial.Number, s.Name, err)
			}
			written++
		}
	}
	fmt.Fprintf(a.out, "%s written to %s\n", wording.Count(written, "trial"), dir)
	if missing > 0 {
		fmt.Fprintf(a.out, "%d left out: no trace of them was kept\n", missing)
	}
	return nil
}

func trialForms() string {
	var names []string
	for _, f := range forms {
		if f.of == ofTrial {
			names = append(names, f.name)
		}
	}
	return strings.Join(names, ", ")
}

// trialFile names the file of a trial. A name out of a logbook may be anything, so
// only what is safe on every file system is kept of it; the number of the scenario
// keeps apart what becomes the same.
func trialFile(scenario int, name string, trial int, form string) string {
	safe := strings.Map(func(r rune) rune {
		switch {
		case r >= 'a' && r <= 'z', r >= 'A' && r <= 'Z', r >= '0' && r <= '9', r == '-':
			return r
		}
		return '_'
	}, name)
	if len(safe) > 60 {
		safe = safe[:60]
	}
	return fmt.Sprintf("%03d-%s-%04d.%s", scenario+1, safe, trial, form)
}

// firstScenario is an example of a scenario of the run.
func firstScenario(run *reports.Run) string {
	if len(run.Scenarios) == 0 {
		return "SCENARIO"
	}
	return run.Scenarios[0].Name
}
