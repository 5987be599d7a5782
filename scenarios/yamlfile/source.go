package yamlfile

import (
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v4"
)

// A Source is a scalar as a file has it. The zero Source is that of a value that
// no file gives.
type Source struct {
	File  *File
	Line  int
	Col   int
	Text  string
	inner bool // Text stands in the file character by character, from Start on
	start int  // columns from Col to the first character of Text
}

// A Problem is what a scalar's type finds wrong with its text.
type Problem struct {
	Offset int // in characters from the text's start
	Text   string
	Hint   string
}

// source tells where a scalar's characters stand.
func (f *File) source(n *yaml.Node) Source {
	s := Source{File: f, Line: n.Line, Col: n.Column, Text: n.Value}
	if n.Style&(yaml.DoubleQuotedStyle|yaml.SingleQuotedStyle) != 0 {
		s.start = 1
	}
	rest := f.Line(n.Line)
	for range n.Column - 1 + s.start {
		_, size := utf8.DecodeRuneInString(rest)
		rest = rest[size:]
	}
	s.inner = strings.HasPrefix(rest, n.Value)
	return s
}

// Mistake places a problem in the file: inside the text where the text stands in
// the file as it is, else at its start.
func (s Source) Mistake(p Problem) Mistake {
	if s.File == nil {
		return Mistake{Text: p.Text, Hint: p.Hint}
	}
	col := s.Col
	if s.inner {
		col += s.start + p.Offset
	}
	return s.File.At(s.Line, col, p.Text, p.Hint)
}

// Wrong makes a mistake of the whole scalar.
func (s Source) Wrong(text, hint string) Mistake { return s.Mistake(Problem{Text: text, Hint: hint}) }

// Given says whether the value stands in a file.
func (s Source) Given() bool { return s.File != nil && s.Line > 0 }

// Place gives file:line:column.
func (s Source) Place() string {
	if !s.Given() {
		return ""
	}
	return place(s.File.Name, s.Line, s.Col)
}
