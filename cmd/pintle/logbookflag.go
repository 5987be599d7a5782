package main

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"pintle/reports"
	"pintle/reports/logbook"
)

// logFlag adds the flag that names the logbook, for commands that read one.
func logFlag(c *cobra.Command, file *string) {
	c.Flags().StringVar(file, "logbook", "", "the `LOGBOOK`: a file, or the address of a database, postgres://... (default: logbook.db here, else that of the demo)")
}

// spelling takes the flags' names of before for those of today.
func spelling(_ *pflag.FlagSet, name string) pflag.NormalizedName {
	switch name {
	case "log":
		name = "logbook"
	case "log-b":
		name = "logbook-b"
	}
	return pflag.NormalizedName(name)
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

// openLog opens the logbook that a reading command means. It makes no file.
func openLog(file string) (*logbook.Logbook, error) {
	file = logName(file)
	if _, err := os.Stat(file); err != nil && !logbook.IsAddress(file) {
		return nil, usage(fmt.Errorf("open the logbook: %w; name another with --logbook, or make one with pintle run", err))
	}
	log, err := logbook.Open(file)
	if err != nil {
		return nil, usage(err)
	}
	return log, nil
}

// makeLog opens the logbook of a command that performs runs, and makes it where there
// is none, its folder included.
func makeLog(file string) (*logbook.Logbook, error) {
	if !logbook.IsAddress(file) {
		if err := os.MkdirAll(filepath.Dir(file), 0o755); err != nil {
			return nil, usage(fmt.Errorf("make the logbook's folder: %w; name another place with --logbook", err))
		}
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

// enterCertificate marks a run as one that a certificate rests on, before there is the
// certificate. The root is that of its record, where there is one; no file is named of one that
// the live page hands out.
func enterCertificate(log *logbook.Logbook, run *reports.Run, root, file string) error {
	if full, err := filepath.Abs(file); err == nil && file != "" {
		file = full
	}
	return log.Certify(logbook.Certified{Run: run.ID, Signed: time.Now().UTC().Truncate(time.Millisecond), Root: root, File: file})
}
