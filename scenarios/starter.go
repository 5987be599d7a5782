package scenarios

import (
	"io/fs"

	"pintle/scenarios/starter"
)

// Starter gives the files of a new job folder by their paths in it: a job that
// runs as it is, with every key explained, and under .schema the schemas that
// editors read, with the equipment that there is to name.
func Starter(with Equipment) map[string][]byte {
	files := map[string][]byte{}
	folder := starter.Folder()
	err := fs.WalkDir(folder, ".", func(path string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			return err
		}
		files[path], err = fs.ReadFile(folder, path)
		return err
	})
	if err != nil {
		panic("scenarios: the starter folder cannot be read: " + err.Error())
	}
	for _, kind := range SchemaKinds {
		text, err := Schema(kind, with)
		if err != nil {
			panic("scenarios: " + err.Error())
		}
		files[schemaPath(kind)] = text
	}
	return files
}
