package main

import (
	"errors"
	"fmt"
	"os"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"pintle/rig/fold"
	"pintle/rig/wording"
	"pintle/scenarios"
)

func listCommand(a *app) *cobra.Command {
	var long bool
	var group string
	c := &cobra.Command{
		Use:   "list [DIR] [NAME...]",
		Short: "the scenarios, what each is for, the claims that it tests",
		Long: `Lists the scenarios by what they protect, and the claims, a line each. Of each scenario or
claim that is named it tells all instead: what it is for, what it needs and tests, its
script and its rules.`,
		ValidArgsFunction: completeScenarios,
		RunE: func(_ *cobra.Command, args []string) error {
			dir, names := listed(args)
			job, err := loadJob(dir)
			if err != nil {
				return err
			}
			if groups := scenarios.Groups(); group != "" && !slices.Contains(groups, group) {
				return usage(fmt.Errorf("no scenario protects %q%s", group, suggestion(group, groups)))
			}
			switch {
			case len(names) > 0 && group != "":
				return usage(errors.New("--group lists what protects one thing, and names list what they name: leave one of the two out"))
			case len(names) > 0:
				return a.listNamed(job, names)
			case long:
				a.listLong(job, group)
			default:
				a.listShort(job, dir, group)
			}
			return nil
		},
	}
	c.Flags().StringVar(&group, "group", "", "only those that protect this `GROUP`: people, mechanism, electronics, battery or convenience")
	c.Flags().BoolVar(&long, "long", false, "tell all of every scenario, its script and its rules too")
	return c
}

// listed takes a call's arguments apart as split does; the first may be a claim, too.
func listed(args []string) (dir string, names []string) {
	if len(args) > 0 {
		if _, err := os.Stat(args[0]); err != nil {
			if _, known := scenarios.KnownClaimNamed(args[0]); known {
				return "", args
			}
		}
	}
	return split(args)
}

// mostNamed is how wide the column of names is at most: a longer name is rare, and pushes
// its title to the right.
const mostNamed = 27

// listShort prints a line for each scenario and each claim, as wide as a terminal is at
// least. What does not apply stands last, by the reason.
func (a *app) listShort(job *scenarios.Job, dir, group string) {
	wide := 0
	for i := range job.Scenarios {
		wide = max(wide, min(len(job.Scenarios[i].Name), mostNamed))
	}
	fmt.Fprintf(a.out, "%s\n%s\n", job.Title, job.Controller.Board.Text)
	heads, under := grouped(job, group)
	for _, head := range heads {
		fmt.Fprintln(a.out)
		fmt.Fprint(a.out, fold.Text("", "  ", head, a.wide()))
		for _, s := range under[head] {
			fmt.Fprintln(a.out, clippedLine(fmt.Sprintf("  %-*s  %s", wide, s.Name, s.Title), a.wide()))
		}
	}
	if group == "" {
		a.listClaims(job, wide)
	}
	call := "pintle list "
	if dir != "" {
		call += quoteArg(dir) + " "
	}
	fmt.Fprintf(a.out, "\n%sNAME tells all of a scenario or a claim.\n", call)
}

// grouped sorts scenarios under headings: what they protect, or why they do not apply.
func grouped(job *scenarios.Job, only string) (heads []string, under map[string][]*scenarios.Scenario) {
	under = map[string][]*scenarios.Scenario{}
	var not []string
	for i := range job.Scenarios {
		s := &job.Scenarios[i]
		if only != "" && s.Group != only {
			continue
		}
		head := "Protect " + article(s.Group) + s.Group
		if s.NotApplicable != "" {
			if head = "Do not apply: " + s.NotApplicable; under[head] == nil {
				not = append(not, head)
			}
		}
		under[head] = append(under[head], s)
	}
	for _, g := range scenarios.Groups() {
		if head := "Protect " + article(g) + g; under[head] != nil {
			heads = append(heads, head)
		}
	}
	return append(heads, not...), under
}

// listClaims prints a line for each claim, with how many scenarios test it.
func (a *app) listClaims(job *scenarios.Job, wide int) {
	if len(job.Controller.Values) == 0 {
		return
	}
	fmt.Fprint(a.out, "\nClaims of the controller\n")
	for _, c := range job.Controller.Values {
		by := "tested by no scenario"
		if n := len(testersOf(job, c.Name)); n > 0 {
			by = "tested by " + wording.Count(n, "scenario")
		}
		fmt.Fprintln(a.out, clippedLine(fmt.Sprintf("  %-*s  %-12s %s", wide, c.Name, c.Text, by), a.wide()))
	}
}

// testersOf names the scenarios that apply and test a claim.
func testersOf(job *scenarios.Job, claim string) (names []string) {
	for i := range job.Scenarios {
		if s := &job.Scenarios[i]; s.NotApplicable == "" && slices.Contains(s.Claims, claim) {
			names = append(names, s.Name)
		}
	}
	return names
}

// clippedLine ends a line between words where it is too long.
func clippedLine(line string, columns int) string {
	if fold.Width(line) <= columns {
		return line
	}
	const more = " ..."
	head := line[:len(line)-len(strings.TrimLeft(line, " "))]
	cut := []rune(line)[:columns-len(more)+1]
	at := strings.LastIndex(string(cut), " ")
	if at <= len(head) {
		return string(cut[:len(cut)-1]) + more
	}
	return strings.TrimRight(string(cut)[:at], " ") + more
}

// listNamed prints all of the scenarios and claims named.
func (a *app) listNamed(job *scenarios.Job, names []string) error {
	var known []string
	for i := range job.Scenarios {
		known = append(known, job.Scenarios[i].Name)
	}
	for _, c := range job.Controller.Values {
		known = append(known, c.Name)
	}
	var errs []error
	for _, n := range names {
		if !slices.Contains(known, n) {
			errs = append(errs, fmt.Errorf("there is no scenario and no claim %q%s", n, suggestion(n, known)))
		}
	}
	if len(errs) > 0 {
		return usage(errors.Join(errs...))
	}
	for i, n := range names {
		if i > 0 {
			fmt.Fprintln(a.out)
		}
		if s, ok := job.Scenario(n); ok {
			a.listScenario(s)
		}
		if c, ok := job.Controller.Claim(n); ok {
			a.listClaim(job, c)
		}
	}
	return nil
}

func (a *app) listLong(job *scenarios.Job, group string) {
	fmt.Fprintf(a.out, "%s\n%s\n", job.Title, job.Controller.Board.Text)
	for i := range job.Scenarios {
		if s := &job.Scenarios[i]; group == "" || s.Group == group {
			fmt.Fprintln(a.out)
			a.listScenario(s)
		}
	}
	if group != "" {
		return
	}
	for _, c := range job.Controller.Values {
		fmt.Fprintln(a.out)
		a.listClaim(job, c)
	}
}

func (a *app) listScenario(s *scenarios.Scenario) {
	fmt.Fprintf(a.out, "%s: %s\n", s.Name, s.Title)
	a.paragraph(s.Why)
	a.paragraph("Protects " + article(s.Group) + s.Group + " from this: " + s.Hazard)
	a.paragraph("Needs the lines " + s.Lines.String())
	if len(s.Claims) > 0 {
		a.paragraph("Tests: " + strings.Join(s.Claims, ", "))
	}
	if s.NotApplicable != "" {
		a.paragraph("Does not apply: " + s.NotApplicable)
	}
	for _, f := range s.Faults {
		fmt.Fprint(a.out, fold.Hanging("  fault  ", fmt.Sprint(f), a.wide()))
	}
	for _, step := range s.Script {
		fmt.Fprint(a.out, fold.Hanging("  step   ", step.Text, a.wide()))
	}
	for _, r := range s.Rules {
		fmt.Fprint(a.out, fold.Hanging("  rule   ", r.Name, a.wide()))
	}
}

func (a *app) listClaim(job *scenarios.Job, c scenarios.Claim) {
	fmt.Fprintf(a.out, "%s: %s\n", c.Name, c.Text)
	a.paragraph(c.Means)
	if names := testersOf(job, c.Name); len(names) > 0 {
		a.paragraph("Tested by: " + strings.Join(names, ", "))
		return
	}
	a.paragraph("Tested by no scenario.")
}

// article is the word before a group's name where English wants one.
func article(group string) string {
	switch group {
	case "mechanism", "battery":
		return "the "
	}
	return ""
}

// paragraph prints a text indented, in lines no longer than text for people is.
func (a *app) paragraph(text string) {
	if text != "" {
		fmt.Fprint(a.out, fold.Hanging("  ", text, a.wide()))
	}
}
