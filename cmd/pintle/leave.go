package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"syscall"

	"github.com/spf13/pflag"

	"pintle/reports"
	"pintle/reports/certificate"
	"pintle/reports/livepage"
	"pintle/reports/logbook"
	"pintle/rig/atomicfile"
	"pintle/rig/wording"
)

// leaving is how a run leaves a form in a file.
type leaving struct {
	flag  string // of pintle run, which takes the file's name; empty: no run leaves it
	means string // what the flag's help says is written
	told  bool   // the file is named once the run is over
	whole bool   // it rests on all trials, so that --trial refuses it
	demo  string // the file that the demo leaves unasked; empty: none

	// enter notes in the logbook that the file was asked for, before there is the file;
	// nil: nothing is noted.
	enter func(log *logbook.Logbook, run *reports.Run, root, file string) error

	ending, media string // of the file, where the live page offers it; empty: it does not
}

// certified is what a run leaves and is no export: pintle certify makes one later, with
// the record that belongs to it.
var certified = form{name: "certificate", of: ofRun, left: leaving{
	flag: "certificate", means: "a PDF certificate", told: true, whole: true, demo: "certificate.pdf", enter: enterCertificate,
	ending: "pdf", media: "application/pdf",
}, write: func(w io.Writer, p part) error {
	return certificate.Write(w, p.run, p.log, certificate.Options{})
}}

// leavings are the forms that a run leaves.
func leavings() []form {
	all := []form{certified}
	for _, f := range forms {
		if f.left.flag != "" {
			all = append(all, f)
		}
	}
	return all
}

// left is what a run leaves in one file.
type left struct {
	leaving
	file      string // empty: it was not asked for
	rehearsed bool   // nobody asked for it: the demo leaves one
	written   bool
	write     func(w io.Writer, p part) error
}

// leavingFlags adds a flag for each form that a run leaves.
func leavingFlags(f *pflag.FlagSet) []*left {
	var all []*left
	for _, form := range leavings() {
		l := &left{leaving: form.left, write: form.write}
		f.StringVar(&l.file, l.flag, "", "write "+l.means+" to `FILE`")
		all = append(all, l)
	}
	return all
}

// leave writes the files that were asked for, once those are entered in the logbook that
// belong there.
func leave(p part, all []*left) error {
	for _, l := range all {
		if l.file != "" && l.enter != nil && !l.rehearsed {
			if err := l.enter(p.log, p.run, "", l.file); err != nil {
				return err
			}
		}
	}
	var errs []error
	for _, l := range all {
		if l.file == "" {
			continue
		}
		err := write(l.file, func(w io.Writer) error { return l.write(w, p) })
		l.written = err == nil
		errs = append(errs, err)
	}
	if err := errors.Join(errs...); err != nil {
		return usage(err) // of all files that cannot be written, not of the first alone
	}
	return nil
}

// papers are the forms that the live page offers of each run. What somebody takes away from
// there is entered in the logbook as well.
func papers(log *logbook.Logbook) []livepage.Paper {
	var all []livepage.Paper
	for _, f := range leavings() {
		if f.left.media == "" {
			continue
		}
		all = append(all, livepage.Paper{Name: f.left.flag, Title: wording.Upper(f.left.flag), Ending: f.left.ending, Media: f.left.media,
			Write: func(w io.Writer, run *reports.Run) error {
				if f.left.enter != nil {
					if err := f.left.enter(log, run, "", ""); err != nil {
						return err
					}
				}
				return f.write(w, part{log: log, run: run})
			}})
	}
	return all
}

// write writes a file whole or not at all. A file that cannot be written is the
// caller's mistake more often than not.
func write(name string, fill func(io.Writer) error) error {
	if err := os.MkdirAll(filepath.Dir(name), 0o755); err != nil {
		return usage(elsewhere(fmt.Errorf("make the folder of %s: %w", name, err)))
	}
	if err := atomicfile.Write(name, 0o644, fill); err != nil {
		return usage(elsewhere(err))
	}
	return nil
}

// elsewhere says what to do about a place that cannot be written to.
func elsewhere(err error) error {
	switch {
	case errors.Is(err, fs.ErrPermission), errors.Is(err, syscall.EROFS):
		return fmt.Errorf("%w; name a place where you may write", err)
	case errors.Is(err, syscall.ENOSPC):
		return fmt.Errorf("%w; make room there, or name a place on another disk", err)
	}
	return err
}
