//go:build unix

package yamlfile

import (
	"path/filepath"
	"syscall"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Nobody writes to the pipe, so opening it would never end.
func TestReadRefusesAPipeUnopened(t *testing.T) {
	dir := t.TempDir()
	require.NoError(t, syscall.Mkfifo(filepath.Join(dir, "pipe.yaml"), 0o600))
	assert.Equal(t, "job/pipe.yaml: is not a file of text\n  expected: a YAML file", readError(t, dir, "pipe.yaml"))
}
