// Package builtin holds the scenarios that come with the program, one file each.
package builtin

import (
	"embed"
	"io/fs"
	"strings"
)

//go:embed *.yaml
var files embed.FS

// A File is one scenario's file.
type File struct {
	Name string // without its ending
	Text []byte
}

// All gives the files in the order of their names.
func All() []File {
	entries, err := fs.ReadDir(files, ".")
	if err != nil {
		panic("builtin: " + err.Error())
	}
	all := make([]File, 0, len(entries))
	for _, e := range entries {
		text, err := files.ReadFile(e.Name())
		if err != nil {
			panic("builtin: " + err.Error())
		}
		all = append(all, File{strings.TrimSuffix(e.Name(), ".yaml"), text})
	}
	return all
}
