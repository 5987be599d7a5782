package webreport

import (
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig/need"
)

// HTML Tidy reads HTML by its own rules. Of SVG in a page it does not know that a
// title may have an id and a height a part of a pixel.
func TestTidyFindsNothing(t *testing.T) {
	tool := need.Tool(t, "tidy", "apt-get install tidy")
	page := pageOf(t, full(), Options{})
	require.Empty(t, tidied(t, tool, page))
	assert.NotEmpty(t, tidied(t, tool, strings.Replace(page, "</caption>", "", 1)), "it must find something where there is something")
}

func tidied(t *testing.T, tool, page string) (found []string) {
	file := filepath.Join(t.TempDir(), "report.html")
	require.NoError(t, os.WriteFile(file, []byte(page), 0o600))
	out, _ := exec.Command(tool, "-q", "-e", file).CombinedOutput() // its status tells of warnings, too
	for line := range strings.Lines(string(out)) {
		if !strings.Contains(line, `<title> proprietary attribute "id"`) && !strings.Contains(line, `<svg> attribute "height"`) {
			found = append(found, line)
		}
	}
	return found
}
