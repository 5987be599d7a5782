package scenarios

import (
	"os"
	"path/filepath"
	"runtime"
	"strconv"
	"strings"
	"sync"
	"testing"
	"testing/fstest"

	"github.com/rogpeppe/go-internal/txtar"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/scenarios/yamlfile"
)

// TestMistakes reads what people are told. Each file under testdata/mistakes is a
// starter job with something wrong in it, and the whole message. Its files replace
// those of the starter; the ending of a name says how:
//
//	.edit    two texts with a line => between them: the first becomes the second
//	.quoted  the text stands in quotes, with escapes as Go has them
//	.gone    there is no such file; all.gone: there is none at all
func TestMistakes(t *testing.T) {
	for _, path := range cases(t) {
		t.Run(strings.TrimSuffix(filepath.Base(path), ".txtar"), func(t *testing.T) {
			archive, err := txtar.ParseFile(path)
			require.NoError(t, err)
			require.NotEmpty(t, archive.Comment, "what is wrong here?")
			_, err = Load(spoilt(t, archive), "my-gate", equipment)
			require.Error(t, err)
			all, ok := err.(yamlfile.Mistakes)
			require.True(t, ok, "%T", err)
			assertPlaced(t, all)
			got := err.Error() + "\n"
			if *update {
				want(archive).Data = []byte(got)
				require.NoError(t, os.WriteFile(path, txtar.Format(archive), 0o644))
			}
			assert.Equal(t, string(want(archive).Data), got)
		})
	}
}

func cases(t testing.TB) []string {
	t.Helper()
	paths, err := filepath.Glob("testdata/mistakes/*.txtar")
	require.NoError(t, err)
	require.NotEmpty(t, paths, "the cases are gone")
	return paths
}

// want finds the message of a case.
func want(a *txtar.Archive) *txtar.File {
	for i := range a.Files {
		if a.Files[i].Name == "want" {
			return &a.Files[i]
		}
	}
	a.Files = append(a.Files, txtar.File{Name: "want"})
	return &a.Files[len(a.Files)-1]
}

var starterOnce = sync.OnceValue(func() map[string][]byte { return Starter(equipment) })

// spoilt makes the job of a case.
func spoilt(t testing.TB, a *txtar.Archive) fstest.MapFS {
	t.Helper()
	job := folder(starterOnce())
	for _, f := range a.Files {
		name := strings.TrimSuffix(f.Name, filepath.Ext(f.Name))
		switch filepath.Ext(f.Name) {
		case ".gone":
			require.True(t, name == "all" || job[name] != nil, name)
			if delete(job, name); name == "all" {
				clear(job)
			}
		case ".quoted":
			text, err := strconv.Unquote(strings.TrimSpace(string(f.Data)))
			require.NoError(t, err, f.Name)
			job[name] = &fstest.MapFile{Data: []byte(text)}
		case ".edit":
			from, to, ok := strings.Cut(string(f.Data), "=>\n")
			text := string(job[name].Data)
			require.True(t, ok && strings.Count(text, from) == 1, "%s: the text to be changed must be there once", f.Name)
			job[name] = &fstest.MapFile{Data: []byte(strings.Replace(text, from, to, 1))}
		default:
			if f.Name != "want" {
				job[f.Name] = &fstest.MapFile{Data: f.Data}
			}
		}
	}
	return job
}

// assertPlaced holds each mistake to a place in its file, with the line as it is.
func assertPlaced(t testing.TB, all yamlfile.Mistakes) {
	t.Helper()
	for i, m := range all {
		assert.NotEmpty(t, m.File, "%v", m)
		assert.NotEmpty(t, m.Text, "%v", m)
		if m.Line == 0 {
			continue
		}
		assert.Positive(t, m.Col, "%v", m)
		assert.LessOrEqual(t, m.Col, len([]rune(m.Source))+1, "%v", m)
		if i > 0 && all[i-1].File == m.File {
			assert.LessOrEqual(t, all[i-1].Line, m.Line, "sorted")
		}
	}
}

// TestHugeFileIsRefusedUnread makes a file of 200 MB that takes no room on the
// disk.
func TestHugeFileIsRefusedUnread(t *testing.T) {
	dir := t.TempDir()
	for name, text := range Starter(equipment) {
		require.NoError(t, os.MkdirAll(filepath.Join(dir, filepath.Dir(name)), 0o755))
		require.NoError(t, os.WriteFile(filepath.Join(dir, name), text, 0o644))
	}
	require.NoError(t, os.Truncate(filepath.Join(dir, "gate.yaml"), 200<<20))
	var before, after runtime.MemStats
	runtime.ReadMemStats(&before)
	_, err := Load(os.DirFS(dir), "my-gate", equipment)
	runtime.ReadMemStats(&after)
	assert.EqualError(t, err, "my-gate/gate.yaml: is too large: 209715200 bytes\n  expected: at most 1048576 bytes")
	assert.Less(t, after.TotalAlloc-before.TotalAlloc, uint64(50<<20), "bytes taken to refuse it")
}
