package main

import (
	"encoding/json"
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// An example of DEVELOPERS.md is a file of its own, or lines put into one that is there.
var example = regexp.MustCompile("(?s)```(go|yaml|diff) (\\S+)\\n(.*?)```\\n")

// TestTheExamplesBuild puts all examples of DEVELOPERS.md on top of this tree, without
// touching it, builds the program, holds the example of a bench to the contract, and
// performs the example of a scenario, of which it wants the example of a report. Jobs whose
// files name the example of a bench and that of a protocol are performed with these.
func TestTheExamplesBuild(t *testing.T) {
	if os.Getenv("PINTLE_REQUIRE") != "1" {
		t.Skip("builds the program anew; to enable: PINTLE_REQUIRE=1 go test ./cmd/pintle -run Examples")
	}
	text, err := os.ReadFile("../../DEVELOPERS.md")
	require.NoError(t, err)
	root, err := filepath.Abs("../..")
	require.NoError(t, err)
	files := map[string]string{}
	kinds := map[string]int{}
	for _, m := range example.FindAllStringSubmatch(string(text), -1) {
		kind, name, body := m[1], m[2], m[3]
		kinds[kind]++
		if kind != "diff" {
			files[name] = body
			continue
		}
		was, ok := files[name]
		if !ok {
			b, err := os.ReadFile(filepath.Join(root, name))
			require.NoError(t, err, "the example is of a file that is gone")
			was = string(b)
		}
		files[name] = insert(t, name, was, body)
	}
	require.Len(t, kinds, 3, "some kind of example is gone: %v", kinds)

	dir := t.TempDir()
	overlay := struct{ Replace map[string]string }{map[string]string{}}
	for name, body := range files {
		path := filepath.Join(dir, strings.ReplaceAll(name, "/", "-"))
		require.NoError(t, os.WriteFile(path, []byte(body), 0o644))
		overlay.Replace[filepath.Join(root, name)] = path
	}
	list, err := json.Marshal(overlay)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "overlay.json"), list, 0o644))
	program := filepath.Join(dir, "pintle")
	call(t, root, "go", "build", "-overlay", filepath.Join(dir, "overlay.json"), "-o", program, "./cmd/pintle")
	call(t, root, "go", "test", "-c", "-vet=off", "-overlay", filepath.Join(dir, "overlay.json"), "-o", filepath.Join(dir, "noted.test"), "./drivers/noted")
	require.Contains(t, call(t, dir, filepath.Join(dir, "noted.test"), "-test.v"), "--- PASS: TestContract/")
	said := call(t, dir, program, "run", "press-twice", "--log", "log.db", "--lamps", "lamps.txt")
	require.Contains(t, said, "1 scenario: 1 pass")
	require.Contains(t, said, "\nlamps lamps.txt\n")
	left, err := os.ReadFile(filepath.Join(dir, "lamps.txt"))
	require.NoError(t, err)
	require.Equal(t, "press-twice pass\n", string(left))
	require.Equal(t, string(left), call(t, dir, program, "export", "last", "--log", "log.db", "--as", "lamps"))
	require.Regexp(t, `--lamps FILE +write a verdict a line to FILE`, call(t, dir, program, "run", "--help"))
	require.Contains(t, call(t, dir, program, "__complete", "run", "--la"), "--lamps\twrite a verdict a line to FILE\n")
	require.Contains(t, call(t, dir, program, "__complete", "export", "last", "--as", "la"), "lamps\n")
	invertedLimitIsTaken(t, program)
	notesAreTaken(t, program)
	wholeIsSpoken(t, program)
}

// invertedLimitIsTaken performs a scenario with the examples of a fault and of a pattern.
func invertedLimitIsTaken(t *testing.T, program string) {
	folder := t.TempDir()
	require.Contains(t, call(t, folder, program, "run", "limit-inverted", "--log", "log.db"), "1 scenario: 1 pass")
	require.Contains(t, call(t, folder, program, "show", "last", "limit-inverted", "--log", "log.db"), "at first: motor stopped")
	require.Contains(t, call(t, folder, program, "explain", "initially"), "What is named holds as the scope begins.")
	require.Contains(t, call(t, folder, program, "explain", "is inverted"), "The line is made where it should be broken")
}

// notesAreTaken performs on the example of a bench, which a word in bench.yaml asks for, with
// the example of a line, on which the gate has the example of a kind of sensor.
func notesAreTaken(t *testing.T, program string) {
	dir := filepath.Join(t.TempDir(), "gate")
	call(t, ".", program, "init", dir)
	put(t, filepath.Join(dir, "bench.yaml"), "\nlines:\n", "\nlines:\n  half-way: {}\n")
	put(t, filepath.Join(dir, "gate.yaml"), "\nsensors:\n", "\nsensors:\n  half-way: {kind: coil, from: 40 %, to: 60 %}\n")
	put(t, filepath.Join(dir, "bench.yaml"), "\nbench: virtual\n", "\nbench: notd\n")
	_, words, err := attempt(dir, program, "check", ".")
	require.Error(t, err)
	require.Contains(t, words, `did you mean "noted"?`)

	put(t, filepath.Join(dir, "bench.yaml"), "\nbench: notd\n", "\nbench: noted\n")
	call(t, dir, program, "check", ".")
	out, words, err := attempt(dir, program, "run", ".", "normal-cycle")
	require.NoError(t, err, words)
	require.Contains(t, out, "1 scenario: 1 pass")
	require.Contains(t, words, "noted: remote, edges to come: ")
	require.Contains(t, words, "noted: half-way, edges to come: ")
	require.Contains(t, call(t, dir, program, "derive", "."), "The half-way has no contacts, so nothing bounces.")
	require.Contains(t, call(t, dir, program, "export", "last", "--log", "logbook.db", "--as", "json"), `"virtual bench, noted"`)
	require.Contains(t, call(t, dir, program, "schema", "bench"), "noted: as virtual, and told what it is told to do")
}

// wholeIsSpoken performs with a meter that speaks the example of a protocol, as bench.yaml
// asks for.
func wholeIsSpoken(t *testing.T, program string) {
	port, other := wire(t)
	asking := func(protocol string) string {
		return serialJob(t, strings.NewReplacer("PORT", port, "WIRE", other, "PROTOCOL", protocol, "    query: \"MEAS:CURR?\"\n", "").Replace(serialMeter))
	}
	_, mistake, err := attempt(asking("hole"), program, "check", ".")
	require.Error(t, err)
	require.Contains(t, mistake, `did you mean "whole"?`)

	dir := asking("whole")
	words := untilQuiet(t, func() (int, string) {
		out, errs, err := attempt(dir, program, "run", ".", "starts")
		if ended, ok := errors.AsType[*exec.ExitError](err); ok {
			return ended.ExitCode(), out + errs
		}
		require.NoError(t, err)
		return statusPass, out + errs
	})
	require.Contains(t, words, "1 scenario: 1 pass")
	require.Contains(t, call(t, dir, program, "export", "last", "--log", "logbook.db", "--as", "json"), "whole meter on "+port)
}

func call(t *testing.T, dir, name string, args ...string) string {
	t.Helper()
	out, errs, err := attempt(dir, name, args...)
	require.NoError(t, err, "%s %v\n%s%s", name, args, out, errs)
	return out
}

// put puts a text in the place of another in a file.
func put(t *testing.T, file, was, is string) {
	t.Helper()
	text, err := os.ReadFile(file)
	require.NoError(t, err)
	require.Contains(t, string(text), was)
	require.NoError(t, os.WriteFile(file, []byte(strings.Replace(string(text), was, is, 1)), 0o644))
}

func attempt(dir, name string, args ...string) (out, errs string, err error) {
	cmd := exec.Command(name, args...)
	cmd.Dir = dir
	var said, complained strings.Builder
	cmd.Stdout, cmd.Stderr = &said, &complained
	err = cmd.Run()
	return said.String(), complained.String(), err
}

// insert puts an example's new lines behind those that it shows as they are, which must
// stand in the file once.
func insert(t *testing.T, name, text, block string) string {
	t.Helper()
	var was, is strings.Builder
	for line := range strings.Lines(block) {
		require.Contains(t, " +", line[:1], "%s: %q", name, line)
		if line[0] == ' ' {
			was.WriteString(line[1:])
		}
		is.WriteString(line[1:])
	}
	require.Equal(t, 1, strings.Count(text, was.String()), "in %s there stands, not once:\n%s", name, was.String())
	return strings.Replace(text, was.String(), is.String(), 1)
}
