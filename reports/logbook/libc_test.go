package logbook

import (
	"os/exec"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"
)

// modernc.org/sqlite is translated from C against one version of modernc.org/libc;
// with another it has crashed on 32-bit ARM. So the two go up together or not at
// all: the module's own go.mod says which version it was made with.
func TestLibcIsTheOneThatSQLiteWasMadeWith(t *testing.T) {
	list := func(format, module string) string {
		out, err := exec.Command("go", "list", "-m", "-f", format, module).Output()
		require.NoError(t, err, "go list -m %s", module)
		return strings.TrimSpace(string(out))
	}
	mod := list("{{.GoMod}}", "modernc.org/sqlite")
	out, err := exec.Command("go", "mod", "edit", "-print", mod).Output()
	require.NoError(t, err)
	found := regexp.MustCompile(`modernc\.org/libc (v\S+)`).FindSubmatch(out)
	require.NotNil(t, found, "the go.mod of modernc.org/sqlite names no libc")
	require.Equal(t, string(found[1]), list("{{.Version}}", "modernc.org/libc"))
}
