package yamlfile

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

type named struct {
	One   Text      `key:"one" need:"yes" names:"fruit" doc:"what is eaten"`
	Usual Text      `key:"usual" names:"fruit" default:"pear"`
	Many  []Text    `key:"many" names:"fruit"`
	By    Map[Text] `key:"by" names:"fruit"`
}

var fruit = map[string]Names{"fruit": {Known: []Name{{"apple", "round"}, {"pear", "not so round"}}}}

// A name that is none is told in its place with the nearest that there is, wherever texts
// are named; the values of a mapping whose keys are names are no names themselves.
func TestNamesThatTheReaderIsGiven(t *testing.T) {
	for text, want := range map[string]string{
		"one: apple\nmany: [pear, apple]\nby: {apple: anything}\n": "",
		"one: aple\n":                 "f:1:6: \"aple\" is not a word for \"one\"\n    one: aple\n         ^\n  did you mean \"apple\"?",
		"one: apple\nmany: [peer]\n":  "f:2:8: \"peer\" is not a word for \"many\"\n    many: [peer]\n           ^\n  did you mean \"pear\"?",
		"one: [apple]\n":              "f:1:6: a word is wanted here, not a list\n    one: [apple]\n         ^\n  expected: apple or pear",
		"usual: pear\n":               "f:1:1: the key \"one\" is missing\n    usual: pear\n    ^\n  expected: one: what is eaten; apple: round; pear: not so round",
		"one: apple\nusual: banana\n": "f:2:8: \"banana\" is not a word for \"usual\"\n    usual: banana\n           ^\n  expected: apple or pear",
	} {
		var n named
		err := Decode(New("f", []byte(text)), &n, fruit).Err()
		if want == "" {
			require.NoError(t, err, text)
			assert.Equal(t, "pear", n.Usual.Text)
			continue
		}
		assert.EqualError(t, err, want)
	}
}

// Whoever forgets to say what the names are must not have every name taken.
func TestNamesOfNothing(t *testing.T) {
	assert.Panics(t, func() { Decode(New("f", []byte("one: apple\n")), &named{}, nil) })
}
