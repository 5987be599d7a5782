// Package demo holds the job folder that the program shows itself with: a lift-up
// barrier at an invented boatyard.
package demo

import (
	"embed"
	"io/fs"
)

//go:embed job
var files embed.FS

// Folder is the job folder.
func Folder() fs.FS {
	sub, err := fs.Sub(files, "job")
	if err != nil {
		panic("demo: " + err.Error())
	}
	return sub
}
