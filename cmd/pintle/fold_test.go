package main

import (
	"strings"
	"testing"
	"unicode/utf8"

	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"
)

func TestFolded(t *testing.T) {
	for _, c := range []struct{ name, text, want string }{
		{"a label", "contents      good: one two three\n", "contents      good: one\n              two three\n"},
		{"a list", "- one two three four five six\n", "- one two three four\n  five six\n"},
		{"indented", "    one two three four five\n", "    one two three four\n    five\n"},
		{"a long word", "one abcdefghijklmnopqrstuvwxyz two", "one\nabcdefghijklmnopqrstuvwxyz\ntwo"},
		{"short", "one\n\ntwo\n", "one\n\ntwo\n"},
	} {
		require.Equal(t, c.want, folded(c.text, 23), c.name)
	}
}

// No word is lost, and no line is longer than asked for unless one word is.
func TestFoldedKeepsEveryWord(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.StringMatching(`([a-zü-]{1,12}[ \n]{1,3}){0,30}`).Draw(t, "text")
		out := folded(text, 40)
		require.Equal(t, strings.Fields(text), strings.Fields(out))
		for line := range strings.Lines(out) {
			require.LessOrEqual(t, utf8.RuneCountInString(strings.TrimSuffix(line, "\n")), 40)
		}
	})
}
