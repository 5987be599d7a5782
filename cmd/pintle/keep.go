package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"pintle/reports"
	"pintle/reports/evidence"
	"pintle/reports/logbook"
	"pintle/reports/seal"
)

// keepOptions say where a run's record goes, and who signs it.
type keepOptions struct {
	file     string
	excerpt  string // SCENARIO/TRIAL
	unsigned bool
	key      keyOptions
}

func (o *keepOptions) flags(c *cobra.Command) {
	c.Flags().StringVar(&o.file, "record", "", "write the record to `FILE` (default: record-RUN.zip beside the certificate)")
	c.Flags().StringVar(&o.excerpt, "excerpt", "", "write one trial out of the record as well, beside it: `SCENARIO/TRIAL`")
	c.Flags().BoolVar(&o.unsigned, "unsigned", false, "do not sign the record, though there is a key")
	o.key.flags(c, "key")
}

// A kept is what a record file holds, and the ID of the key that it is signed with;
// empty where it is not signed.
type kept struct {
	evidence.Head
	key string
}

// keep writes the record of a run, reads it again, and writes the excerpt asked for.
func (a *app) keep(log *logbook.Logbook, run *reports.Run, o keepOptions) (kept, error) {
	var none kept
	var scenario string
	var trial int
	if o.excerpt != "" {
		s, i, err := find(run, o.excerpt)
		if err != nil {
			return none, usage(err)
		}
		scenario, trial = s.Name, s.Trials[i].Number
	}
	key, err := o.signer(a)
	if err != nil {
		return none, err
	}
	var sign evidence.Signer
	if key != nil {
		sign = evidence.SignWith(key)
	}
	if err := write(o.file, func(w io.Writer) error {
		_, err := evidence.Write(w, run, log, sign)
		return err
	}); err != nil {
		return none, err
	}
	h, err := a.reread(o.file, key, scenario, trial)
	if err != nil {
		return none, err
	}
	return h, nil
}

// signer takes the key up; nil where there is none, which is said.
func (o keepOptions) signer(a *app) (*seal.Key, error) {
	if o.unsigned {
		return nil, nil
	}
	if o.key.file == "" {
		file, err := o.key.private()
		if err == nil {
			_, err = os.Stat(file)
		}
		if err != nil {
			if errors.Is(err, fs.ErrNotExist) || file == "" {
				fmt.Fprintln(a.err, "pintle: the record is not signed: there is no key yet; pintle key new makes one, and pintle certify then signs with it")
				return nil, nil
			}
			return nil, usage(err)
		}
	}
	return o.key.load(a)
}

// reread checks a record that was just written as anybody would, and takes an excerpt
// out of it: what cannot be checked must not be handed over.
func (a *app) reread(file string, key *seal.Key, scenario string, trial int) (kept, error) {
	var none kept
	f, err := os.Open(file)
	if err != nil {
		return none, usage(fmt.Errorf("read the record again: %w", err))
	}
	defer f.Close()
	info, err := f.Stat()
	if err != nil {
		return none, usage(fmt.Errorf("read the record again: %w", err))
	}
	rec, err := evidence.Open(f, info.Size())
	if err != nil {
		return none, fmt.Errorf("%s: %w", file, err)
	}
	var verify evidence.Verifier
	by, id := "not signed", ""
	if key != nil {
		verify, by, id = evidence.VerifyWith(key.Public()), "signed with key "+key.ID(), key.ID()
	}
	if err := rec.Check(verify); err != nil {
		return none, fmt.Errorf("%s: %w", file, err)
	}
	fmt.Fprintf(a.out, "record %s: %s\n", file, by)
	if scenario == "" {
		return kept{rec.Head(), id}, nil
	}
	part := filepath.Join(filepath.Dir(file), fmt.Sprintf("excerpt-%s-%s-%d.zip", rec.Head().Run, strings.ReplaceAll(scenario, "/", "-"), trial))
	if err := write(part, func(w io.Writer) error { return evidence.Excerpt(w, rec, scenario, trial) }); err != nil {
		return none, err
	}
	fmt.Fprintf(a.out, "excerpt %s: %s trial %d\n", part, scenario, trial)
	return kept{rec.Head(), id}, nil
}
