package yamlfile

import (
	"errors"
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

type sample struct {
	Where
	Title  Text            `key:"title" need:"yes" doc:"a title"`
	Colour Text            `key:"colour" words:"red|green|blue" default:"red" doc:"a colour"`
	Many   Count           `key:"how many" limit:"1 to 10" default:"3" doc:"a number"`
	On     Switch          `key:"on" doc:"yes or no"`
	Parts  []part          `key:"parts" doc:"parts"`
	Named  Map[part]       `key:"named" doc:"parts by name"`
	Maybe  *part           `key:"maybe" doc:"a part"`
	Always part            `key:"always" doc:"a part"`
	Words  []Text          `key:"words" words:"one|two" doc:"words"`
	Deep   *sample         `key:"deep" doc:"another"`
	Other  struct{ A int } // no key: no part of the file
}

type part struct {
	Size  Count `key:"size" choice:"yes" doc:"how large"`
	Name  Text  `key:"name" choice:"yes" doc:"what it is called"`
	Twice Text  `key:"twice" with:"size" doc:"only with size"`
	Must  Text  `key:"must" with:"name" need:"name" doc:"with every name"`
}

func decode(t *testing.T, text string) (sample, []string) {
	t.Helper()
	var s sample
	err := Decode(New("f", []byte(text)), &s, nil).Err()
	var all Mistakes
	if err != nil {
		require.True(t, errors.As(err, &all))
	}
	var says []string
	for _, m := range all {
		require.Equal(t, "f", m.File)
		says = append(says, fmt.Sprintf("%d:%d %s", m.Line, m.Col, m.Text))
	}
	return s, says
}

func TestDecodeGood(t *testing.T) {
	s, says := decode(t, `
title: Ünïcode, and more   # a comment
how many: 0x4
on: yes
parts:
  - size: 5
  - name: "a: b"
    must: x
named:
  first: {size: 1, twice: yes}
  "second one": {name: n, must: m}
maybe: {size: 7}
always: {size: 8}
words: [one, two]
`)
	require.Empty(t, says)
	assert.Equal(t, "Ünïcode, and more", s.Title.Text)
	assert.Equal(t, "f:2:8", s.Title.Place())
	assert.Equal(t, "red", s.Colour.Text)
	assert.False(t, s.Colour.Given())
	assert.Equal(t, 4, s.Many.Value)
	assert.True(t, s.On.On)
	assert.Equal(t, "a: b", s.Parts[1].Name.Text)
	assert.Equal(t, []string{"first", "second one"}, []string{s.Named[0].Name.Text, s.Named[1].Name.Text})
	assert.Equal(t, 7, s.Maybe.Size.Value)
	assert.Nil(t, s.Deep)
	assert.Equal(t, "two", s.Words[1].Text)
	assert.Equal(t, "f:2:1", s.Where.Place())
}

func TestDecodeBad(t *testing.T) {
	for name, c := range map[string]struct {
		text string
		says []string
	}{
		"empty":               {"", []string{"1:1 the file is empty"}},
		"only a comment":      {"# nothing\n", []string{"1:1 the file is empty"}},
		"a text":              {"hello\n", []string{`1:1 keys with values are wanted here, not the text "hello"`}},
		"a list":              {"- a\n", []string{"1:1 keys with values are wanted here, not a list"}},
		"a key missing":       {"on: yes\n", []string{`1:1 the key "title" is missing`}},
		"unknown key":         {"title: x\ncolor: red\n", []string{`2:1 unknown key "color"`}},
		"a key twice":         {"title: x\non: no\ntitle: y\n", []string{`3:1 "title" is given twice; the first is on line 1`}},
		"no value":            {"title:\n", []string{`1:7 "title" has no value`}},
		"empty quotes":        {"title: \"\"\n", []string{`1:9 "title" is empty`}},
		"list for text":       {"title: [a]\n", []string{"1:8 a text is wanted here, not a list"}},
		"text for list":       {"title: x\nparts: y\n", []string{`2:8 a list is wanted here, not the text "y"`}},
		"text for mapping":    {"title: x\nmaybe: y\n", []string{`2:8 keys with values are wanted here, not the text "y"`}},
		"list for names":      {"title: x\nnamed: [y]\n", []string{`2:8 "named" wants keys with values, not a list`}},
		"unknown word":        {"title: x\ncolour: gren\n", []string{`2:9 "gren" is not a word for "colour"`}},
		"number below":        {"title: x\nhow many: 0\n", []string{`2:11 "0" is not a whole number from 1 to 10`}},
		"number above":        {"title: x\nhow many: 11\n", []string{`2:11 "11" is not a whole number from 1 to 10`}},
		"no number":           {"title: x\nhow many: ten\n", []string{`2:11 "ten" is not a whole number from 1 to 10`}},
		"neither yes nor no":  {"title: x\non: maybe\n", []string{`2:5 "maybe" is neither yes nor no`}},
		"no choice":           {"title: x\nparts:\n  - must: y\n", []string{"3:5 nothing here says what it is"}},
		"two choices":         {"title: x\nparts:\n  - size: 1\n    name: n\n", []string{`4:5 "size" and "name" cannot stand together`}},
		"not with this":       {"title: x\nparts:\n  - name: n\n    must: m\n    twice: t\n", []string{`5:5 "twice" does not go with "name"`}},
		"needed with this":    {"title: x\nparts:\n  - name: n\n", []string{`3:5 the key "must" is missing`}},
		"choice misspelt":     {"title: x\nparts:\n  - sise: 1\n", []string{`3:5 unknown key "sise"`}},
		"anchor":              {"title: &a x\n", []string{`1:8 the anchor "a" has no place here`}},
		"alias":               {"title: &a x\ncolour: *a\n", []string{`1:8 the anchor "a" has no place here`, "2:9 an alias has no place here"}},
		"unknown alias":       {"title: *a\n", []string{"1:8 an alias has no place here"}},
		"anchor on a key":     {"&a title: x\n", []string{`1:1 the anchor "a" has no place here`, `1:1 the key "title" is missing`}},
		"merge":               {"title: x\n<<: {on: yes}\n", []string{`2:1 the merge key "<<" has no place here`}},
		"tag":                 {"title: !!str x\n", []string{`1:8 the tag "!!str" has no place here`}},
		"own tag":             {"title: !x y\n", []string{`1:8 the tag "!x" has no place here`}},
		"key that is a list":  {"title: x\n? [a]\n: b\n", []string{"2:3 a key must be a text, not a list"}},
		"two documents":       {"title: x\n---\ntitle: y\n", []string{"2:1 a second document begins here"}},
		"tab":                 {"title: x\nmaybe:\n\tsize: 1\n", []string{"3:1 a tab stands where spaces must"}},
		"two colons":          {"title: a: b\n", []string{`1:9 a second ": " on one line, or a line that is indented too far`}},
		"not closed":          {"title: [a\n", []string{`1:8 a "[" without its "]", or two entries without a comma between them`}},
		"reserved character":  {"title: @x\n", []string{"1:8 a value cannot begin with this character"}},
		"deep":                {strings.Repeat("[", 50), []string{"1:17 the file nests too deep"}},
		"deep in blocks":      {deepBlocks(30), []string{"17:37 the file nests too deep"}},
		"invalid UTF-8":       {"title: a\xffb\n", []string{"1:9 the byte 0xFF is not text in UTF-8"}},
		"cut-off UTF-8":       {"title: é\xc3", []string{"1:9 the byte 0xC3 is not text in UTF-8"}},
		"null byte":           {"title: a\x00b\n", []string{"1:9 the character U+0000 has no place in a text file"}},
		"odd line break":      {"title: a\u2028on: yes\n", []string{"1:9 the character U+2028 has no place in a text file"}},
		"windows lines":       {"title: x\r\nunknown: y\r\n", []string{`2:1 unknown key "unknown"`}},
		"old lines":           {"title: x\runknown: y\r", []string{`2:1 unknown key "unknown"`}},
		"byte order mark":     {"\ufefftitle: x\nunknown: y\n", []string{`2:1 unknown key "unknown"`}},
		"byte order mark, 1":  {"\ufeffunknown: x\ntitle: y\n", []string{`1:1 unknown key "unknown"`}},
		"column of unicode":   {"title: x\ncolour: grün\n", []string{`2:9 "grün" is not a word for "colour"`}},
		"after unicode":       {"always: {name: grün, must: ü, sise: 1}\ntitle: x\n", []string{`1:31 unknown key "sise"`}},
		"several, in order":   {"colour: gren\nunknown: y\nhow many: 99\n", []string{`1:1 the key "title" is missing`, `1:9 "gren" is not a word for "colour"`, `2:1 unknown key "unknown"`, `3:11 "99" is not a whole number from 1 to 10`}},
		"line at the limit":   {"title: " + strings.Repeat("é", mostChars-7) + "\n", nil},
		"line above it":       {"title: " + strings.Repeat("é", mostChars-6) + "\n", []string{"1:2001 the line is too long"}},
		"list at the limit":   {"title: x\nwords:\n" + strings.Repeat("- one\n", mostEntries), nil},
		"list above it":       {"title: x\nwords:\n" + strings.Repeat("- one\n", mostEntries+1), []string{"5003:3 the list is too long"}},
		"keys at the limit":   {"title: x\nnamed:\n" + manyKeys(mostKeys), nil},
		"keys above it":       {"title: x\nnamed:\n" + manyKeys(mostKeys+1), []string{"503:3 there are too many keys"}},
		"wrong entry of list": {"title: x\nwords: [one, three, two, for]\n", []string{`2:14 "three" is not a word for "words"`, `2:26 "for" is not a word for "words"`}},
	} {
		t.Run(name, func(t *testing.T) {
			_, says := decode(t, c.text)
			assert.Equal(t, c.says, says)
		})
	}
}

func manyKeys(n int) string {
	var b strings.Builder
	for i := range n {
		fmt.Fprintf(&b, "  k%d: {size: 1}\n", i)
	}
	return b.String()
}

func deepBlocks(n int) string {
	var b strings.Builder
	for i := range n {
		b.WriteString(strings.Repeat("  ", i) + "deep:\n")
	}
	return b.String()
}

// What could be decoded is there beside what could not.
func TestDecodeGoesOn(t *testing.T) {
	s, says := decode(t, "title: x\ncolour: gren\nhow many: 7\n")
	assert.Len(t, says, 1)
	assert.Equal(t, "x", s.Title.Text)
	assert.Equal(t, 7, s.Many.Value)
}

// Of many mistakes the first are told, and how many there are.
func TestManyMistakes(t *testing.T) {
	_, says := decode(t, "title: x\n"+strings.Repeat("title: y\n", mostMistakes))
	assert.Len(t, says, mostMistakes)
	_, says = decode(t, "title: x\n"+strings.Repeat("title: y\n", mostMistakes+7))
	assert.Len(t, says, mostMistakes+1)
	assert.Equal(t, "102:1 the file has 107 mistakes; the rest of them is not shown", says[mostMistakes])
}

// A billion laughs cost nothing: the anchors are refused before any is followed.
func TestAliasBomb(t *testing.T) {
	var b strings.Builder
	b.WriteString("a0: &a0 [x, x, x, x, x, x, x, x, x, x]\n")
	for i := 1; i < 50; i++ {
		fmt.Fprintf(&b, "a%d: &a%d [*a%d, *a%d, *a%d, *a%d, *a%d, *a%d, *a%d, *a%d, *a%d]\n", i, i, i-1, i-1, i-1, i-1, i-1, i-1, i-1, i-1, i-1)
	}
	b.WriteString("title: *a49\n")
	_, says := decode(t, b.String())
	assert.Contains(t, says, "51:8 an alias has no place here")
}

// A problem inside a text is shown inside it, where the text stands as it is.
func TestProblemInsideAText(t *testing.T) {
	for text, want := range map[string]string{
		"title: abcdef\n":              "1:11",
		"title: \"abcdef\"\n":          "1:12",
		"title: 'abcdef'\n":            "1:12",
		"title: \"ab\\x63def\"\n":      "1:8",
		"title: >\n  abcdef\n":         "1:8",
		"title: ééédef\n":              "1:11",
		"{on: yes, title: 'abcdef'}\n": "1:22",
	} {
		s, says := decode(t, text)
		require.Empty(t, says, text)
		m := s.Title.Mistake(Problem{Offset: 3, Text: "here"})
		assert.Equal(t, want, fmt.Sprintf("%d:%d", m.Line, m.Col), text)
	}
}
