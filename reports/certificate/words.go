package certificate

import (
	"regexp"
	"strings"
)

const glue = "\u00a0" // a space at which no line breaks

// brief is a text short enough to stand among others.
func brief(s string) string { return clipped(s, 70) }

func clipped(s string, most int) string {
	if r := []rune(s); len(r) > most {
		return string(r[:most-1]) + "…"
	}
	return s
}

// sentence makes a reason into a sentence.
func sentence(s string) string {
	s = strings.TrimSpace(s)
	if s == "" || strings.ContainsRune(".!?", rune(s[len(s)-1])) {
		return s
	}
	return s + "."
}

var numbered = regexp.MustCompile(`(\d) (\w)`)

// glued keeps each number in one line with the word after it.
func glued(s string) string { return numbered.ReplaceAllString(s, "$1"+glue+"$2") }
