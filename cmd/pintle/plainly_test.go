package main

import (
	"bytes"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"
)

// However text comes in pieces, nothing but ASCII goes out, and all of it.
func TestPlainTextInPieces(t *testing.T) {
	const text = "110.5 ms ± 1.3 ms, 12 Ω, 30² × 2 ≤ 5 °C, Łódź …"
	const want = "110.5 ms +/- 1.3 ms, 12 ohm, 30^2 x 2 <= 5 degC, ??d? ..."
	for size := 1; size <= len(text); size++ {
		var out bytes.Buffer
		p := &plainly{w: &out}
		for b := []byte(text); len(b) > 0; b = b[min(size, len(b)):] {
			n, err := p.Write(b[:min(size, len(b))])
			require.NoError(t, err)
			require.Equal(t, min(size, len(b)), n)
		}
		require.Equal(t, want, out.String(), "in pieces of %d", size)
	}
}

// Every sign that the program's own texts hold has a plain way of being written.
func TestEverySignHasAPlainOne(t *testing.T) {
	texts := regexp.MustCompile("\"(?:[^\"\\\\]|\\\\.)*\"")
	var all strings.Builder
	for _, glob := range []string{"*.go", "../../reports/summary/*.go", "../../reports/compare/text.go", "../../rig/derive/*.go", "../../rig/fitness/*.go",
		"../../rig/uncertainty/*.go", "../../reports/*.go", "../../scenarios/*.go"} {
		files, err := filepath.Glob(glob)
		require.NoError(t, err)
		require.NotEmpty(t, files, glob)
		for _, f := range files {
			if strings.HasSuffix(f, "_test.go") || f == "plainly.go" || f == "lanes.go" {
				continue
			}
			b, err := os.ReadFile(f)
			require.NoError(t, err)
			for line := range strings.Lines(string(b)) {
				if !strings.HasPrefix(strings.TrimSpace(line), "//") {
					all.WriteString(strings.Join(texts.FindAllString(line, -1), " "))
				}
			}
		}
	}
	for _, r := range plain.Replace(all.String()) {
		require.Less(t, r, rune(utf8.RuneSelf), "%q has no plain way", r)
	}
}

// The locale says whether a terminal has more than ASCII: the first of the three that is
// set decides, as POSIX has it, and none of them means no.
func TestTheLocaleDecides(t *testing.T) {
	for _, c := range []struct {
		all, ctype, lang string
		want             bool
	}{
		{"", "", "", false}, {"", "", "C", false}, {"", "", "en_GB.UTF-8", true}, {"", "", "de_DE.utf8", true},
		{"", "C", "en_GB.UTF-8", false}, {"", "C.UTF-8", "C", true}, {"C", "C.UTF-8", "C.UTF-8", false}, {"C.UTF-8", "C", "C", true},
		{"", "", "de_DE.ISO-8859-1", false},
	} {
		t.Setenv("LC_ALL", c.all)
		t.Setenv("LC_CTYPE", c.ctype)
		t.Setenv("LANG", c.lang)
		require.Equal(t, c.want, unicode(), "%+v", c)
	}
}
