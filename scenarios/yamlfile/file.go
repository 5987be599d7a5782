package yamlfile

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"strings"
	"unicode/utf8"
)

// MostBytes is the size of the largest file that is read.
const MostBytes = 1 << 20

// mostChars is how long a line may be. It keeps the work that a mistake makes
// small, whatever the file.
const mostChars = 2000

// A File is the text of one file.
type File struct {
	Name  string
	Text  []byte
	lines []string
}

// New makes a file of a text.
func New(name string, text []byte) *File { return &File{Name: name, Text: text} }

// Read reads a file, shown to people under the name given. A file that is too
// large is refused by its stated size, before anything is read of it.
func Read(fsys fs.FS, path, name string) (*File, error) {
	whole := func(text, hint string) error { return Mistakes{{File: name, Text: text, Hint: hint}} }
	// A pipe is refused before it is opened: opening it could take for ever.
	if info, err := fs.Stat(fsys, path); err == nil && !info.Mode().IsRegular() {
		return nil, whole("is not a file of text", Expected("a YAML file"))
	}
	f, err := fsys.Open(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, whole("there is no such file", "")
	}
	if err != nil {
		return nil, whole("cannot be opened: "+plain(err), "")
	}
	defer f.Close()
	info, err := f.Stat()
	switch {
	case err != nil:
		return nil, whole("cannot be looked at: "+plain(err), "")
	case !info.Mode().IsRegular():
		return nil, whole("is not a file of text", Expected("a YAML file"))
	case info.Size() > MostBytes:
		return nil, whole(fmt.Sprintf("is too large: %d bytes", info.Size()), Expected(fmt.Sprintf("at most %d bytes", MostBytes)))
	}
	text, err := io.ReadAll(io.LimitReader(f, MostBytes+1))
	if err != nil {
		return nil, whole("cannot be read: "+plain(err), "")
	}
	if len(text) > MostBytes {
		return nil, whole("is too large", Expected(fmt.Sprintf("at most %d bytes", MostBytes)))
	}
	return New(name, text), nil
}

// plain drops the path that the system's errors repeat.
func plain(err error) string {
	if path, ok := errors.AsType[*fs.PathError](err); ok {
		return path.Err.Error()
	}
	return err.Error()
}

// Line gives one line of the file, without its end.
func (f *File) Line(n int) string {
	if f.lines == nil {
		text := strings.TrimPrefix(string(f.Text), "\ufeff")
		text = strings.ReplaceAll(text, "\r\n", "\n")
		f.lines = strings.Split(strings.ReplaceAll(text, "\r", "\n"), "\n")
	}
	if n < 1 || n > len(f.lines) {
		return ""
	}
	return f.lines[n-1]
}

// LineCount is the number of lines that hold text: what follows the last line's
// end is no line.
func (f *File) lineCount() int {
	f.Line(1)
	if n := len(f.lines); n > 1 && f.lines[n-1] == "" {
		return n - 1
	}
	return len(f.lines)
}

// At makes a mistake at a place in the file. A place behind the end of the file
// is brought back to its last line.
func (f *File) At(line, col int, text, hint string) Mistake {
	if last := f.lineCount(); line > last {
		line, col = last, utf8.RuneCountInString(f.Line(last))+1
	}
	line = max(line, 1)
	col = min(max(col, 1), utf8.RuneCountInString(f.Line(line))+1)
	return Mistake{File: f.Name, Line: line, Col: col, Text: text, Source: f.Line(line), Hint: hint}
}

// foreign finds the first byte that has no place in a file of text.
func (f *File) foreign() (Mistake, bool) {
	line, col := 1, 1
	if head := f.Text[:min(len(f.Text), 512)]; bytes.HasPrefix(head, []byte("\xff\xfe")) || bytes.HasPrefix(head, []byte("\xfe\xff")) {
		return Mistake{File: f.Name, Line: 1, Col: 1, Text: "this is text in UTF-16", Hint: Expected("a text file in UTF-8; most editors can save it as that")}, true
	} else if bytes.Count(head, []byte{0}) > len(head)/8 {
		return Mistake{File: f.Name, Line: 1, Col: 1, Text: "this is no text at all", Hint: Expected("a text file in UTF-8")}, true
	}
	text := strings.TrimPrefix(string(f.Text), "\ufeff")
	for i := 0; i < len(text); {
		c, size := utf8.DecodeRuneInString(text[i:])
		switch {
		case col > mostChars && c != '\n' && c != '\r':
			return f.At(line, col, "the line is too long", Expected(fmt.Sprintf("lines of at most %d characters", mostChars))), true
		case c == utf8.RuneError && size <= 1:
			return f.At(line, col, fmt.Sprintf("the byte 0x%02X is not text in UTF-8", text[i]), Expected("a text file in UTF-8")), true
		case c == '\n', c == '\r' && !strings.HasPrefix(text[i:], "\r\n"):
			line, col = line+1, 0
		case c < ' ' && c != '\t' && c != '\r', c == 0x7f, c >= 0x80 && c < 0xa0, c == '\u2028', c == '\u2029', c == '\ufeff':
			return f.At(line, col, fmt.Sprintf("the character U+%04X has no place in a text file", c), Expected("a text file in UTF-8")), true
		}
		col++
		i += size
	}
	return Mistake{}, false
}
