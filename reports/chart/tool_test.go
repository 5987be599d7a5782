package chart

import (
	"os/exec"
	"testing"

	"github.com/stretchr/testify/require"
)

// run runs an outside program that must say nothing against its input.
func run(t *testing.T, name string, args ...string) string {
	t.Helper()
	out, err := exec.Command(name, args...).CombinedOutput()
	require.NoError(t, err, "%s", out)
	return string(out)
}
