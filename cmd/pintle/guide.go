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

func guideCommand(a *app) *cobra.Command {
	return &cobra.Command{
		Use:   "guide [CHAPTER]",
		Short: "the way from a box of parts to a certificate",
		Long:  "Prints the guide for the first evening, or one chapter of it by its number.",
		Args:  cobra.MaximumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			all := chapters()
			if len(args) == 0 {
				_, err := fmt.Fprint(a.out, strings.Join(all, "\n"))
				return err
			}
			n, err := strconv.Atoi(args[0])
			if err != nil || n < 1 || n >= len(all) {
				return usage(fmt.Errorf("the guide has chapters 1 to %d, and none %q", len(all)-1, args[0]))
			}
			_, err = fmt.Fprint(a.out, all[n])
			return err
		},
	}
}
