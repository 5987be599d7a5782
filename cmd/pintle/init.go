package main

import (
	"fmt"
	"io"
	"maps"
	"os"
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"

	"pintle/scenarios"
)

func initCommand(a *app) *cobra.Command {
	return &cobra.Command{
		Use:   "init DIR",
		Short: "write a commented starter job folder",
		Args:  cobra.ExactArgs(1),
		RunE:  func(_ *cobra.Command, args []string) error { return a.init(args[0]) },
	}
}

// init writes the starter job into a new or an empty folder. It overwrites
// nothing.
func (a *app) init(dir string) error {
	if info, err := os.Stat(dir); err == nil && !info.IsDir() {
		return usage(fmt.Errorf("%s is a file: nothing was written; name a new folder", dir))
	}
	if entries, err := os.ReadDir(dir); err == nil && len(entries) > 0 {
		return usage(fmt.Errorf("folder %s is not empty: nothing was written; name a new folder", dir))
	}
	files := scenarios.Starter(equipment())
	for _, name := range slices.Sorted(maps.Keys(files)) {
		path := filepath.Join(dir, filepath.FromSlash(name))
		err := write(path, func(w io.Writer) error {
			_, err := w.Write(files[name])
			return err
		})
		if err != nil {
			return err
		}
		fmt.Fprintf(a.out, "wrote %s\n", path)
	}
	fmt.Fprintf(a.out, "\nNext: pintle check %s, then pintle run %s\n", dir, dir)
	return nil
}
