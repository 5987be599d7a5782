package main

import (
	"fmt"
	"strings"

	"github.com/spf13/cobra"

	"pintle/rig/fold"
	"pintle/rig/wording"
)

// setHelp lets a command and all below it print help of that width, its commands in the
// order in which a newcomer meets them.
func setHelp(root *cobra.Command) {
	wide := min(columns(root.OutOrStdout()), helpColumns)
	cobra.EnableCommandSorting = false
	wrapped := fmt.Sprintf(".FlagUsagesWrapped %d ", wide)
	root.SetUsageTemplate(strings.ReplaceAll(root.UsageTemplate(), ".FlagUsages ", wrapped))
	root.SetHelpFunc(func(c *cobra.Command, _ []string) {
		text := c.Long
		if text == "" {
			text = wording.Upper(c.Short) + "."
		}
		fmt.Fprintf(c.OutOrStdout(), "%s\n\n%s", filled(text, wide), c.UsageString())
	})
}

// topics are the commands whose own words are other commands: cobra would answer one that it
// does not know with the help of them all, and a status of success.
func topics(root *cobra.Command) {
	root.SetHelpCommand(&cobra.Command{
		Use: "help [COMMAND]", Short: "tell about a command",
		RunE: func(_ *cobra.Command, args []string) error {
			c, rest, err := root.Find(args)
			if err != nil && len(rest) == 0 {
				rest = args
			}
			if len(rest) > 0 && c.HasSubCommands() { // others take words that are no commands
				return unknownOf(c, rest)
			}
			return c.Help()
		},
	})
	root.InitDefaultCompletionCmd()
	for _, c := range root.Commands() {
		if c.Name() == "completion" {
			c.Args = cobra.ArbitraryArgs
			c.RunE = func(c *cobra.Command, args []string) error {
				if len(args) > 0 {
					return unknownOf(c, args)
				}
				return c.Help()
			}
		}
	}
}

// unknownOf says that a command has no other of that name under it.
func unknownOf(c *cobra.Command, words []string) error {
	return usage(fmt.Errorf("%s has no command %q%s", c.CommandPath(), words[0], then(suggestion(words[0], commandsOf(c)), c.CommandPath()+" --help lists them all")))
}

// filled breaks paragraphs into lines anew. What is indented is left as it is.
func filled(text string, columns int) string {
	paragraphs := strings.Split(strings.TrimSpace(text), "\n\n")
	for i, p := range paragraphs {
		if !strings.Contains("\n"+p, "\n ") && !strings.Contains("\n"+p, "\n\t") {
			paragraphs[i] = strings.TrimSuffix(fold.Hanging("", strings.ReplaceAll(p, "\n", " "), columns), "\n")
		}
	}
	return strings.Join(paragraphs, "\n\n")
}
