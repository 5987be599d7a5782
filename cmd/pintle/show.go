package main

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"pintle/reports"
	"pintle/reports/chart"
	"pintle/reports/diagnosis"
	"pintle/reports/logbook"
	"pintle/reports/summary"
	"pintle/rig/rule"
)

func showCommand(a *app) *cobra.Command {
	var file, svg, part string
	var budget bool
	c := &cobra.Command{
		Use:   "show RUN [SCENARIO[/TRIAL]]",
		Short: "findings and a strip chart",
		Long: `Shows a run, or one scenario of it with the findings of its tightest trial and that trial's
strip chart. RUN is a run's name as pintle log prints it, its beginning, or "last".

Of a trial that was not passed it explains what happened, shows the strip chart around
the deciding instant, and prints the call that repeats the trial.

--budget prints the uncertainty budget of each of the trial's findings instead: what
makes the value uncertain, by how much, and what is assumed.`,
		Args: cobra.RangeArgs(1, 2),
		RunE: func(_ *cobra.Command, args []string) error {
			return withRun(file, args[0], func(log *logbook.Logbook, run *reports.Run) error {
				if len(args) == 1 {
					switch {
					case svg != "":
						return usage(errors.New("--svg needs a scenario: pintle show RUN SCENARIO --svg FILE"))
					case part != "":
						return usage(errors.New("--zoom needs a scenario: pintle show RUN SCENARIO --zoom 12.3s..14s"))
					case budget:
						return usage(errors.New("--budget needs a scenario: pintle show RUN SCENARIO --budget"))
					}
					return summary.Write(a.out, run, summary.Options{Explain: headline(run, log), Columns: a.wide(), Warned: true})
				}
				if budget {
					return a.budgets(run, args[1])
				}
				return a.show(log, run, args[1], showing{svg, part, logName(file)})
			})
		},
	}
	logFlag(c, &file)
	c.Flags().StringVar(&svg, "svg", "", "write the strip chart to `FILE` instead")
	c.Flags().BoolVar(&budget, "budget", false, "print the uncertainty budget of each finding")
	c.Flags().StringVar(&part, "zoom", "", "show this `PART` of the trial, such as 12.3s..14s")
	c.MarkFlagsMutuallyExclusive("svg", "budget")
	c.MarkFlagsMutuallyExclusive("zoom", "budget")
	return c
}

// budgets prints the budgets of a trial.
func (a *app) budgets(run *reports.Run, what string) error {
	s, trial, err := find(run, what)
	if err != nil {
		return usage(err)
	}
	return summary.Budgets(a.out, run, s, &s.Trials[trial], summary.Options{Columns: a.wide()})
}

// showing is what of a trial is to be shown, and how.
type showing struct{ svg, part, log string }

func (a *app) show(log *logbook.Logbook, run *reports.Run, what string, how showing) error {
	s, trial, err := find(run, what)
	if err != nil {
		return usage(err)
	}
	t := &s.Trials[trial]
	o := chart.Options{Title: s.Title, Note: fmt.Sprintf("run %s, %s, trial %d", run.ID, s.Name, t.Number)}
	if o.From, o.To, err = zoom(how.part); err != nil {
		return err
	}
	trace, err := log.Trace(run.ID, s.Name, t.Number)
	if errors.Is(err, logbook.ErrDropped) && how.svg == "" {
		return errors.Join(summary.Detail(a.out, run, s, t, summary.Options{Columns: a.wide()}), a.tellNoTrace(err))
	}
	if err != nil {
		return usage(err)
	}
	if f := telling(s, trial); f != nil {
		o.Finding, o.Rule = f, s.Rules[f.Rule]
	}
	explained := diagnoses(run, s, trial, trace)
	if len(explained) > 0 {
		o.Motor = diagnosis.Motor(run, trace)
		if how.part == "" {
			o.From, o.To = explained[0].From, explained[0].To
		}
	}
	c := chart.New(trace, o)
	if how.svg != "" {
		return write(how.svg, c.SVG)
	}
	if err := a.tellTrial(run, s, t, explained, c); err != nil {
		return err
	}
	if len(explained) > 0 {
		a.again(run, s, t, how.log)
	}
	return nil
}

// tellTrial prints what a trial came to, why, and its strip chart.
func (a *app) tellTrial(run *reports.Run, s *reports.Scenario, t *reports.Trial, explained []diagnosis.Diagnosis, c *chart.Chart) error {
	if err := summary.Detail(a.out, run, s, t, summary.Options{Columns: a.wide()}); err != nil {
		return err
	}
	if len(explained) > 0 {
		fmt.Fprintln(a.out)
		if err := summary.Explain(a.out, explained, summary.Options{Columns: a.wide()}); err != nil {
			return err
		}
	}
	fmt.Fprintln(a.out)
	if wide, ok := terminalColumns(a.out); ok && wide < leastColumns {
		a.paragraph(fmt.Sprintf("The strip chart wants %d columns; --svg FILE draws it to a file.", leastColumns))
		return nil
	}
	return c.Text(a.out, columns(a.out), unicode())
}

// again prints what repeats a trial.
func (a *app) again(run *reports.Run, s *reports.Scenario, t *reports.Trial, log string) {
	call, but := repeat(run, s, t, log)
	fmt.Fprintf(a.out, "\nseed %d; to perform this trial again:\n  %s\n", t.Seed, call)
	if but != "" {
		a.paragraph("(" + but + ")")
	}
}

// find looks a scenario up, and its trial: the one named, else the one that
// decided.
func find(run *reports.Run, what string) (*reports.Scenario, int, error) {
	name, number, numbered := strings.Cut(what, "/")
	s := run.Scenario(name)
	if s == nil {
		var known []string
		for i := range run.Scenarios {
			known = append(known, run.Scenarios[i].Name)
		}
		return nil, 0, fmt.Errorf("run %s has no scenario %q%s", run.ID, name, suggestion(name, known))
	}
	if !numbered {
		trial, ok := reports.WorstTrial(s)
		if !ok {
			return nil, 0, noTrial(run, name)
		}
		return s, trial, nil
	}
	n, err := strconv.Atoi(number)
	trial, ok := s.Trial(n)
	if len(s.Trials) == 0 {
		return nil, 0, noTrial(run, name)
	}
	if err != nil || !ok {
		return nil, 0, fmt.Errorf("run %s has no trial %s of %s: it has 1 to %d", run.ID, number, name, len(s.Trials))
	}
	return s, trial, nil
}

func noTrial(run *reports.Run, name string) error {
	return fmt.Errorf("run %s ended before any trial of %s was performed; pintle show %s tells why", run.ID, name, run.ID)
}

// telling is the finding of a trial that a chart should show; none where the bench failed.
func telling(s *reports.Scenario, trial int) *rule.Finding {
	one := *s
	one.Trials = s.Trials[trial : trial+1]
	if _, f, ok := reports.Tightest(&one); ok && one.Trials[0].Verdict != rule.Void {
		return &one.Trials[0].Findings[f]
	}
	return nil
}

// leastColumns is how narrow a drawing can be. Text that is laid out for it is folded
// again for a terminal that is narrower.
const leastColumns = 40

// columns is how wide the output is.
func columns(w io.Writer) int {
	if wide, ok := terminalColumns(w); ok {
		return min(max(wide, leastColumns), 160)
	}
	return 80
}

// unicode says whether the terminal's locale has more than ASCII.
func unicode() bool {
	for _, name := range []string{"LC_ALL", "LC_CTYPE", "LANG"} {
		if v := os.Getenv(name); v != "" {
			v = strings.ToLower(v)
			return strings.Contains(v, "utf-8") || strings.Contains(v, "utf8")
		}
	}
	return false
}
