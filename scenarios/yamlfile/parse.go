package yamlfile

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"strings"

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
		m := f.At(1, 1, "the file is empty", "")
		return nil, &m
	}
	return doc.Content[0], nil
}

// syntax puts the parser's complaint into words.
func (f *File) syntax(err error) *Mistake {
	if err == io.EOF {
		m := f.At(1, 1, "the file is empty", "")
		return &m
	}
	line, col, text := 1, 1, err.Error()
	if e, ok := errors.AsType[*yaml.LoadError](err); ok {
		line, col, text = e.Mark.Line, e.Mark.Column, e.Message
	}
	if f.at(line, col) == '\t' {
		text = "tab character"
	}
	for _, known := range complaints {
		if strings.Contains(text, known.has) {
			if known.tabs {
				line, col = f.tab(line, col)
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
	tabs            bool
}{
	{"tab character", "a tab stands where spaces must", Expected("spaces for indentation"), true},
	{"max depth", "the file nests too deep", Expected(fmt.Sprintf("at most %d levels", mostDepth)), false},
	{"mapping values are not allowed", `a second ": " on one line, or a line that is indented too far`,
		Expected(`one "key: value" a line, lined up with its neighbours; a text that holds ": " in quotes`), false},
	{"could not find expected ':'", "this line is no key with a value", Expected(`"key: value"`), false},
	{"cannot start any token", "a value cannot begin with this character", Expected("the text in quotes"), false},
	{"unknown anchor", "an alias has no place here", Expected("the value itself"), false},
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
