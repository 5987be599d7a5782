package yamlfile

import (
	"fmt"
	"reflect"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// shape has a table's keys between two of its own.
type shape struct {
	Title  Text `key:"title" doc:"a title"`
	Kind   Chosen
	Count  Count
	Text   Text
	Colour Text `key:"colour" default:"red" doc:"a colour"`
}

func (shape) TableKeys() []Field {
	return []Field{
		{Key: "square", Into: "Count", Choice: true, Limit: "1 to 9", Doc: "how large"},
		{Key: "circle", Into: "Count", Choice: true, Limit: "1 to 5", Doc: "how wide"},
		{Key: "called", Into: "Text", With: []string{"circle"}, NeedWith: []string{"circle"}, Words: []string{"a", "b"}, Doc: "its name"},
	}
}

func TestTableKeysStandWhereTheyAreChosen(t *testing.T) {
	assert.Equal(t, []string{"title", "square", "circle", "called", "colour"}, Keys(Fields(reflect.TypeFor[shape]())))
}

func TestDecodeOfATable(t *testing.T) {
	for _, c := range []struct{ text, key, says string }{
		{"circle: 5\ncalled: b\n", "circle", ""},
		{"square: 9\n", "square", ""},
		{"circle: 6\ncalled: b\n", "circle", `1:9 "6" is not a whole number from 1 to 5`},
		{"circle: 5\n", "circle", `1:1 the key "called" is missing`},
		{"square: 5\ncalled: b\n", "square", `2:1 "called" does not go with "square"`},
		{"square: 5\ncircle: 5\ncalled: a\n", "", `2:1 "square" and "circle" cannot stand together`},
		{"title: x\n", "", `1:1 nothing here says what it is`},
	} {
		var s shape
		bad := Decode(New("f", []byte(c.text)), &s, nil)
		assert.Equal(t, c.key, s.Kind.Key, c.text)
		assert.Equal(t, "red", s.Colour.Text, c.text)
		if c.key != "" {
			assert.Equal(t, [2]int{1, 1}, [2]int{s.Kind.Line, s.Kind.Col}, c.text)
		}
		if c.says == "" {
			require.Empty(t, bad, c.text)
			continue
		}
		require.Len(t, bad, 1, c.text)
		assert.Equal(t, c.says, fmt.Sprintf("%d:%d %s", bad[0].Line, bad[0].Col, bad[0].Text), c.text)
	}
}

// A table that puts a key where there is no field is a mistake in the program.
func TestTableKeyIntoNothing(t *testing.T) {
	assert.PanicsWithValue(t, `yamlfile: yamlfile.lost has no field "Nowhere" for the key "x"`, func() { Fields(reflect.TypeFor[lost]()) })
}

type lost struct{ Kind Chosen }

func (lost) TableKeys() []Field { return []Field{{Key: "x", Into: "Nowhere"}} }
