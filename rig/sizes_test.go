package rig_test

import (
	"bytes"
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// What is longer than a reader can hold in mind falls apart into parts that have names.
const (
	mostLines  = 450 // of a file
	longLines  = 45  // of a function
	mostLong   = 5   // functions that are longer, in the whole program
	usualLines = 12  // of a function: half of them have no more
)

// tree calls do for each file of the source, but for what is hidden.
func tree(t *testing.T, do func(path string)) {
	t.Helper()
	require.NoError(t, filepath.WalkDir("..", func(path string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && path != ".." && strings.HasPrefix(d.Name(), "."):
			return filepath.SkipDir
		case !d.IsDir():
			do(path)
		}
		return nil
	}))
}

func TestFilesAndFunctionsAreShort(t *testing.T) {
	var lengths []int
	var long []string
	tree(t, func(path string) {
		if !slices.Contains([]string{".go", ".js", ".css", ".html"}, filepath.Ext(path)) || strings.Contains(path, "testdata") {
			return
		}
		text, err := os.ReadFile(path)
		require.NoError(t, err)
		if n := bytes.Count(text, []byte("\n")); n > mostLines {
			t.Errorf("%s has %d lines, and at most %d can be held in mind", path, n, mostLines)
		}
		if filepath.Ext(path) != ".go" || strings.HasSuffix(path, "_test.go") {
			return
		}
		set := token.NewFileSet()
		file, err := parser.ParseFile(set, path, text, 0)
		require.NoError(t, err)
		for _, d := range file.Decls {
			f, ok := d.(*ast.FuncDecl)
			if !ok {
				continue
			}
			n := set.Position(f.End()).Line - set.Position(f.Pos()).Line + 1
			if lengths = append(lengths, n); n > longLines {
				long = append(long, path+": "+f.Name.Name)
			}
		}
	})
	slices.Sort(lengths)
	require.Greater(t, len(lengths), 3000, "the functions are not found any more")
	require.LessOrEqual(t, lengths[len(lengths)/2], usualLines, "half of all functions have no more lines than that")
	require.LessOrEqual(t, len(long), mostLong, "functions of more than %d lines: %v", longLines, long)
}
