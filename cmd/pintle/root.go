package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"runtime/debug"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// verbs are the commands, in the order in which a newcomer meets them.
var verbs = []func(*app) *cobra.Command{
	initCommand,
	checkCommand,
	wiringCommand,
	deriveCommand,
	listCommand,
	runCommand,
	logCommand,
	showCommand,
	compareCommand,
	certifyCommand,
	keyCommand,
	verifyCommand,
	proveCommand,
	exportCommand,
	serveCommand,
	schemaCommand,
	guideCommand,
	explainCommand,
}

// An app is one call of the program: results go to out, progress and diagnostics
// to err. What is for other programs goes out raw.
type app struct {
	out, err io.Writer
	raw      io.Writer
}

const about = `pintle plays an electric gate to its controller on a bench, runs scripted faults
and checks what the controller does against timing rules.

With no job folder it uses the demo: a lift-up barrier at an invented boatyard,
on the virtual bench. Nothing has to be connected. Begin with pintle run; the way
from there is in pintle guide.

Exit status: 0 pass, 1 fail, 2 inconclusive, 3 the bench failed,
64 the call or a file is wrong, 74 results could not be written.`

// pintle performs one call and gives the exit status.
func pintle(ctx context.Context, args []string, out, errs io.Writer) int {
	o := &outlet{w: out}
	results, end := narrowed(o, false)
	messages, _ := narrowed(errs, true)
	a := &app{out: forPeople(results), err: forPeople(messages), raw: o}
	root := a.root()
	root.SetArgs(args)
	if len(args) > 0 && args[0] == cobra.ShellCompRequestCmd {
		unquote(root)
	}
	called, err := root.ExecuteContextC(ctx)
	var e *ended
	if err != nil && !errors.As(err, &e) && ctx.Err() != nil {
		err = void(fmt.Errorf("%s: %w; it was not performed to its end", called.CommandPath(), err))
	}
	if err != nil && !errors.As(err, &e) {
		err = usage(miscalled(called, err)) // cobra's own: an unknown command or flag
	}
	if errors.As(err, &e) && e.err != nil {
		a.complain(e.err)
	}
	end()
	return o.whole(a, exitStatus(err))
}

func (a *app) root() *cobra.Command {
	root := &cobra.Command{
		Use: "pintle", Short: "put the controller of an electric gate to the test", Long: about,
		SilenceErrors: true, SilenceUsage: true, Version: version(),
		Args: cobra.NoArgs, PersistentPreRunE: nameless,
		RunE: func(c *cobra.Command, _ []string) error { return c.Help() },
	}
	root.SetOut(a.out)
	root.SetErr(a.err)
	root.SetGlobalNormalizationFunc(spelling)
	setHelp(root)
	for _, verb := range verbs {
		root.AddCommand(verb(a))
	}
	topics(root)
	return root
}

// unquote takes the quotes from what flags are said to do. In help they mark what a flag's
// value is called; a shell that completes shows them as they are.
func unquote(c *cobra.Command) {
	c.Flags().VisitAll(func(f *pflag.Flag) { f.Usage = strings.ReplaceAll(f.Usage, "`", "") })
	for _, sub := range c.Commands() {
		unquote(sub)
	}
}

// version is what the binary knows of its own origin.
func version() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return "unknown"
	}
	v := info.Main.Version
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" && len(s.Value) >= 12 && v == "(devel)" {
			v = s.Value[:12]
		}
	}
	return v
}
