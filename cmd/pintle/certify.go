package main

import (
	"cmp"
	"fmt"
	"io"
	"path/filepath"
	"strings"

	"github.com/spf13/cobra"

	"pintle/reports"
	"pintle/reports/certificate"
	"pintle/reports/logbook"
)

// certifying is what a certificate is to be like, and where it and its record go.
type certifying struct {
	log, out, paper, replaces, because string
	keep                               keepOptions
}

func certifyCommand(a *app) *cobra.Command {
	var o certifying
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
			how, err := o.options()
			if err != nil {
				return err
			}
			return withRun(o.log, args[0], func(log *logbook.Logbook, run *reports.Run) error { return a.certify(log, run, o, how) })
		},
	}
	logFlag(c, &o.log)
	o.keep.flags(c)
	c.Flags().StringVar(&o.out, "out", "", "write it to `FILE` (default: certificate-RUN.pdf)")
	c.Flags().StringVar(&o.replaces, "replaces", "", "an amended certificate: the `ID` of the one that it replaces")
	c.Flags().StringVar(&o.because, "because", "", "with --replaces: what has changed and why, as `TEXT` on page one")
	c.Flags().StringVar(&o.paper, "paper", "A4", "`SIZE` of the paper: A4 or letter")
	return c
}

// options are those of the certificate itself.
func (o certifying) options() (certificate.Options, error) {
	how := certificate.Options{Letter: strings.EqualFold(o.paper, "letter"), Replaces: o.replaces, Because: o.because}
	if !how.Letter && !strings.EqualFold(o.paper, "a4") {
		return how, usage(fmt.Errorf("--paper %q: it is A4 or letter", o.paper))
	}
	if (o.replaces == "") != (o.because == "") {
		return how, usage(fmt.Errorf("--replaces and --because go together: which certificate this one replaces, and what has changed"))
	}
	return how, nil
}

// certify writes the record, then the certificate that names it.
func (a *app) certify(log *logbook.Logbook, run *reports.Run, o certifying, how certificate.Options) error {
	out := cmp.Or(o.out, "certificate-"+run.ID+".pdf")
	o.keep.file = cmp.Or(o.keep.file, filepath.Join(filepath.Dir(out), "record-"+run.ID+".zip"))
	for _, file := range []string{out, o.keep.file} {
		if isFolder(file) {
			return usage(fmt.Errorf("write %s: it is a folder; name a file in it", file))
		}
	}
	a.doubtReplaced(log, o.replaces)
	head, err := a.keep(log, run, o.keep)
	if err != nil {
		return err
	}
	how.Root, how.Key, how.Record = head.Root, head.key, filepath.Base(o.keep.file)
	if err := enterCertificate(log, run, head.Root, out); err != nil {
		return err
	}
	if err := write(out, func(w io.Writer) error { return certificate.Write(w, run, log, how) }); err != nil {
		return err
	}
	fmt.Fprintf(a.out, "certificate %s: %v\n", out, run.Verdict)
	return nil
}

// doubtReplaced says so where the logbook does not know the certificate that is to be
// replaced. It may have been issued from another one.
func (a *app) doubtReplaced(log *logbook.Logbook, id string) {
	run, _, _ := strings.Cut(id, "-amended-") // the ID of a certificate is that of its run, with this where it was amended
	if id == "" {
		return
	}
	if all, err := log.Certificates(run); err != nil || len(all) == 0 || all[0].Run != run {
		fmt.Fprintf(a.err, "pintle: this logbook knows no certificate %s: see that --replaces is the ID on the one that is replaced\n", id)
	}
}
