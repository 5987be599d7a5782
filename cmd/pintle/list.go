package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"pintle/rig/fold"
	"pintle/scenarios"
)

func listCommand(a *app) *cobra.Command {
	var long bool
	var group string
	c := &cobra.Command{
		Use:   "list [DIR]",
		Short: "the scenarios, what each is for, the claims that it tests",
		Args:  cobra.MaximumNArgs(1),
		RunE: func(_ *cobra.Command, args []string) error {
			dir := ""
			if len(args) > 0 {
				dir = args[0]
			}
			return a.list(dir, group, long)
		},
	}
	c.Flags().StringVar(&group, "group", "", "only those that protect this: people, mechanism, electronics, battery or convenience")
	c.Flags().BoolVar(&long, "long", false, "print the scripts and the rules as well")
	return c
}

func (a *app) list(dir, group string, long bool) error {
	job, err := loadJob(dir)
	if err != nil {
		return err
	}
	if groups := scenarios.Groups(); group != "" && !slices.Contains(groups, group) {
		return usage(fmt.Errorf("no scenario protects %q%s", group, suggestion(group, groups)))
	}
	fmt.Fprintf(a.out, "%s\n%s\n", job.Title, job.Controller.Board.Text)
	for i := range job.Scenarios {
		s := &job.Scenarios[i]
		if group != "" && s.Group != group {
			continue
		}
		fmt.Fprintf(a.out, "\n%s: %s\n", s.Name, s.Title)
		a.paragraph(s.Why)
		a.paragraph("Protects " + article(s.Group) + s.Group + " from this: " + s.Hazard)
		a.paragraph("Needs the lines " + s.Lines.String())
		if len(s.Claims) > 0 {
			a.paragraph("Tests: " + strings.Join(s.Claims, ", "))
		}
		if s.NotApplicable != "" {
			a.paragraph("Does not apply: " + s.NotApplicable)
		}
		if !long {
			continue
		}
		for _, f := range s.Faults {
			fmt.Fprintf(a.out, "    fault  %v\n", f)
		}
		for _, step := range s.Script {
			fmt.Fprintf(a.out, "    step   %s\n", step.Text)
		}
		for _, r := range s.Rules {
			fmt.Fprintf(a.out, "    rule   %s\n", r.Name)
		}
	}
	return nil
}

// article is the word before a group's name where English wants one.
func article(group string) string {
	switch group {
	case "mechanism", "battery":
		return "the "
	}
	return ""
}

// paragraph prints a text indented, in lines of at most 80 columns.
func (a *app) paragraph(text string) { fmt.Fprint(a.out, fold.Hanging("  ", text, 80)) }
