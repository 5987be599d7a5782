package main

import (
	"fmt"

	"github.com/spf13/cobra"

	"pintle/reports"
	"pintle/reports/compare"
	"pintle/reports/logbook"
)

// compareOptions are the flags of pintle compare.
type compareOptions struct {
	log, logB, svg string
	json, all      bool
	alpha, least   float64
}

func compareCommand(a *app) *cobra.Command {
	var o compareOptions
	c := &cobra.Command{
		Use:   "compare RUN RUN",
		Short: "what changed between two builds",
		Long: `Compares two runs, the older first: verdicts, claims, scenarios, and the measured values
themselves, rule by rule, whether each has shifted by more than chance would do. Runs are
named as pintle log prints them, by the beginning of a name, or by "last".

It ends with status 1 on a regression: a verdict that is worse, or a margin that has gone
by at least --least though both pass. It ends with status 2 where there is none, and not
all of the first run could be compared, or a limit allows more than it did. Many trials a
side find small shifts: 59 are a good start.`,
		Args: cobra.ExactArgs(2),
		RunE: func(_ *cobra.Command, args []string) error {
			if o.alpha <= 0 || o.alpha >= 1 || o.least <= 0 {
				return usage(fmt.Errorf("--alpha takes a number between 0 and 1, and --least one above 0"))
			}
			if o.logB == "" {
				o.logB = o.log
			}
			return withRun(o.log, args[0], func(_ *logbook.Logbook, was *reports.Run) error {
				return withRun(o.logB, args[1], func(_ *logbook.Logbook, is *reports.Run) error {
					return a.compare(was, is, o)
				})
			})
		},
	}
	logFlag(c, &o.log)
	f := c.Flags()
	f.StringVar(&o.logB, "logbook-b", "", "the `LOGBOOK` of the second run, where it is in another")
	f.StringVar(&o.svg, "svg", "", "write the picture to `FILE`: a row for each rule, all values against the limit")
	f.BoolVar(&o.json, "json", false, "print the comparison as JSON")
	f.BoolVar(&o.all, "all", false, "tell of every rule, not only of those that changed")
	f.Float64Var(&o.alpha, "alpha", 0.05, "how often two runs of the same build may give a false alarm, over all rules together")
	f.Float64Var(&o.least, "least", 0.1, "part of a margin that must have gone to count as a regression")
	return c
}

func (a *app) compare(was, is *reports.Run, o compareOptions) error {
	if was.ID == is.ID && o.logB == o.log {
		a.warn([]string{fmt.Sprintf("this is run %s twice, which cannot differ from itself; pintle log lists the others", was.ID)})
	}
	c := compare.Compare(was, is, compare.Options{Alpha: o.alpha, Least: o.least})
	if o.svg != "" {
		if err := write(o.svg, c.SVG); err != nil {
			return err
		}
	}
	switch {
	case o.json:
		if err := reports.WriteJSON(a.raw, c); err != nil {
			return err
		}
	default:
		if err := c.Text(a.out, o.all, a.wide()); err != nil {
			return err
		}
	}
	switch {
	case c.Regression:
		return &ended{status: statusFail}
	case c.Undetermined:
		return &ended{status: statusInconclusive}
	}
	return nil
}
