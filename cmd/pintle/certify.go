package main

import (
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"pintle/reports"
	"pintle/reports/certificate"
	"pintle/reports/logbook"
)

func certifyCommand(a *app) *cobra.Command {
	var file, out, paper, replaces, because string
	var keep keepOptions
	c := &cobra.Command{
		Use:   "certify RUN",
		Short: "the certificate and the signed record of a run",
		Long: `Writes the certificate of a run that is in the logbook: on page one the verdict and what
it covers, then each claim and each scenario, what did not pass in full, the strip chart
of the tightest trial of each claim, and how anybody can check it. The same run gives the
same bytes each time.

An amended certificate says which one it replaces and why (--replaces, --because), and
has an ID of its own.

Beside it goes the run's record: one zip file with the run, every trial, its trace and the
digests of all, signed with the key of pintle key. Anybody can check it, with pintle
verify or with sha256sum and minisign alone. --excerpt writes one trial of it into a file
of its own, with the proof that it belongs to that record.`,
		Args: cobra.ExactArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			o := certificate.Options{Letter: strings.EqualFold(paper, "letter")}
			if !o.Letter && !strings.EqualFold(paper, "a4") {
				return usage(fmt.Errorf("--paper %q: it is A4 or letter", paper))
			}
			if o.Replaces, o.Because = replaces, because; (replaces == "") != (because == "") {
				return usage(fmt.Errorf("--replaces and --because go together: which certificate this one replaces, and what has changed"))
			}
			return withRun(file, args[0], func(log *logbook.Logbook, run *reports.Run) error {
				if out == "" {
					out = "certificate-" + run.ID + ".pdf"
				}
				if keep.file == "" {
					keep.file = filepath.Join(filepath.Dir(out), "record-"+run.ID+".zip")
				}
				head, err := a.keep(log, run, keep)
				if err != nil {
					return err
				}
				o.Root, o.Key, o.Record = head.Root, head.key, filepath.Base(keep.file)
				if err := enterCertificate(log, run, head.Root, out); err != nil {
					return err
				}
				if err := write(out, func(w io.Writer) error { return certificate.Write(w, run, log, o) }); err != nil {
					return err
				}
				fmt.Fprintf(a.out, "certificate %s: %v\n", out, run.Verdict)
				return nil
			})
		},
	}
	logFlag(c, &file)
	keep.flags(c)
	c.Flags().StringVar(&out, "out", "", "write it to `FILE` (default: certificate-RUN.pdf)")
	c.Flags().StringVar(&replaces, "replaces", "", "an amended certificate: the `ID` of the one that it replaces")
	c.Flags().StringVar(&because, "because", "", "with --replaces: what has changed and why, as `TEXT` on page one")
	c.Flags().StringVar(&paper, "paper", "A4", "A4 or letter")
	return c
}
