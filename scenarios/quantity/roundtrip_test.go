package quantity

import (
	"fmt"
	"regexp"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/signal"
	"pintle/scenarios/yamlfile"
)

// What is printed of a time or a current can be put into a file, and is the same.
func TestPrintedValuesReadBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		d := time.Duration(rapid.Int64Range(-int64(longest), int64(longest)).Draw(t, "ns"))
		back, bad := Parse(OfTime(d).String(), Time)
		require.Nil(t, bad)
		assert.Equal(t, d, back.Duration())

		c := signal.Current(rapid.Int64Range(-1e15, 1e15).Draw(t, "uA"))
		back, bad = Parse(OfCurrent(c).String(), Current)
		require.Nil(t, bad)
		assert.Equal(t, c, back.Current())
	})
}

// The same figure of every unit: in all its spellings, with and without a space.
func TestEveryUnitReadsBack(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := rapid.SampledFrom(units).Draw(t, "unit")
		whole, part := rapid.IntRange(0, 99999).Draw(t, "whole"), rapid.IntRange(0, 999).Draw(t, "part")
		figure := fmt.Sprintf("%d.%03d", whole, part)
		v, bad := Parse(figure+u.name, u.of)
		require.Nil(t, bad)
		spaced, bad := Parse(figure+" "+u.name, u.of)
		require.Nil(t, bad)
		assert.Zero(t, v.Cmp(spaced))
		assert.Equal(t, u.of, v.Of)
		if u.den > 1000 {
			return // more digits than are printed
		}
		back, bad := Parse(v.String(), u.of)
		require.Nil(t, bad, v.String())
		assert.Zero(t, v.Cmp(back), "%s became %s", figure+u.name, v)
	})
}

// A pattern for editors takes what the parser takes, and no other dimension.
func TestPatternsTakeWhatTheParserTakes(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		u := rapid.SampledFrom(units).Draw(t, "unit")
		d := Dimension(rapid.IntRange(int(Number), int(Warmth)).Draw(t, "dimension"))
		limit := rapid.SampledFrom([]string{"", "positive", "any"}).Draw(t, "limit")
		text := rapid.StringMatching(`[+-]?[0-9]{1,6}(\.[0-9]{1,3})? ?`).Draw(t, "figure") + u.name
		field := yamlfile.Field{Key: "x", Unit: d.String(), Limit: limit}
		v, bad := set(text, d, field)
		matches := regexp.MustCompile(shape(d, field).Pattern).MatchString(text)
		if bad == nil && v.Sign() > 0 {
			assert.True(t, matches, "%q is good", text)
		}
		if u.of != d {
			assert.False(t, matches, "%q is no %v", text, d)
		}
		var f Formula
		if f.Set(yamlfile.Source{Text: text}, field) == nil && v.Sign() > 0 {
			assert.Regexp(t, f.Shape(field).Pattern, text)
		}
	})
}

// The same of sums: whatever can be parsed, an editor takes.
func TestSumPatternTakesWhatTheParserTakes(t *testing.T) {
	words := rapid.SampledFrom([]string{"2s", "claim", "dead", "time", "+", "-", "*", "/", "(", ")", "3", "3 s", "40 %", "(2s", "2s)", "\n"})
	pattern := Formula{}.Shape(yamlfile.Field{Unit: "time"}).Pattern
	good := 0
	rapid.Check(t, func(t *rapid.T) {
		text := ""
		for i, w := range rapid.SliceOfN(words, 1, 7).Draw(t, "words") {
			if i > 0 {
				text += " "
			}
			text += w
		}
		e, bad := ParseExpression(text, Time)
		if bad != nil {
			return
		}
		if _, wrong := e.Evaluate(func(string) (Value, bool) { return Value{}, true }, nil); wrong != nil {
			return
		}
		if v, _ := e.Evaluate(func(string) (Value, bool) { return Value{}, true }, nil); v.Of == Number || v.Sign() < 0 {
			return // the decoder refuses it once it is worked out
		}
		good++
		assert.Regexp(t, pattern, text)
	})
	assert.NotZero(t, good, "no sum was good: nothing was tried")
}
