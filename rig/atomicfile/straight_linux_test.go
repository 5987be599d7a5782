package atomicfile

import (
	"io"
	"os"
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/require"
)

// A pipe, a device or a standard stream that is named as the file to write is written into:
// replaced by a file, /dev/null would be gone for the whole machine.
func TestWhatIsNoFileStaysWhatItIs(t *testing.T) {
	dir := t.TempDir()
	pipe := filepath.Join(dir, "pipe")
	require.NoError(t, syscall.Mkfifo(pipe, 0o600))
	got := make(chan string, 1)
	go func() {
		b, _ := os.ReadFile(pipe)
		got <- string(b)
	}()
	require.NoError(t, Write(pipe, 0o644, text("through")))
	require.Equal(t, "through", <-got)
	info, err := os.Stat(pipe)
	require.NoError(t, err)
	require.Equal(t, os.ModeNamedPipe, info.Mode().Type())

	link := filepath.Join(dir, "full") // were it replaced, it would be the link alone
	require.NoError(t, os.Symlink("/dev/full", link))
	require.ErrorIs(t, Write(link, 0o644, text("anything")), syscall.ENOSPC)
	require.True(t, linked(link))
}

func TestAStandardStreamIsWrittenOnInItsPlace(t *testing.T) {
	dir := t.TempDir()
	out, err := os.Create(filepath.Join(dir, "out.txt"))
	require.NoError(t, err)
	was := os.Stdout
	os.Stdout = out
	t.Cleanup(func() { os.Stdout = was; out.Close() })
	link := filepath.Join(dir, "stdout")
	require.NoError(t, os.Symlink(out.Name(), link))

	_, err = io.WriteString(os.Stdout, "before, ")
	require.NoError(t, err)
	require.NoError(t, Write(link, 0o644, text("it, ")))
	_, err = io.WriteString(os.Stdout, "after")
	require.NoError(t, err)
	b, err := os.ReadFile(out.Name())
	require.NoError(t, err)
	require.Equal(t, "before, it, after", string(b))
	require.True(t, linked(link))

	require.NoError(t, os.Symlink("elsewhere.txt", filepath.Join(dir, "other")))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "elsewhere.txt"), []byte("old"), 0o600))
	require.NoError(t, Write(filepath.Join(dir, "other"), 0o600, text("new")))
	b, err = os.ReadFile(filepath.Join(dir, "other"))
	require.NoError(t, err)
	require.Equal(t, "new", string(b))
}
