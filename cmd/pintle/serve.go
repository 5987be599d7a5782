package main

import (
	"context"
	"crypto/tls"
	"errors"
	"fmt"
	"net"
	"strconv"

	"github.com/spf13/cobra"

	"pintle/reports/livepage"
	"pintle/reports/logbook"
)

// serveOptions are the flags of pintle serve.
type serveOptions struct {
	listen           string
	port             int
	names            []string
	certificate, key string
	token            string
	log              string
	pace             float64
}

func serveCommand(a *app) *cobra.Command {
	var o serveOptions
	c := &cobra.Command{
		Use:   "serve [DIR]",
		Short: "a page that shows the bench at work",
		Long: `Serves a page for a browser on this machine: the strip chart as it is written, the rules
as they settle, past runs and their papers; a run can be started there, and stopped.

Open the address that it prints. What stands behind the # in it is a token: whoever has
it may look and act, so it keeps other users of this machine out as well. It is kept in
a file of yours and stays the same; --token names another file.

Many may look. One page at a time has the controls, and taking them over is a button of
its own. STOP needs no controls: whoever has the page may stop the bench.

Nobody else on the network can reach it, unless --listen names another address. It then
speaks TLS alone, with the certificate of --certificate and --certificate-key, or else
with one that it makes for itself and whose fingerprint it prints: compare it with what
the browser shows.

A simulated bench goes at the pace that is chosen on the page; --pace is the one offered
first. The job's files are read once, when it starts: where they have changed since, no
run is begun, and the page says so.`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			dir := ""
			if len(args) > 0 {
				dir = args[0]
			}
			return a.serve(c.Context(), dir, o)
		},
	}
	f := c.Flags()
	f.IntVar(&o.port, "port", 4117, "the port on this machine; 0: any that is free")
	f.StringVar(&o.listen, "listen", "", "an `ADDRESS:PORT` other than this machine's own, with TLS")
	f.StringSliceVar(&o.names, "name", nil, "with --listen: a further `NAME` under which browsers ask for this machine")
	f.StringVar(&o.certificate, "certificate", "", "with --listen: the TLS certificate `FILE` (PEM)")
	f.StringVar(&o.key, "certificate-key", "", "with --listen: its key `FILE` (PEM)")
	f.StringVar(&o.token, "token", "", "the `FILE` that holds the token, made where there is none (default: pintle/page-token in your configuration folder)")
	f.StringVar(&o.log, "logbook", "", "the `LOGBOOK`: a file, or the address of a database, postgres://... (default: logbook.db in the job folder)")
	f.Float64Var(&o.pace, "pace", 1, "of a simulated bench: seconds of its time in one of ours; 0: as fast as can be")
	c.MarkFlagsRequiredTogether("certificate", "certificate-key")
	c.MarkFlagsMutuallyExclusive("port", "listen")
	return c
}

func (a *app) serve(ctx context.Context, dir string, o serveOptions) error {
	if o.pace != 0 && !(o.pace >= livepage.LeastPace && o.pace <= livepage.MostPace) {
		return usage(fmt.Errorf("--pace takes 0 or a number from %v to %v", livepage.LeastPace, livepage.MostPace))
	}
	job, err := loadJob(dir)
	if err != nil {
		return err
	}
	run := runOptions{log: o.log}
	run.defaults(dir)
	log, err := makeLog(run.log)
	if err != nil {
		return err
	}
	defer log.Close()
	house, err := houseOf(a, job, dir, run.log, log, o.pace)
	if err != nil {
		return err
	}
	l, door, print, err := a.listen(o)
	if err != nil {
		return usage(err)
	}
	scheme := "http"
	if door.TLS {
		scheme = "https"
	}
	fmt.Fprintf(a.out, "%s, %s\n%s://%s/#token=%s\n", job.Title, house.Bench, scheme, door.Hosts[0], door.Token)
	if print != "" {
		fmt.Fprintf(a.out, "certificate SHA-256 %s\n", print)
	}
	fmt.Fprintln(a.err, "Open this address in a browser. Whoever has it may look, start and stop.\nCtrl-C ends it, and makes the bench safe.")
	if err := livepage.New(house, door, livepage.NewClock()).Serve(ctx, l); err != nil {
		return void(fmt.Errorf("serve the page: %w", err))
	}
	fmt.Fprintln(a.err, "The page has ended, and the bench is safe. The runs are in "+logbook.Name(run.log)+".")
	return nil
}

// listen opens the address, and says who may come in by it.
func (a *app) listen(o serveOptions) (l net.Listener, d livepage.Door, print string, err error) {
	address := o.listen
	if address == "" {
		address = net.JoinHostPort("127.0.0.1", strconv.Itoa(o.port))
	}
	host, _, err := net.SplitHostPort(address)
	if err != nil {
		return nil, d, "", fmt.Errorf("--listen %s: an address and a port are wanted, such as 192.168.1.20:4117: %w", address, err)
	}
	if host == "" {
		return nil, d, "", fmt.Errorf("--listen %s: say which address is meant; 0.0.0.0 is all of them", address)
	}
	d.TLS = !livepage.Loopback(host)
	if !d.TLS && (o.certificate != "" || len(o.names) > 0) {
		return nil, d, "", errors.New("--certificate and --name are for --listen with an address that others can reach")
	}
	if d.Token, err = pageToken(o.token); err != nil {
		return nil, d, "", err
	}
	names := namesOf(host, o.names)
	var config *tls.Config
	if d.TLS {
		if config, print, err = pageTLS(o, names); err != nil {
			return nil, d, "", err
		}
	}
	if l, err = net.Listen("tcp", address); err != nil {
		return nil, d, "", fmt.Errorf("listen: %w; --port or --listen names another", err)
	}
	_, port, _ := net.SplitHostPort(l.Addr().String())
	d.Hosts = hostsOf(names, port, d.TLS)
	if d.TLS {
		l = tls.NewListener(l, config)
	}
	return l, d, print, nil
}
