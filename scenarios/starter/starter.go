// Package starter holds the commented job folder that a new job begins as.
package starter

import (
	"embed"
	"io/fs"
)

//go:embed job
var files embed.FS

// Folder is the job folder, without the schemas that go with it.
func Folder() fs.FS {
	sub, err := fs.Sub(files, "job")
	if err != nil {
		panic("starter: " + err.Error())
	}
	return sub
}
