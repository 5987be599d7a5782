package schema_test

import (
	"bytes"
	"reflect"
	"strings"
	"testing"
	"time"

	"github.com/santhosh-tekuri/jsonschema/v6"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/reports"
	"pintle/reports/record"
	"pintle/reports/reportstest"
	"pintle/reports/schema"
)

func compiled(t *testing.T, of reflect.Type) *jsonschema.Schema {
	text, err := schema.Of(of, "a test")
	require.NoError(t, err)
	again, err := schema.Of(of, "a test")
	require.NoError(t, err)
	require.Equal(t, string(text), string(again))
	doc, err := jsonschema.UnmarshalJSON(bytes.NewReader(text))
	require.NoError(t, err)
	c := jsonschema.NewCompiler()
	c.AssertFormat()
	require.NoError(t, c.AddResource("a.json", doc))
	s, err := c.Compile("a.json") // which holds it against the metaschema
	require.NoError(t, err)
	return s
}

func check(t *testing.T, s *jsonschema.Schema, text string) error {
	doc, err := jsonschema.UnmarshalJSON(strings.NewReader(text))
	require.NoError(t, err)
	return s.Validate(doc)
}

// The records are what the schema of them says, and what is not, is refused.
func TestRecords(t *testing.T) {
	s := compiled(t, reflect.TypeFor[reports.Run]())
	for name, run := range map[string]*reports.Run{"mixed": reportstest.Mixed(), "sound": reportstest.Sound(), "empty": {}} {
		text, err := record.Canonical(run)
		require.NoError(t, err)
		assert.NoError(t, check(t, s, string(text)), name)
		for what, change := range map[string][2]string{
			"a field more": {`"id":`, `"extra":1,"id":`}, "a field less": {`"job":`, `"jobb":`},
			"another type": {`"trials":`, `"trials":{},"was":`}, "no time": {`"began":"`, `"began":"about `}, "no seed": {`"seed":"`, `"seed":"x`},
		} {
			assert.Error(t, check(t, s, strings.Replace(string(text), change[0], change[1], 1)), "%s: %s", name, what)
		}
	}
}

func TestWords(t *testing.T) {
	type inner struct {
		N int64 `json:"n"`
	}
	type outer struct {
		Word  string        `json:"word" enum:"a,b" doc:"one of two"`
		Kind  string        `json:"kind" const:"k"`
		In    *inner        `json:"in,omitempty"`
		All   []inner       `json:"all"`
		Pair  [2]bool       `json:"pair"`
		Took  time.Duration `json:"took"`
		Not   int           `json:"-"`
		Count uint8
	}
	s := compiled(t, reflect.TypeFor[outer]())
	good := `{"word":"a","kind":"k","all":[{"n":1}],"pair":[true,false],"took":5,"Count":3}`
	assert.NoError(t, check(t, s, good))
	for _, change := range [][2]string{{`"a"`, `"c"`}, {`"k",`, `"l",`}, {`,false`, ``}, {`"n":1`, `"n":"1"`}, {`"took":5`, `"took":5.5`}, {`3`, `-3`}, {`"word"`, `"Not":1,"word"`}} {
		assert.Error(t, check(t, s, strings.Replace(good, change[0], change[1], 1)), change[1])
	}
}

func TestWhatCannotBeDescribed(t *testing.T) {
	type base struct{ A int }
	for name, of := range map[string]reflect.Type{"embedded": reflect.TypeFor[struct{ base }](), "map": reflect.TypeFor[struct{ M map[string]int }](), "float": reflect.TypeFor[float64]()} {
		_, err := schema.Of(of, "a test")
		assert.Error(t, err, name)
	}
}
