package scenarios

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path"
	"slices"
	"strings"
	"time"

	"pintle/scenarios/builtin"
	"pintle/scenarios/yamlfile"
)

// builtInFolder is where the built-in scenarios stand among the files of a job.
const builtInFolder = "built-in/"

// BuiltInFile is the name of a built-in scenario's file among those of a job.
func BuiltInFile(scenario string) string { return builtInFolder + scenario + ".yaml" }

// FromFiles makes a job again out of the texts that it was loaded from, as a record keeps
// them: the Files of a job, with others that it does not read perhaps. Its built-in
// scenarios are those among the texts, not those of this program; the equipment that its
// bench.yaml may name is this program's. An error of type
// yamlfile.Mistakes tells all that is wrong in all texts.
func FromFiles(files []File, with Equipment) (*Job, error) {
	texts := recorded{}
	var builtIn []builtin.File
	for _, f := range files {
		if _, twice := texts[f.Name]; twice || !fs.ValidPath(f.Name) {
			return nil, yamlfile.Mistakes{{File: f.Name, Text: "there are two such files, or it has no name that a file can have"}}
		}
		texts[f.Name] = f.Text
		if name, ok := strings.CutPrefix(f.Name, builtInFolder); ok {
			name, ok = strings.CutSuffix(name, ".yaml")
			if !ok || !scenarioName(name) || len(f.Text) > yamlfile.MostBytes {
				return nil, yamlfile.Mistakes{{File: f.Name, Text: "is no file of a scenario"}}
			}
			builtIn = append(builtIn, builtin.File{Name: name, Text: f.Text})
		}
	}
	if len(builtIn) > mostScenarios {
		return nil, errors.New("there are too many built-in scenarios: " + fmt.Sprint(len(builtIn)))
	}
	slices.SortFunc(builtIn, func(a, b builtin.File) int { return strings.Compare(a.Name, b.Name) })
	return load(&loader{fsys: texts, with: with, job: &Job{}, builtIn: builtIn, recorded: true})
}

// recorded is a folder of texts in memory.
type recorded map[string][]byte

// Open opens a text.
func (r recorded) Open(name string) (fs.File, error) {
	text, ok := r[name]
	if !ok {
		return nil, &fs.PathError{Op: "open", Path: name, Err: fs.ErrNotExist}
	}
	return &recordedFile{recordedName{path.Base(name), int64(len(text))}, bytes.NewReader(text)}, nil
}

// ReadDir lists the texts right below a folder, by name.
func (r recorded) ReadDir(dir string) ([]fs.DirEntry, error) {
	var all []fs.DirEntry
	for name, text := range r {
		if path.Dir(name) == dir {
			all = append(all, recordedName{path.Base(name), int64(len(text))})
		}
	}
	if len(all) == 0 {
		return nil, &fs.PathError{Op: "read", Path: dir, Err: fs.ErrNotExist}
	}
	slices.SortFunc(all, func(a, b fs.DirEntry) int { return strings.Compare(a.Name(), b.Name()) })
	return all, nil
}

// recordedName is what there is to say of a text.
type recordedName struct {
	name string
	size int64
}

func (n recordedName) Name() string               { return n.name }
func (n recordedName) Size() int64                { return n.size }
func (n recordedName) IsDir() bool                { return false }
func (n recordedName) Type() fs.FileMode          { return 0 }
func (n recordedName) Mode() fs.FileMode          { return 0o444 }
func (n recordedName) ModTime() time.Time         { return time.Time{} }
func (n recordedName) Sys() any                   { return nil }
func (n recordedName) Info() (fs.FileInfo, error) { return n, nil }

type recordedFile struct {
	recordedName
	io.Reader
}

func (f *recordedFile) Stat() (fs.FileInfo, error) { return f.recordedName, nil }
func (f *recordedFile) Close() error               { return nil }
