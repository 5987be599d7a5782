package yamlfile

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"regexp"
	"strings"
	"unicode/utf8"

	"go.yaml.in/yaml/v4"
	"go.yaml.in/yaml/v4/plugin/loaderlimits"
)

// mostDepth is how deep a file may nest.
const mostDepth = 16

// parse gives the root of the file's only document.
func (f *File) parse() (*yaml.Node, *Mistake) {
	if m, bad := f.foreign(); bad {
		return nil, &m
	}
	loader, err := yaml.NewLoader(bytes.NewReader(bytes.TrimPrefix(f.Text, []byte("\ufeff"))),
		yaml.WithUniqueKeys(false), yaml.WithPlugin(loaderlimits.New(loaderlimits.DepthValue(mostDepth))))
	if err != nil {
		m := f.At(1, 1, err.Error(), "")
		return nil, &m
	}
	var doc, second yaml.Node
	if err := loader.Load(&doc); err != nil {
		return nil, f.syntax(err)
	}
	switch err := loader.Load(&second); {
	case err == nil:
		m := f.At(second.Line, second.Column, "a second document begins here", Expected("one document a file"))
		return nil, &m
	case err != io.EOF:
		return nil, f.syntax(err)
	case len(doc.Content) != 1:
		m := f.At(1, 1, "the file is empty", Expected(`"key: value" on lines of their own; pintle init writes files to start from`))
		return nil, &m
	}
	return doc.Content[0], nil
}

// syntax puts the parser's complaint into words.
func (f *File) syntax(err error) *Mistake {
	if err == io.EOF {
		m := f.At(1, 1, "the file is empty", Expected(`"key: value" on lines of their own; pintle init writes files to start from`))
		return &m
	}
	line, col, text := 1, 1, err.Error()
	if e, ok := errors.AsType[*yaml.LoadError](err); ok {
		line, col, text = e.Mark.Line, e.Mark.Column, e.Message
	}
	if f.at(line, col) == '\t' {
		text = "tab character"
	}
	if m := f.openQuote(line); m != nil {
		return m
	}
	for _, known := range complaints {
		if strings.Contains(text, known.has) {
			if known.find != nil {
				line, col = known.find(f, line, col)
			}
			m := f.At(line, col, known.text, known.hint)
			return &m
		}
	}
	m := f.At(line, col, "this is not YAML: "+text, "")
	return &m
}

// complaints are the parser's commonest ones and what they come to.
var complaints = []struct {
	has, text, hint string
	find            func(f *File, line, col int) (int, int) // the place that is meant
}{
	{"tab character", "a tab stands where spaces must", Expected("spaces for indentation"), (*File).tab},
	{"max depth", "the file nests too deep", Expected(fmt.Sprintf("at most %d levels", mostDepth)), nil},
	{"mapping values are not allowed", `a second ": " on one line, or a line that is indented too far`,
		Expected(`one "key: value" a line, lined up with its neighbours; a text that holds ": " in quotes`), nil},
	{"could not find expected ':'", "this line is no key with a value", Expected(`"key: value"`), (*File).keyless},
	{"cannot start any token", "a value cannot begin with this character", Expected("the text in quotes"), nil},
	{"unknown anchor", "an alias has no place here", Expected("the value itself"), nil},
	{"expected ',' or ']'", `a "[" without its "]", or two entries without a comma between them`, Expected("[one, two, three]"), opened("[", "]")},
	{"expected ',' or '}'", `a "{" without its "}", or two keys without a comma between them`, Expected("{key: value, key: value}"), opened("{", "}")},
	{"did not find expected key", "this line is not lined up with its neighbours", Expected(`"key: value", as far from the margin as the keys beside it`), nil},
	{"did not find expected '-' indicator", "this line is not lined up with the list that it is in", Expected(`"- " below "- "`), nil},
}

// at gives the character at a place, or 0 where there is none.
func (f *File) at(line, col int) rune {
	if chars := []rune(f.Line(line)); col >= 1 && col <= len(chars) {
		return chars[col-1]
	}
	return 0
}

// tab finds the tab that the parser stumbled over, in the line named or before.
func (f *File) tab(line, col int) (int, int) {
	if i := strings.IndexByte(f.Line(line), '\t'); i >= 0 {
		return line, len([]rune(f.Line(line)[:i])) + 1
	}
	return line, col
}

// keyless finds the line without a colon, which stands before the one named: the
// parser takes both for one text.
func (f *File) keyless(line, col int) (int, int) {
	for n := min(line, f.lineCount()); n > 0; n-- {
		text := strings.TrimSpace(f.Line(n))
		if text != "" && text[0] != '#' && !strings.Contains(text, ": ") && !strings.HasSuffix(text, ":") {
			return n, len([]rune(f.Line(n))) - len([]rune(strings.TrimLeft(f.Line(n), " "))) + 1
		}
	}
	return line, col
}

// opened finds the bracket that is not closed on its line.
func opened(bracket, closing string) func(*File, int, int) (int, int) {
	return func(f *File, line, col int) (int, int) {
		for n := min(line, f.lineCount()); n > 0; n-- {
			if text := f.Line(n); strings.Count(text, bracket) > strings.Count(text, closing) {
				return n, utf8.RuneCountInString(text[:strings.LastIndex(text, bracket)]) + 1
			}
		}
		return line, col
	}
}

// quoted matches a key with a value that begins with a quote.
var quoted = regexp.MustCompile(`^\s*(?:- )?[^#"':]*:\s+(["'])`)

// openQuote finds a quote that is not closed on its line, at or before the line
// that the parser stumbled over. A text in quotes may go over several lines, but
// where the file is broken behind it that is hardly what was meant.
func (f *File) openQuote(line int) *Mistake {
	for n := min(line, f.lineCount()); n > 0; n-- {
		at := quoted.FindStringSubmatchIndex(f.Line(n))
		if at == nil {
			continue
		}
		if quote := f.Line(n)[at[2]:at[3]]; !strings.Contains(f.Line(n)[at[3]:], quote) {
			m := f.At(n, utf8.RuneCountInString(f.Line(n)[:at[2]])+1, "a quote that is not closed on its line", Expected(quote+" at the end of the text too"))
			return &m
		}
	}
	return nil
}
