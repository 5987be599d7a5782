package main

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
)

// miscalled puts a mistake in the call, as cobra and pflag tell of it, into words that say
// what was expected of which command, and what to do next. c is the command that was called.
func miscalled(c *cobra.Command, err error) error {
	var (
		unknown *pflag.NotExistError
		bare    *pflag.ValueRequiredError
		value   *pflag.InvalidValueError
	)
	switch {
	case errors.As(err, &unknown):
		return fmt.Errorf("%s has no flag %q%s", c.CommandPath(), dashed(unknown.GetSpecifiedName()),
			then(suggestion(dashed(unknown.GetSpecifiedName()), flagsOf(c)), seeHelp(c)))
	case errors.As(err, &bare):
		return fmt.Errorf("%s: %s wants %s after it; %s", c.CommandPath(), dashed(bare.GetSpecifiedName()),
			kindOf(bare.GetFlag()), seeHelp(c))
	case errors.As(err, &value) && errors.Is(err, strconv.ErrRange):
		return fmt.Errorf("%s: --%s takes a smaller number than %s; %s", c.CommandPath(), value.GetFlag().Name, value.GetValue(), seeHelp(c))
	case errors.As(err, &value):
		return fmt.Errorf("%s: --%s takes %s, not %q; %s", c.CommandPath(), value.GetFlag().Name,
			kindOf(value.GetFlag()), value.GetValue(), seeHelp(c))
	}
	given := c.Flags().Args()
	switch {
	case strings.HasPrefix(err.Error(), "unknown command") && !c.HasParent() && len(given) > 0:
		return fmt.Errorf("there is no command %q%s", given[0], then(suggestion(given[0], commandsOf(c)), "pintle --help lists them all"))
	case strings.HasPrefix(err.Error(), "unknown command"), strings.HasPrefix(err.Error(), "accepts "):
		return fmt.Errorf("the call is %s, and %s given; %s", callOf(c), givenWords(given), seeHelp(c))
	}
	return fmt.Errorf("%s: %w; %s", c.CommandPath(), err, seeHelp(c))
}

// nameless refuses an empty word, which a shell makes of a variable that is not set: it must
// not stand for the demo, nor for the folder that the caller happens to be in.
func nameless(c *cobra.Command, args []string) error {
	if slices.Contains(args, "") {
		return usage(fmt.Errorf("%s: a word of the call is empty, as that of a shell's variable that is not set; leave it out or put a name there", c.CommandPath()))
	}
	return twice(c)
}

// twice refuses one file for two flags of which one writes it: the other's would be gone.
func twice(c *cobra.Command) error {
	files, errs := map[string]*pflag.Flag{}, []error(nil)
	c.Flags().Visit(func(f *pflag.Flag) {
		kind, _ := pflag.UnquoteUsage(f)
		file := f.Value.String()
		if kind != "FILE" || file == "" || strings.HasPrefix(file, "/dev/") {
			return
		}
		file = filepath.Clean(file)
		if other := files[file]; other != nil && (writes(f) || writes(other)) {
			errs = append(errs, fmt.Errorf("--%s and --%s are both to be %s, and one would overwrite the other: name another file for one of them", other.Name, f.Name, file))
		}
		files[file] = f
	})
	if len(errs) > 0 {
		return usage(errors.Join(errs...))
	}
	return nil
}

// writes says that a flag names a file to write, as its usage tells.
func writes(f *pflag.Flag) bool { return strings.Contains(f.Usage, "write") }

// then joins what may have been meant, a question or nothing, to what helps in any case.
func then(question, help string) string {
	if question == "" {
		return "; " + help
	}
	return question + " (" + help + ")"
}

func seeHelp(c *cobra.Command) string { return c.CommandPath() + " --help tells more" }

func callOf(c *cobra.Command) string { return strings.TrimSuffix(c.UseLine(), " [flags]") }

// givenWords says what was given in place of what is wanted.
func givenWords(given []string) string {
	switch len(given) {
	case 0:
		return "nothing was"
	case 1:
		return fmt.Sprintf("only %q was", given[0])
	}
	return fmt.Sprintf("%q were", given)
}

// dashed is a flag as it is typed.
func dashed(name string) string {
	if len(name) == 1 {
		return "-" + name
	}
	return "--" + name
}

func kindOf(f *pflag.Flag) string {
	switch kind, _ := pflag.UnquoteUsage(f); {
	case strings.HasPrefix(f.Value.Type(), "uint"):
		return "a whole number from 0 up"
	case strings.Contains(f.Value.Type(), "int"):
		return "a whole number"
	case strings.HasPrefix(f.Value.Type(), "float"):
		return "a number"
	case f.Value.Type() == "duration":
		return "a time such as 90s"
	case kind == "" || kind == "string":
		return "a value"
	default:
		return strings.ToUpper(kind)
	}
}

func flagsOf(c *cobra.Command) (names []string) {
	c.Flags().VisitAll(func(f *pflag.Flag) { names = append(names, "--"+f.Name) })
	return names
}

func commandsOf(c *cobra.Command) (names []string) {
	for _, sub := range c.Commands() {
		if !sub.Hidden {
			names = append(names, sub.Name())
		}
	}
	return names
}
