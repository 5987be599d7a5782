package condition

import (
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"pintle/rig/signal"
	"pintle/scenarios/yamlfile"
)

var (
	anyField   = yamlfile.Field{Key: "absence"}
	stateField = yamlfile.Field{Key: "universality", Limit: "state"}
)

func taken(c *Condition, text string, field yamlfile.Field) bool {
	return c.Set(yamlfile.Source{Text: text}, field) == nil
}

// What an editor offers is what the parser takes, each phrase of each line.
func TestOfferedConditionsAreGood(t *testing.T) {
	for _, field := range []yamlfile.Field{anyField, stateField} {
		s := Condition{}.Shape(field)
		pattern := regexp.MustCompile(s.Pattern)
		assert.Greater(t, len(s.Known), 4*len(signal.Lines)/2)
		for _, text := range append(s.Known, s.Examples...) {
			var c Condition
			assert.True(t, taken(&c, text, field), text)
			assert.Regexp(t, pattern, text)
		}
	}
}

// An editor takes whatever the parser takes, and no event for a state.
func TestPatternTakesWhatTheParserTakes(t *testing.T) {
	all := regexp.MustCompile(Condition{}.Shape(anyField).Pattern)
	states := regexp.MustCompile(Condition{}.Shape(stateField).Pattern)
	statement := rapid.SampledFrom(append(Condition{}.Shape(anyField).Known, "current above 12A", "current rises above 2A", "current rises above claim stall current * (1 + 2)"))
	between := rapid.SampledFrom([]string{" and ", " or ", " or not ", " and (", ") or ", ")or(", " or\n", "  and  ", " "})
	good := 0
	rapid.Check(t, func(t *rapid.T) {
		text := rapid.SampledFrom([]string{"", "(", "not ", "((", " "}).Draw(t, "start") + statement.Draw(t, "first")
		for range rapid.IntRange(0, 3).Draw(t, "more") {
			text += between.Draw(t, "between") + statement.Draw(t, "next")
		}
		text += rapid.SampledFrom([]string{"", ")", "))", " )", " "}).Draw(t, "end")
		var c, state Condition
		if !taken(&c, text, anyField) {
			return
		}
		good++
		assert.Regexp(t, all, text)
		assert.Equal(t, !c.IsEvent(), taken(&state, text, stateField), text)
		if !strings.Contains(text, "claim") {
			assert.Equal(t, !c.IsEvent(), states.MatchString(text), text)
		}
	})
	assert.NotZero(t, good, "no condition was good: nothing was tried")
}

// An event in the place of a state is refused with the state that it begins.
func TestRefusedEvents(t *testing.T) {
	for text, hint := range map[string]string{
		"motor starts":                        `did you mean "motor moving"?`,
		"motor starts closing":                `did you mean "motor closing"?`,
		"motor stops":                         `did you mean "motor stopped"?`,
		"remote is pressed":                   `did you mean "remote pressed"?`,
		"closed-limit breaks":                 `did you mean "closed-limit broken"?`,
		"supply goes off":                     `did you mean "supply off"?`,
		"hall-travel makes":                   `did you mean "hall-travel magnet there"?`,
		"current rises above 2A":              `did you mean "current above 2A"?`,
		"(beam clears)":                       "expected: a state, which lasts, such as motor closing",
		"motor starts or beam is interrupted": "expected: a state, which lasts, such as motor closing",
	} {
		var c Condition
		bad := c.Set(yamlfile.Source{Text: text}, stateField)
		if assert.Len(t, bad, 1, text) {
			assert.Equal(t, hint, bad[0].Hint, text)
		}
		assert.NotRegexp(t, Condition{}.Shape(stateField).Pattern, text)
		var good Condition
		assert.True(t, taken(&good, text, anyField), text)
		assert.Len(t, good.RefuseEvent("then"), 1, text)
	}
	var c Condition
	assert.True(t, taken(&c, "motor moving", stateField))
	assert.Empty(t, c.RefuseEvent("then"))
}
