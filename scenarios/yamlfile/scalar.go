package yamlfile

import (
	"fmt"
	"slices"
	"strconv"
	"strings"
)

// Text is any text, or one of the words that its field allows.
type Text struct {
	Source
}

// String is the text.
func (t Text) String() string { return t.Text }

// Set takes the text over.
func (t *Text) Set(src Source, field Field) []Problem {
	t.Source = src
	switch {
	case strings.TrimSpace(src.Text) == "":
		return []Problem{{Text: fmt.Sprintf("%q is empty", field.Key), Hint: Expected(what(field, "a text"))}}
	case field.Words != nil && !slices.Contains(field.Words, src.Text):
		return []Problem{{Text: fmt.Sprintf("%q is not a word for %q", Short(src.Text), field.Key), Hint: DidYouMean(src.Text, field.Words)}}
	}
	return nil
}

// Shape describes the text.
func (Text) Shape(field Field) Shape {
	if field.Words != nil {
		return Shape{What: "a word", Words: field.Words}
	}
	return Shape{What: "a text", Pattern: `\S`, Number: true, Flag: true}
}

// Count is a whole number.
type Count struct {
	Source
	Value int
}

// Set parses the number. The field's limit, such as "1 to 247", bounds it.
func (c *Count) Set(src Source, field Field) []Problem {
	c.Source = src
	least, most := countLimits(field)
	n, err := strconv.ParseInt(src.Text, 0, 32)
	if err != nil || n < int64(least) || n > int64(most) {
		return []Problem{{Text: fmt.Sprintf("%q is not a whole number from %d to %d", Short(src.Text), least, most), Hint: Expected("a whole number (" + what(field, "such as 1") + ")")}}
	}
	c.Value = int(n)
	return nil
}

// Shape describes the number.
func (Count) Shape(field Field) Shape {
	least, most := countLimits(field)
	return Shape{What: fmt.Sprintf("a whole number from %d to %d", least, most), Pattern: `^[+-]?[0-9][0-9A-Fa-fxob_]*$`, Number: true, Range: fmt.Sprintf("%d to %d", least, most)}
}

func countLimits(field Field) (least, most int) {
	most = 1_000_000_000
	if a, b, ok := strings.Cut(field.Limit, " to "); ok {
		least, _ = strconv.Atoi(a)
		most, _ = strconv.Atoi(b)
	}
	return least, most
}

// Switch is yes or no.
type Switch struct {
	Source
	On bool
}

// Set takes yes, no, true and false.
func (s *Switch) Set(src Source, field Field) []Problem {
	s.Source = src
	switch src.Text {
	case "yes", "true":
		s.On = true
	case "no", "false":
	default:
		return []Problem{{Text: fmt.Sprintf("%q is neither yes nor no", Short(src.Text)), Hint: Expected("yes or no")}}
	}
	return nil
}

// Shape describes the switch.
func (Switch) Shape(Field) Shape {
	return Shape{What: "yes or no", Words: []string{"yes", "no", "true", "false"}, Flag: true}
}

// what prefers the field's own words over the general ones.
func what(field Field, general string) string {
	if field.Doc != "" {
		return field.Doc
	}
	return general
}

// Short cuts a text that is too long for a message.
func Short(text string) string {
	chars := []rune(text)
	if len(chars) <= 60 {
		return text
	}
	return string(chars[:57]) + "..."
}
