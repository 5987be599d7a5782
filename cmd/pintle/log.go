package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"pintle/reports"
	"pintle/reports/logbook"
)

// logFlag adds the flag that names the logbook, for commands that read one.
func logFlag(c *cobra.Command, file *string) {
	c.Flags().StringVar(file, "log", "", "the logbook `FILE` (default: logbook.db here, else that of the demo)")
}

// logName is the logbook that is meant where none, or this one, was named.
func logName(file string) string {
	if file != "" {
		return file
	}
	if _, err := os.Stat("logbook.db"); errors.Is(err, os.ErrNotExist) {
		return filepath.Join(demoFolder, "logbook.db")
	}
	return "logbook.db"
}

// openLog opens the logbook that a reading command means. It makes none.
func openLog(file string) (*logbook.Logbook, error) {
	file = logName(file)
	if _, err := os.Stat(file); err != nil {
		return nil, usage(fmt.Errorf("open the logbook: %w; name another with --log, or make one with pintle run", err))
	}
	log, err := logbook.Open(file)
	if err != nil {
		return nil, usage(err)
	}
	return log, nil
}

// withRun does something with one run of the logbook.
func withRun(file, name string, do func(*logbook.Logbook, *reports.Run) error) error {
	log, err := openLog(file)
	if err != nil {
		return err
	}
	defer log.Close()
	run, err := log.Run(name)
	if err != nil {
		return usage(err)
	}
	return do(log, run)
}

func logCommand(a *app) *cobra.Command {
	var file string
	c := &cobra.Command{
		Use:   "log",
		Short: "the runs in the logbook",
		Args:  cobra.NoArgs,
		RunE: func(*cobra.Command, []string) error {
			log, err := openLog(file)
			if err != nil {
				return err
			}
			defer log.Close()
			return a.log(log)
		},
	}
	logFlag(c, &file)
	return c
}

func (a *app) log(log *logbook.Logbook) error {
	runs, err := log.Runs()
	if err != nil {
		return usage(err)
	}
	if len(runs) == 0 {
		fmt.Fprintln(a.out, "no runs yet")
	}
	for _, r := range runs {
		verdict := r.Verdict.String()
		if r.UnderWay {
			verdict = "under way"
		}
		fmt.Fprintf(a.out, "%-20s %-13s %3d scenarios %5d trials  %s\n",
			r.ID, verdict, r.Scenarios, r.Trials, identity(r.Controller))
		if r.Reason != "" {
			fmt.Fprintf(a.out, "    %s\n", r.Reason)
		}
	}
	return nil
}
