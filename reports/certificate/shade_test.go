package certificate_test

import (
	"bytes"
	"fmt"
	"testing"

	"github.com/stretchr/testify/require"
)

// darkest is the darkest grey, of 0 to 255, in the right half of the head of a page.
func darkest(t testing.TB, pdf []byte, page int) int {
	t.Helper()
	at := fmt.Sprint(page)
	// 72 dots an inch: letters of 8 points stand 34 points below the edge.
	grey := []byte(tool(t, pdf, "pdftoppm", "poppler-utils", "-gray", "-r", "144", "-f", at, "-l", at, "-x", "700", "-y", "52", "-W", "400", "-H", "18", "FILE"))
	head := bytes.SplitN(grey, []byte("\n"), 4)
	require.Len(t, head, 4)
	least := 255
	for _, g := range head[3] {
		least = min(least, int(g))
	}
	return least
}
