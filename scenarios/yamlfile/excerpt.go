package yamlfile

import (
	"strings"
	"unicode"
)

// excerptWidth is how many characters of a line are shown at most.
const excerptWidth = 120

// excerpt gives a line as it can be shown, and the blanks that put a caret under
// its column. Tabs stay tabs in both, so that the caret stands right whatever the
// width of a tab.
func excerpt(line string, col int) (shown, blanks string) {
	chars := []rune(line)
	at := min(max(col-1, 0), len(chars))
	var before, after string
	first := 0
	if at > excerptWidth*2/3 {
		first, before = at-excerptWidth*2/3, "..."
	}
	last := len(chars)
	if last > first+excerptWidth {
		last, after = first+excerptWidth, "..."
	}
	var s, b strings.Builder
	s.WriteString(before)
	b.WriteString(strings.Repeat(" ", len(before)))
	for i, c := range chars[first:last] {
		s.WriteRune(visible(c))
		if first+i < at {
			b.WriteString(blank(c))
		}
	}
	return strings.TrimRight(s.String(), " \t") + after, b.String()
}

// visible keeps a character that a terminal shows and replaces any other.
func visible(c rune) rune {
	if c == '\t' || unicode.IsPrint(c) {
		return c
	}
	return unicode.ReplacementChar
}

// blank takes as much room as the character.
func blank(c rune) string {
	switch {
	case c == '\t':
		return "\t"
	case unicode.Is(unicode.Mn, c) && unicode.IsPrint(c):
		return ""
	case wide(c):
		return "  "
	}
	return " "
}

// wide says whether a terminal gives the character two columns: the large blocks
// of the wide and fullwidth classes of Unicode Standard Annex 11.
func wide(c rune) bool {
	for _, block := range [...][2]rune{
		{0x1100, 0x115F}, {0x2E80, 0x303E}, {0x3041, 0xA4CF}, {0xAC00, 0xD7A3}, {0xF900, 0xFAFF},
		{0xFE30, 0xFE6F}, {0xFF00, 0xFF60}, {0xFFE0, 0xFFE6}, {0x1F300, 0x1FAFF}, {0x20000, 0x3FFFD},
	} {
		if c >= block[0] && c <= block[1] {
			return true
		}
	}
	return false
}
