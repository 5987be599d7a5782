package atomicfile

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

func text(s string) func(io.Writer) error {
	return func(w io.Writer) error { _, err := io.WriteString(w, s); return err }
}

// only says what stands in a folder: one file of this name with this content.
func only(t *testing.T, name, content string) {
	t.Helper()
	got, err := os.ReadFile(name)
	require.NoError(t, err)
	require.Equal(t, content, string(got))
	entries, err := os.ReadDir(filepath.Dir(name))
	require.NoError(t, err)
	require.Len(t, entries, 1, "nothing but the file may be left in the folder")
}

func TestWriteMakesAndReplaces(t *testing.T) {
	name := filepath.Join(t.TempDir(), "certificate.txt")
	require.NoError(t, Write(name, 0o600, text("old")))
	only(t, name, "old")
	require.NoError(t, Write(name, 0o644, text("new")))
	only(t, name, "new")
	info, err := os.Stat(name)
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o644), info.Mode().Perm())
}

func TestFailingWriterLeavesTheOldFile(t *testing.T) {
	name := filepath.Join(t.TempDir(), "certificate.txt")
	require.NoError(t, Write(name, 0o600, text("old")))
	cause := errors.New("out of ink")
	err := Write(name, 0o600, func(w io.Writer) error {
		_ = text("half of the n")(w)
		return cause
	})
	require.ErrorIs(t, err, cause)
	require.ErrorContains(t, err, name)
	only(t, name, "old")
}

func TestPanicLeavesTheOldFile(t *testing.T) {
	name := filepath.Join(t.TempDir(), "certificate.txt")
	require.NoError(t, Write(name, 0o600, text("old")))
	require.Panics(t, func() { _ = Write(name, 0o600, func(io.Writer) error { panic("jam") }) })
	only(t, name, "old")
}

func TestWriteNewLeavesWhatIsThere(t *testing.T) {
	name := filepath.Join(t.TempDir(), "bench.pub")
	require.Error(t, WriteNew(name, 0o600, func(w io.Writer) error {
		_ = text("half of the n")(w)
		return errors.New("out of ink")
	}))
	require.NoFileExists(t, name, "a half is not there")
	require.NoError(t, WriteNew(name, 0o640, text("old")))
	only(t, name, "old")
	info, err := os.Stat(name)
	require.NoError(t, err)
	require.Equal(t, os.FileMode(0o640), info.Mode().Perm())
	require.ErrorIs(t, WriteNew(name, 0o600, text("new")), os.ErrExist)
	only(t, name, "old")
}

func TestTheNameIsOldUntilTheEnd(t *testing.T) {
	name := filepath.Join(t.TempDir(), "certificate.txt")
	require.NoError(t, Write(name, 0o600, text("old")))
	require.NoError(t, Write(name, 0o600, func(w io.Writer) error {
		_ = text("new")(w)
		got, err := os.ReadFile(name)
		require.NoError(t, err)
		require.Equal(t, "old", string(got))
		return nil
	}))
	only(t, name, "new")
}

func TestErrorsNameTheFile(t *testing.T) {
	dir := t.TempDir()
	gone := filepath.Join(dir, "no such folder", "x")
	require.ErrorContains(t, Write(gone, 0o600, text("x")), gone)

	folder := filepath.Join(dir, "a folder")
	require.NoError(t, os.Mkdir(folder, 0o700))
	require.NoError(t, os.WriteFile(filepath.Join(folder, "kept"), nil, 0o600))
	require.ErrorContains(t, Write(folder, 0o600, text("x")), folder)
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	require.Len(t, entries, 1, "the temporary file must be gone")

	require.ErrorContains(t, SyncDir(gone), "sync folder")
}

func TestTemporaryNames(t *testing.T) {
	require.True(t, IsTemporary(".unfinished-123.tmp"))
	require.False(t, IsTemporary("certificate.tmp"))
	require.False(t, IsTemporary(".unfinished-123"))
}
