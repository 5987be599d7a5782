package quantity

import (
	"strings"
)

// A token is a word between spaces, an operator or a parenthesis, with the
// character that it begins at.
type token struct {
	text string
	at   int
}

// tokens splits a text at spaces, and parentheses off the words that they touch.
func tokens(text string) []token {
	var all []token
	var word strings.Builder
	start := 0
	flush := func() {
		if word.Len() > 0 {
			all = append(all, token{word.String(), start})
			word.Reset()
		}
	}
	i := 0
	for _, c := range text {
		switch c {
		case ' ', '\t', '\n':
			flush()
		case '(', ')':
			flush()
			all = append(all, token{string(c), i})
		default:
			if word.Len() == 0 {
				start = i
			}
			word.WriteRune(c)
		}
		i++
	}
	flush()
	return all
}

func (t token) isOperator() bool { return len(t.text) == 1 && isOperatorRune(rune(t.text[0])) }
