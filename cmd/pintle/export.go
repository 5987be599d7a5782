package main

import (
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"pintle/reports"
	"pintle/reports/junit"
	"pintle/reports/logbook"
	"pintle/reports/record"
	"pintle/reports/waveform"
	"pintle/reports/webreport"
	"pintle/rig/signal"
)

// A form is one way to hand a run or a trial to another program.
type form struct {
	name  string
	means string
	run   func(w io.Writer, log *logbook.Logbook, run *reports.Run) error                                        // of a whole run
	trial func(w io.Writer, log *logbook.Logbook, run *reports.Run, s *reports.Scenario, t *reports.Trial) error // of one trial
}

// forms is the table of all forms.
var forms = []form{
	{name: "json", means: "the record of the run, canonical JSON (RFC 8785)", run: func(w io.Writer, _ *logbook.Logbook, run *reports.Run) error {
		text, err := record.Canonical(run)
		if err != nil {
			return err
		}
		_, err = w.Write(append(text, '\n'))
		return err
	}},
	{name: "junit", means: "verdicts as JUnit-style XML", run: func(w io.Writer, _ *logbook.Logbook, run *reports.Run) error {
		return junit.Write(w, run)
	}},
	{name: "html", means: "a page that reads well anywhere, in one file", run: func(w io.Writer, log *logbook.Logbook, run *reports.Run) error {
		return webreport.Write(w, run, log, webreport.Options{})
	}},
	{name: "vcd", means: "a trial as a value change dump (IEEE 1364)",
		trial: func(w io.Writer, log *logbook.Logbook, run *reports.Run, s *reports.Scenario, t *reports.Trial) error {
			trace, err := log.Trace(run.ID, s.Name, t.Number)
			if err != nil {
				return err
			}
			return waveform.VCD(w, trace, fmt.Sprintf("%s/%d", s.Name, t.Number), lanesOf(run, s, t, trace)...)
		}},
	{name: "csv", means: "a trial as comma-separated values",
		trial: func(w io.Writer, log *logbook.Logbook, run *reports.Run, s *reports.Scenario, t *reports.Trial) error {
			trace, err := log.Trace(run.ID, s.Name, t.Number)
			if err != nil {
				return err
			}
			return waveform.CSV(w, trace)
		}},
	{name: "parquet", means: "a trial as it is kept, Apache Parquet",
		trial: func(w io.Writer, log *logbook.Logbook, run *reports.Run, s *reports.Scenario, t *reports.Trial) error {
			file, err := log.TraceFile(run.ID, s.Name, t.Number)
			if err != nil {
				return err
			}
			_, err = w.Write(file)
			return err
		}},
}

// lanesOf are what a dump shows besides the trace. Where the run's files cannot be
// read any more, as those of a newer version, the motor is left out of it.
func lanesOf(run *reports.Run, s *reports.Scenario, t *reports.Trial, trace *signal.Trace) []waveform.Lane {
	var names []string
	for _, r := range s.Rules {
		names = append(names, r.Name)
	}
	lanes := waveform.FindingLanes(t.Findings, names)
	if motor, err := motorSeen(run, trace); err == nil {
		lanes = append(waveform.MotorLanes(motor), lanes...)
	}
	return lanes
}

func formNames() []string {
	var names []string
	for _, f := range forms {
		names = append(names, f.name)
	}
	return names
}

func exportCommand(a *app) *cobra.Command {
	var file, as, out string
	var table strings.Builder
	for _, f := range forms {
		fmt.Fprintf(&table, "\n  %-8s %s", f.name, f.means)
	}
	c := &cobra.Command{
		Use:   "export RUN [SCENARIO[/TRIAL]]",
		Short: "a run or a trial for other programs",
		Long:  "Writes a run, or one trial of it, in a form that other programs read:\n" + table.String(),
		Args:  cobra.RangeArgs(1, 2),
		RunE: func(_ *cobra.Command, args []string) error {
			i := slices.Index(formNames(), as)
			if i < 0 {
				return usage(fmt.Errorf("there is no form %q: it is one of %s", as, strings.Join(formNames(), ", ")))
			}
			return withRun(file, args[0], func(log *logbook.Logbook, run *reports.Run) error {
				return a.export(log, run, forms[i], args[1:], out)
			})
		},
	}
	logFlag(c, &file)
	c.Flags().StringVar(&as, "as", "json", "the form: "+strings.Join(formNames(), ", "))
	c.Flags().StringVar(&out, "out", "", "write to `FILE` (default: standard output)")
	_ = c.RegisterFlagCompletionFunc("as", cobra.FixedCompletions(formNames(), cobra.ShellCompDirectiveNoFileComp))
	return c
}

func (a *app) export(log *logbook.Logbook, run *reports.Run, f form, what []string, out string) error {
	fill := func(w io.Writer) error { return f.run(w, log, run) }
	switch {
	case f.run != nil && len(what) > 0:
		return usage(fmt.Errorf("%s is of a whole run: leave the scenario out", f.name))
	case f.trial != nil && len(what) == 0:
		return usage(errors.New("it is of one trial: name a scenario, such as pintle export RUN normal-cycle/1"))
	case f.trial != nil:
		s, trial, err := find(run, what[0])
		if err != nil {
			return usage(err)
		}
		fill = func(w io.Writer) error { return f.trial(w, log, run, s, &s.Trials[trial]) }
	}
	if out == "" {
		return fill(a.raw)
	}
	return write(out, fill)
}
