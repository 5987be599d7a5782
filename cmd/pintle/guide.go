package main

import (
	_ "embed"
	"fmt"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"pintle/rig/fold"
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

// reflowed joins the lines of each paragraph and of each item, for a terminal that has room
// for less than they are long: what is folded twice is ragged. What is typed or printed stays
// as it is, and so do tables and headings.
func reflowed(text string, columns int) string {
	if columns >= helpColumns {
		return text
	}
	var b strings.Builder
	fenced, open := false, false // open: the line before may go on
	for line := range strings.Lines(text) {
		line = strings.TrimSuffix(line, "\n")
		begins := line == "" || strings.HasPrefix(line, "```") || strings.ContainsAny(line[:1], "-#|")
		switch {
		case fenced || begins || !open:
			if open {
				b.WriteString("\n")
			}
			b.WriteString(line)
		default:
			b.WriteString(" " + strings.TrimLeft(line, " "))
		}
		if strings.HasPrefix(line, "```") {
			fenced = !fenced
		}
		if open = !fenced && line != "" && !strings.HasPrefix(line, "```") && !strings.ContainsAny(line[:1], "#|"); !open {
			b.WriteString("\n")
		}
	}
	if open {
		b.WriteString("\n")
	}
	return b.String()
}

// title is what a chapter is called, with its number.
func title(chapter string) string {
	line, _, _ := strings.Cut(chapter, "\n")
	return strings.TrimPrefix(line, "## ")
}

// contents lists the chapters, and says how to read them.
func contents(all []string, columns int) string {
	var b strings.Builder
	b.WriteString("\n")
	for _, c := range all[1:] {
		n, name, _ := strings.Cut(title(c), " ")
		b.WriteString(fold.Hanging(fmt.Sprintf("%4s  ", n), name, columns))
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
				_, err := fmt.Fprint(a.out, reflowed(all[0], columns(a.out))+contents(all, columns(a.out)))
				return err
			case args[0] == "all":
				_, err := fmt.Fprint(a.out, reflowed(strings.Join(all, "\n"), columns(a.out)))
				return err
			}
			n, err := strconv.Atoi(args[0])
			if err != nil || n < 1 || n >= len(all) {
				return usage(fmt.Errorf("the guide has chapters 1 to %d, and none %q; pintle guide lists them", len(all)-1, args[0]))
			}
			_, err = fmt.Fprint(a.out, reflowed(all[n], columns(a.out))+turn(all, n))
			return err
		},
	}
}
