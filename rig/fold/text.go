package fold

import (
	"regexp"
	"strings"
	"unicode/utf8"
)

// Width is how many columns of a terminal a text takes, without the marks that only
// set its type.
func Width(text string) int {
	if strings.Contains(text, "\x1b") {
		text = marks.ReplaceAllString(text, "")
	}
	return utf8.RuneCountInString(text)
}

var marks = regexp.MustCompile("\x1b\\[[0-9;]*m")

func wide(text string) float64 { return float64(Width(text)) }

// Text writes words behind head, in lines of at most so many columns, each further one
// behind hang. What held words together is written as a plain space. Every line ends;
// none with a blank.
func Text(head, hang, words string, columns int) string {
	f := &folder{first: float64(columns - Width(head)), room: float64(columns - Width(hang)), wide: wide}
	rows := f.rows(words)
	if len(rows) == 0 {
		rows = []string{""}
	}
	var out strings.Builder
	for i, row := range rows {
		if i > 0 {
			head = hang
		}
		row = head + strings.ReplaceAll(row, NoBreak, " ")
		out.WriteString(strings.TrimRight(row, " ") + "\n")
	}
	return out.String()
}

// Hanging is Text with further lines under the first letter of the words.
func Hanging(head, words string, columns int) string {
	return Text(head, strings.Repeat(" ", Width(head)), words, columns)
}

// Page folds each line of a page under what it begins with: spaces, a label set off by
// two spaces or more, the dash of a list.
func Page(page string, columns int) string {
	var out strings.Builder
	for line := range strings.Lines(page) {
		head := label.FindString(line)
		text := Hanging(head, line[len(head):], columns)
		if !strings.HasSuffix(line, "\n") {
			text = strings.TrimSuffix(text, "\n")
		}
		out.WriteString(text)
	}
	return out.String()
}

var label = regexp.MustCompile(`^( +|\S+(?: \S+)? {2,}|- )`)
