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
