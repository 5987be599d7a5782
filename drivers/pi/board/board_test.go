package board

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"
)

func TestModel(t *testing.T) {
	dir := t.TempDir()
	for text, isPi := range map[string]bool{"Raspberry Pi 4 Model B Rev 1.4\x00": true, "Raspberry Pie\x00": false, "": false} {
		file := filepath.Join(dir, "model")
		require.NoError(t, os.WriteFile(file, []byte(text), 0o600))
		model, got, err := read(file)
		require.NoError(t, err)
		require.Equal(t, isPi, got, model)
		require.NotContains(t, model, "\x00")
	}
	_, isPi, err := read(filepath.Join(dir, "none"))
	require.NoError(t, err)
	require.False(t, isPi)
	_, _, err = read(dir)
	require.ErrorContains(t, err, "which board this is")
}
