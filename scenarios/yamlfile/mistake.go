package yamlfile

import (
	"cmp"
	"fmt"
	"slices"
	"strings"
)

// A Mistake is one thing that is wrong in a file.
type Mistake struct {
	File   string // as it was asked for
	Line   int    // from 1; 0 where the file as a whole is meant
	Col    int    // in characters from 1; 0 where the file as a whole is meant
	Text   string // what is wrong
	Source string // the line as it stands in the file
	Hint   string // what was expected, or the nearest right word; may be empty
}

// Error gives the mistake as it is shown: place and text, the line with a caret
// under the place, and the hint.
func (m Mistake) Error() string {
	var b strings.Builder
	if m.Line > 0 {
		fmt.Fprintf(&b, "%s:%d:%d: %s", m.File, m.Line, m.Col, m.Text)
	} else {
		fmt.Fprintf(&b, "%s: %s", m.File, m.Text)
	}
	if line, caret := excerpt(m.Source, m.Col); m.Line > 0 && strings.TrimSpace(line) != "" {
		fmt.Fprintf(&b, "\n    %s\n    %s^", line, caret)
	}
	if m.Hint != "" {
		fmt.Fprintf(&b, "\n  %s", m.Hint)
	}
	return b.String()
}

// Mistakes are all that is wrong in one or more files.
type Mistakes []Mistake

// Error gives the mistakes one after the other.
func (ms Mistakes) Error() string {
	all := make([]string, len(ms))
	for i, m := range ms {
		all[i] = m.Error()
	}
	return strings.Join(all, "\n")
}

// Err gives the mistakes in the order of their places, without repetitions, or
// nil where there are none.
func (ms Mistakes) Err() error {
	if len(ms) == 0 {
		return nil
	}
	sorted := slices.Clone(ms)
	slices.SortStableFunc(sorted, func(a, b Mistake) int {
		return cmp.Or(cmp.Compare(a.File, b.File), cmp.Compare(a.Line, b.Line),
			cmp.Compare(a.Col, b.Col), cmp.Compare(a.Text, b.Text), cmp.Compare(a.Hint, b.Hint))
	})
	return slices.Compact(sorted)
}

// Expected makes the hint that names what would have been right.
func Expected(what string) string { return "expected: " + what }

// DidYouMean makes the hint that offers the nearest right word, or lists the
// right ones where none is near.
func DidYouMean(wrong string, right []string) string {
	if near, ok := Nearest(wrong, right); ok {
		return fmt.Sprintf("did you mean %q?", near)
	}
	if len(right) == 0 {
		return ""
	}
	return Expected(OneOf(right))
}

// OneOf lists words: "a", "a or b", "one of a, b, c".
func OneOf(words []string) string {
	switch len(words) {
	case 0:
		return "nothing"
	case 1:
		return words[0]
	case 2:
		return words[0] + " or " + words[1]
	}
	return "one of " + strings.Join(words, ", ")
}
