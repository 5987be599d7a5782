package main

import (
	"regexp"
	"strings"
	"unicode/utf8"
)

// head is what stands before a line's text: spaces, a label set off by two spaces or
// more, the dash of a list.
var head = regexp.MustCompile(`^( +|\S+(?: \S+)? {2,}|- )`)

// folded breaks long lines between words, and lets what follows hang under the text.
// A word that is too long for a line keeps one to itself.
func folded(text string, columns int) string {
	var out strings.Builder
	for line := range strings.Lines(text) {
		label := head.FindString(line)
		hang := strings.Repeat(" ", utf8.RuneCountInString(label))
		row, empty := label, true
		for _, word := range strings.Fields(line[len(label):]) {
			switch {
			case empty:
			case utf8.RuneCountInString(row)+1+utf8.RuneCountInString(word) > columns:
				out.WriteString(row + "\n")
				row = hang
			default:
				row += " "
			}
			row, empty = row+word, false
		}
		out.WriteString(strings.TrimRight(row, " "))
		if strings.HasSuffix(line, "\n") {
			out.WriteByte('\n')
		}
	}
	return out.String()
}
