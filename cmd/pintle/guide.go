package main

import (
	_ "embed"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
)

//go:embed guide.md
var guide string

// chapters takes the guide apart: what stands before the first chapter, then each.
func chapters() []string {
	var all []string
	for i, part := range strings.Split(guide, "\n## ") {
		if i > 0 {
			part = "## " + part
		}
		all = append(all, strings.TrimRight(part, "\n")+"\n")
	}
	return all
}

// title is what a chapter is called, with its number.
func title(chapter string) string {
	line, _, _ := strings.Cut(chapter, "\n")
	return strings.TrimPrefix(line, "## ")
}

// contents lists the chapters, and says how to read them.
func contents(all []string) string {
	var b strings.Builder
	b.WriteString("\n")
	for _, c := range all[1:] {
		n, name, _ := strings.Cut(title(c), " ")
		fmt.Fprintf(&b, "%4s  %s\n", n, name)
	}
	b.WriteString("\nNext: pintle guide 1, or all of it at once: pintle guide all\n")
	return b.String()
}

// turn says where to read on.
func turn(all []string, n int) string {
	if n+1 >= len(all) {
		return ""
	}
	return fmt.Sprintf("\nNext: pintle guide %d: %s\n", n+1, strings.TrimLeft(title(all[n+1]), "0123456789 "))
}

func guideCommand(a *app) *cobra.Command {
	return &cobra.Command{
		Use:   "guide [CHAPTER]",
		Short: "the way from a box of parts to a certificate",
		Long: `Prints one chapter of the guide for the first evening, by its number, or all of it.
Without a chapter it prints what stands before the first, and what chapters there are.`,
		Args: cobra.MaximumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			all := chapters()
			switch {
			case len(args) == 0:
				_, err := fmt.Fprint(a.out, all[0]+contents(all))
				return err
			case args[0] == "all":
				_, err := fmt.Fprint(a.out, strings.Join(all, "\n"))
				return err
			}
			n, err := strconv.Atoi(args[0])
			if err != nil || n < 1 || n >= len(all) {
				return usage(fmt.Errorf("the guide has chapters 1 to %d, and none %q; pintle guide lists them", len(all)-1, args[0]))
			}
			_, err = fmt.Fprint(a.out, all[n]+turn(all, n))
			return err
		},
	}
}
