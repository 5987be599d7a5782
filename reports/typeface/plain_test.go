package typeface

import (
	"os"
	"path/filepath"
	"testing"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"codeberg.org/go-pdf/fpdf"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestCharactersOfTheTypeface compares the reading of the font's mapping with that
// of fpdf's own reader of fonts, which is another program for the same format.
func TestCharactersOfTheTypeface(t *testing.T) {
	for name, font := range map[string][]byte{"regular": liberationsansregular.TTF, "bold": liberationsansbold.TTF} {
		file := filepath.Join(t.TempDir(), name+".ttf")
		require.NoError(t, os.WriteFile(file, font, 0o644))
		theirs, err := fpdf.TtfParse(file)
		require.NoError(t, err)
		ours := charactersOf(font)
		require.Greater(t, len(ours), 2000, name)
		for c := rune(0); c < 0xffff; c++ {
			assert.Equal(t, theirs.Chars[uint16(c)] != 0, ours[c], "%s: U+%04X", name, c)
		}
	}
	assert.Empty(t, charactersOf([]byte{0, 1, 0, 0, 0, 0, 0, 0, 0, 0, 0, 0}), "a font without a mapping")
}

func TestPlain(t *testing.T) {
	for in, want := range map[string]string{
		"":                      "",
		"  two\n\twords ":       "two words",
		"138.0 ms ± 1.5 ms, µΩ": "138.0 ms ± 1.5 ms, µΩ",
		"Łódź Ж ≤ −":            "Łódź Ж ≤ −",
		"門 is a gate":           "[U+9580] is a gate",
		"a\x00b\x1b[31mc":       "a b [31mc",
		"\u202egnp.exe":         "gnp.exe",
		"bad \xff byte":         "bad [U+FFFD] byte",
		"smile 🙂":               "smile [U+1F642]",
	} {
		if want == "bad [U+FFFD] byte" && covered()['\ufffd'] {
			want = "bad \ufffd byte"
		}
		assert.Equal(t, want, Plain(in))
	}
}
