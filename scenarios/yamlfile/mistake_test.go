package yamlfile

import (
	"errors"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
)

// The caret stands under the character meant, whatever stands before it.
func TestCaret(t *testing.T) {
	for _, c := range []struct {
		name, line string
		col        int
		shown      string
		caret      string
	}{
		{"plain", "title: x", 8, "title: x", "       ^"},
		{"first", "title: x", 1, "title: x", "^"},
		{"end", "title:", 7, "title:", "      ^"},
		{"two bytes", "é: ü x", 6, "é: ü x", "     ^"},
		{"tab stays a tab", "\ta: x", 5, "\ta: x", "\t   ^"},
		{"wide", "門: x", 4, "門: x", "    ^"},
		{"combining", "e\u0301: x", 5, "e\u0301: x", "   ^"},
		{"control is shown as a mark", "a\x01b", 3, "a\ufffdb", "  ^"},
		{"trailing blanks go", "a:   ", 3, "a:", "  ^"},
		{"long line is cut after", "a: " + strings.Repeat("x", 200), 4, "a: " + strings.Repeat("x", 117) + "...", "   ^"},
		{"long line is cut before", strings.Repeat("x", 200) + "!", 201, "..." + strings.Repeat("x", 80) + "!", strings.Repeat(" ", 83) + "^"},
	} {
		m := Mistake{File: "f.yaml", Line: 3, Col: c.col, Text: "wrong", Source: c.line}
		assert.Equal(t, "f.yaml:3:"+itoa(c.col)+": wrong\n    "+c.shown+"\n    "+c.caret, m.Error(), c.name)
	}
}

func itoa(n int) string { return strings.TrimPrefix(place("", 0, n), ":0:") }

func TestMistakeOfAWholeFile(t *testing.T) {
	m := Mistake{File: "f.yaml", Text: "there is no such file", Hint: Expected("a file")}
	assert.Equal(t, "f.yaml: there is no such file\n  expected: a file", m.Error())
}

// Mistakes come in the order of file, line and column, each once.
func TestMistakesAreSorted(t *testing.T) {
	m := func(file string, line, col int, text string) Mistake {
		return Mistake{File: file, Line: line, Col: col, Text: text}
	}
	err := Mistakes{m("b", 1, 1, "x"), m("a", 10, 1, "x"), m("a", 2, 9, "x"), m("a", 2, 10, "x"), m("a", 2, 9, "x"), m("a", 2, 9, "w")}.Err()
	var sorted Mistakes
	assert.True(t, errors.As(err, &sorted))
	assert.Equal(t, Mistakes{m("a", 2, 9, "w"), m("a", 2, 9, "x"), m("a", 2, 10, "x"), m("a", 10, 1, "x"), m("b", 1, 1, "x")}, sorted)
	assert.NoError(t, Mistakes{}.Err())
}

// Distances worked out by hand; "kitten" to "sitting" is the usual textbook pair.
func TestDistance(t *testing.T) {
	for _, c := range []struct {
		a, b string
		want int
	}{
		{"", "", 0}, {"a", "", 1}, {"", "abc", 3}, {"kitten", "sitting", 3}, {"titel", "title", 1}, {"abcd", "badc", 2}, {"é", "e", 1}, {"ca", "abc", 3},
	} {
		assert.Equal(t, c.want, distance(c.a, c.b), c.a+" to "+c.b)
		assert.Equal(t, c.want, distance(c.b, c.a), c.b+" to "+c.a)
	}
}

func TestNearest(t *testing.T) {
	words := []string{"title", "why", "script", "rules", "run-time cut-out"}
	for wrong, want := range map[string]string{
		"titel": "title", "Title": "title", "wy": "why", "scripts": "script", "rule": "rules", "runtime cutout": "run-time cut-out",
		"colour": "", "x": "", "": "", strings.Repeat("title", 20): "",
	} {
		got, ok := Nearest(wrong, words)
		assert.Equal(t, want, got, wrong)
		assert.Equal(t, want != "", ok, wrong)
	}
}
