package scenarios

import (
	"bytes"
	"errors"
	"io/fs"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"testing/fstest"
	"unicode/utf8"

	"github.com/rogpeppe/go-internal/txtar"

	"pintle/scenarios/builtin"
	"pintle/scenarios/yamlfile"
)

// Each target puts any bytes in the place of one file of the starter. Loading ends,
// says the same twice, and every mistake points into the file that it is about.

func FuzzBench(f *testing.F)      { fuzzFile(f, "bench.yaml") }
func FuzzGate(f *testing.F)       { fuzzFile(f, "gate.yaml") }
func FuzzController(f *testing.F) { fuzzFile(f, "controller.yaml") }

func FuzzScenario(f *testing.F) {
	for _, b := range builtin.All() {
		f.Add(b.Text)
	}
	fuzzFile(f, "scenarios/fuzzed.yaml")
}

func fuzzFile(f *testing.F, name string) {
	starter := alone(Starter(equipment))
	if text, ok := starter[name]; ok {
		f.Add(text)
	}
	for _, text := range seedsOf(f, name) {
		f.Add(text)
	}
	// The starter's own scenario puts all files to use. The built-in ones would take
	// most of the time, and say the same.
	starter["controller.yaml"] = bytes.Replace(starter["controller.yaml"], []byte("built-in: all"), []byte("built-in: none"), 1)
	f.Fuzz(func(t *testing.T, text []byte) {
		job, err := Load(spoiltBy(starter, name, text), "", equipment)
		again, errAgain := Load(spoiltBy(starter, name, text), "", equipment)
		if !sameError(err, errAgain) {
			t.Fatalf("%q: %v, then %v", text, err, errAgain)
		}
		if err != nil {
			placed(t, err, name, text)
			return
		}
		if !reflect.DeepEqual(plainly(job), plainly(again)) {
			t.Fatalf("%q: two jobs", text)
		}
		for _, s := range job.Scenarios {
			if len(s.LimitTexts) != len(s.Rules) || len(s.Script) == 0 || len(s.Rules) == 0 {
				t.Fatalf("%q: half a scenario", text)
			}
		}
	})
}

// alone leaves the built-in scenarios out, so that the file in question is most of
// what there is to do.
func alone(files map[string][]byte) map[string][]byte {
	files["controller.yaml"] = bytes.Replace(files["controller.yaml"], []byte("built-in: all "), []byte("built-in: none"), 1)
	delete(files, "scenarios/my-first-scenario.yaml")
	return files
}

// seedsOf gives the files of that kind among the cases of mistakes.
func seedsOf(f *testing.F, name string) [][]byte {
	paths, err := filepath.Glob("testdata/mistakes/*.txtar")
	if err != nil || len(paths) == 0 {
		f.Fatalf("the cases of mistakes are gone: %v", err)
	}
	var texts [][]byte
	seen := map[string]bool{}
	for _, path := range paths {
		archive, err := txtar.ParseFile(path)
		if err != nil {
			f.Fatal(err)
		}
		for part, file := range spoilt(f, archive) {
			if part == name || strings.HasPrefix(part, "scenarios/") && strings.HasPrefix(name, "scenarios/") {
				if !seen[string(file.Data)] {
					texts = append(texts, file.Data)
				}
				seen[string(file.Data)] = true
			}
		}
	}
	return texts
}

func spoiltBy(starter map[string][]byte, name string, text []byte) fs.FS {
	folder := fstest.MapFS{}
	for n, original := range starter {
		folder[n] = &fstest.MapFile{Data: original}
	}
	folder[name] = &fstest.MapFile{Data: bytes.Clone(text)}
	return folder
}

func sameError(a, b error) bool {
	return (a == nil) == (b == nil) && (a == nil || a.Error() == b.Error())
}

// plainly drops what differs between two readings of one file: where its text is.
func plainly(j *Job) any {
	type spare struct {
		Gate      any
		Scenarios []Scenario
		Files     []File
	}
	return spare{j.Gate.Spec, j.Scenarios, j.Files}
}

// placed holds every mistake to a place inside its file. A mistake in another file
// can come of what the fuzzed one says.
func placed(t *testing.T, err error, name string, text []byte) {
	t.Helper()
	all, ok := errors.AsType[yamlfile.Mistakes](err)
	if !ok {
		t.Fatalf("%q: %T %v", text, err, err)
	}
	file := yamlfile.New(name, text)
	for _, m := range all {
		if m.Text == "" || m.File == "" {
			t.Fatalf("%q: an empty mistake %+v", text, m)
		}
		if m.File != name || m.Line == 0 && len(text) > yamlfile.MostBytes {
			continue
		}
		if m.Line < 1 || m.Col < 1 || m.Source != "" && m.Source != file.Line(m.Line) || m.Col > utf8.RuneCountInString(file.Line(m.Line))+1 {
			t.Fatalf("%q: the mistake %+v points outside", text, m)
		}
	}
}

func TestFuzzedJobIsGood(t *testing.T) {
	files := alone(Starter(equipment))
	job, err := Load(spoiltBy(files, "scenarios/normal-cycle.yaml", builtin.All()[0].Text), "", equipment)
	if err != nil || len(job.Scenarios) != 1 {
		t.Fatalf("the fuzz targets would try nothing but mistakes: %v", err)
	}
}
