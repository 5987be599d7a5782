package yamlfile

import (
	"os"
	"path/filepath"
	"testing"
	"testing/fstest"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func readError(t *testing.T, dir, name string) string {
	t.Helper()
	_, err := Read(os.DirFS(dir), name, "job/"+name)
	require.Error(t, err)
	return err.Error()
}

// A file of 200 MB takes no room on the disk here, and none in memory.
func TestReadRefusesALargeFileUnread(t *testing.T) {
	dir := t.TempDir()
	f, err := os.Create(filepath.Join(dir, "large.yaml"))
	require.NoError(t, err)
	require.NoError(t, f.Truncate(200<<20))
	require.NoError(t, f.Close())
	spent := testing.AllocsPerRun(1, func() { readError(t, dir, "large.yaml") })
	assert.Less(t, spent, 200.0)
	assert.Equal(t, "job/large.yaml: is too large: 209715200 bytes\n  expected: at most 1048576 bytes", readError(t, dir, "large.yaml"))
}

func TestReadAtTheLimit(t *testing.T) {
	dir := t.TempDir()
	for size, good := range map[int]bool{MostBytes - 1: true, MostBytes: true, MostBytes + 1: false} {
		require.NoError(t, os.WriteFile(filepath.Join(dir, "f.yaml"), make([]byte, size), 0o600))
		_, err := Read(os.DirFS(dir), "f.yaml", "f.yaml")
		assert.Equal(t, good, err == nil, size)
	}
}

func TestReadRefusesWhatIsNoFile(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, os.Mkdir(filepath.Join(dir, "folder.yaml"), 0o700))
	assert.Equal(t, "job/none.yaml: there is no such file", readError(t, dir, "none.yaml"))
	assert.Equal(t, "job/folder.yaml: is not a file of text\n  expected: a YAML file", readError(t, dir, "folder.yaml"))
}

// A file that says it is small and goes on for ever is cut off.
func TestReadDoesNotTrustTheSize(t *testing.T) {
	fsys := fstest.MapFS{"f.yaml": {Data: make([]byte, MostBytes+1)}}
	_, err := Read(fsys, "f.yaml", "f.yaml")
	assert.ErrorContains(t, err, "is too large")
}
