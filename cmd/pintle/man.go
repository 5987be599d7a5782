//go:build man

package main

import (
	"bytes"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"time"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"pintle/rig/wording"
)

// The verb man is only there in a binary that is built to make a package
// (-tags man): it sees the very commands and flags that the program has, and the
// program that is shipped carries nothing of it.
func init() { verbs = append(verbs, manCommand) }

func manCommand(*app) *cobra.Command {
	return &cobra.Command{
		Use: "man DIR", Short: "write the manual pages into a folder", Hidden: true,
		Args: cobra.ExactArgs(1),
		RunE: func(c *cobra.Command, args []string) error {
			date, err := epoch(os.Getenv("SOURCE_DATE_EPOCH"))
			if err != nil {
				return usage(err)
			}
			return writePages(c.Root(), args[0], date)
		},
	}
}

// epoch reads the date that a page bears. It is never that of the clock: two builds
// of one source give the same bytes.
func epoch(s string) (time.Time, error) {
	n, err := strconv.ParseInt(s, 10, 64)
	if err != nil || n < 0 {
		return time.Time{}, fmt.Errorf("SOURCE_DATE_EPOCH is %q: want the seconds since 1970 of the last change, as git log -1 --format=%%ct prints them", s)
	}
	return time.Unix(n, 0).UTC(), nil
}

// writePages writes a page for the program and one for each command.
func writePages(root *cobra.Command, dir string, date time.Time) error {
	var errs []error
	for _, c := range append([]*cobra.Command{root}, shown(root)...) {
		path := filepath.Join(dir, pageName(c)+".1")
		errs = append(errs, os.WriteFile(path, manPage(c, date), 0o644))
	}
	return errors.Join(errs...)
}

// shown are the commands that have a page.
func shown(root *cobra.Command) []*cobra.Command {
	var cs []*cobra.Command
	for _, c := range root.Commands() {
		if !c.Hidden && c.Name() != "help" && c.Name() != "completion" {
			cs = append(cs, c)
		}
	}
	return cs
}

func pageName(c *cobra.Command) string { return strings.ReplaceAll(c.CommandPath(), " ", "-") }

// manPage is the page of a command, in the man macros (man(7)).
func manPage(c *cobra.Command, date time.Time) []byte {
	p := &page{}
	p.line(".TH %s 1 %s pintle %s", quoted(strings.ToUpper(pageName(c))), date.Format(time.DateOnly), quoted("User Commands"))
	p.line(".SH NAME")
	p.line(`%s \- %s`, escaped(pageName(c)), escaped(c.Short))
	p.line(".SH SYNOPSIS")
	p.synopsis(c)
	p.line(".SH DESCRIPTION")
	p.prose(description(c))
	if !c.HasParent() {
		p.commands(c)
	}
	p.options(c.NonInheritedFlags())
	if !c.HasParent() {
		p.files()
	}
	p.seeAlso(c)
	return p.Bytes()
}

func description(c *cobra.Command) string {
	if c.Long != "" {
		return c.Long
	}
	return wording.Upper(c.Short) + "."
}

// A page is a page in the making.
type page struct{ bytes.Buffer }

func (p *page) line(format string, args ...any) { fmt.Fprintf(&p.Buffer, format+"\n", args...) }

func (p *page) synopsis(c *cobra.Command) {
	if c.HasParent() {
		_, operands, _ := strings.Cut(c.Use, " ")
		p.line(`\fB%s\fR %s`, escaped(c.CommandPath()), escaped(strings.TrimSpace("[OPTION...] "+operands)))
		return
	}
	p.line(`\fB%s\fR COMMAND [OPTION...] [ARGUMENT...]`, escaped(c.Name()))
}

// prose sets paragraphs. Lines that are indented or set in columns stay as they are.
func (p *page) prose(text string) {
	for i, paragraph := range strings.Split(strings.TrimSpace(text), "\n\n") {
		if i > 0 {
			p.line(".PP")
		}
		table := strings.HasPrefix(paragraph, " ") || strings.Contains(paragraph, "\n ")
		if table {
			p.line(".nf")
		}
		for _, l := range strings.Split(paragraph, "\n") {
			p.line("%s", escaped(strings.TrimRight(l, " ")))
		}
		if table {
			p.line(".fi")
		}
	}
}

func (p *page) commands(root *cobra.Command) {
	p.line(".SH COMMANDS")
	for _, c := range shown(root) {
		p.entry(fmt.Sprintf(`\fB%s\fR(1)`, escaped(pageName(c))), c.Short)
	}
}

// fromTheMachine are defaults that the machine gives, in the words that hold on all.
var fromTheMachine = map[string]string{"workers": "one for each processor"}

func (p *page) options(flags *pflag.FlagSet) {
	p.line(".SH OPTIONS")
	flags.VisitAll(func(f *pflag.Flag) {
		if f.Hidden {
			return
		}
		kind, about := pflag.UnquoteUsage(f)
		tag := `\fB` + escaped("--"+f.Name) + `\fR`
		if f.Shorthand != "" {
			tag = `\fB` + escaped("-"+f.Shorthand) + `\fR, ` + tag
		}
		if kind != "" {
			tag += ` \fI` + escaped(kind) + `\fR`
		}
		byDefault, ok := fromTheMachine[f.Name]
		if !ok && !idle(f) {
			byDefault = f.DefValue
		}
		if byDefault != "" {
			about += fmt.Sprintf(" (default: %s)", byDefault)
		}
		p.entry(tag, about)
	})
}

// idle says that a flag's default is that it does nothing.
func idle(f *pflag.Flag) bool {
	return f.DefValue == "" || f.DefValue == "0" || f.DefValue == "0s" || f.DefValue == "false" || f.DefValue == "[]"
}

func (p *page) entry(tag, about string) {
	p.line(".TP")
	p.line("%s", tag)
	p.line("%s", escaped(about))
}

func (p *page) files() {
	p.line(".SH FILES")
	p.entry(`\fIbench.yaml\fR, \fIgate.yaml\fR, \fIcontroller.yaml\fR, \fIscenarios/*.yaml\fR`,
		"the files of a job folder; pintle init writes commented ones, pintle schema their schemas")
	p.entry(`\fIlogbook.db\fR`, "the logbook that runs are kept in: one SQLite file")
}

func (p *page) seeAlso(c *cobra.Command) {
	p.line(".SH SEE ALSO")
	if c.HasParent() {
		p.line(`\fBpintle\fR(1)`)
		return
	}
	var all []string
	for _, s := range shown(c) {
		all = append(all, `\fB`+escaped(pageName(s))+`\fR(1)`)
	}
	p.line("%s", strings.Join(all, ",\n"))
}

var inRoff = strings.NewReplacer(`\`, `\e`, "-", `\-`, "±", `\[+-]`, "µ", `\[mc]`, "–", `\[en]`, "’", `\[cq]`, "·", `\[pc]`, "~", `\(ti`, "^", `\(ha`, "`", `\(ga`)

// escaped makes text that roff takes as it stands: no line of it is a request.
func escaped(s string) string {
	lines := strings.Split(inRoff.Replace(s), "\n")
	for i, l := range lines {
		if strings.HasPrefix(l, ".") || strings.HasPrefix(l, "'") {
			lines[i] = `\&` + l
		}
	}
	return strings.Join(lines, "\n")
}

func quoted(s string) string { return `"` + strings.ReplaceAll(escaped(s), `"`, `\(dq`) + `"` }
