package main

import (
	"os"
	"strings"

	"github.com/spf13/cobra"
)

// completeScenarios offers the scenarios of the job folder that was typed, or of
// the demo, and folders where none was typed.
func completeScenarios(_ *cobra.Command, args []string, begun string) ([]string, cobra.ShellCompDirective) {
	dir := ""
	if len(args) > 0 {
		dir, _ = split(args)
	}
	job, err := loadJob(dir)
	if err != nil {
		return nil, cobra.ShellCompDirectiveFilterDirs
	}
	var names []string
	for _, s := range job.Scenarios {
		if strings.HasPrefix(s.Name, begun) {
			names = append(names, s.Name+"\t"+s.Title)
		}
	}
	if len(args) == 0 {
		entries, _ := os.ReadDir(".")
		for _, e := range entries {
			if e.IsDir() && strings.HasPrefix(e.Name(), begun) {
				names = append(names, e.Name()+"\tjob folder")
			}
		}
	}
	return names, cobra.ShellCompDirectiveNoFileComp
}
