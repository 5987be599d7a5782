package condition

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/rig/motion"
	"pintle/rig/rule"
	"pintle/rig/signal"
	"pintle/scenarios/quantity"
	"pintle/scenarios/yamlfile"
)

var promised = []string{"stall current", "dead time", "broken"}

func promises(name string) (quantity.Value, bool) {
	switch name {
	case "stall current":
		return quantity.OfCurrent(20 * signal.Ampere), true
	case "dead time":
		return quantity.OfTime(500e6), true
	case "broken":
		return quantity.Value{}, true
	}
	return quantity.Value{}, false
}

// read gives a condition, or what is wrong with its text.
func read(text string) (rule.Condition, []yamlfile.Problem) {
	var c Condition
	if bad := c.Set(yamlfile.Source{Text: text}, yamlfile.Field{}); bad != nil {
		return rule.Condition{}, bad
	}
	return c.Work(promises, promised)
}

var (
	isClosing = rule.Term{Kind: rule.MotorIs, State: motion.Closing}
	isOpening = rule.Term{Kind: rule.MotorIs, State: motion.Opening}
	isStopped = rule.Term{Kind: rule.MotorIs, State: motion.Stopped}
	pressed   = rule.Term{Kind: rule.LineIs, Line: signal.Remote, Level: signal.Made}
)

func line(l signal.Line, v signal.Level) rule.Term {
	return rule.Term{Kind: rule.LineIs, Line: l, Level: v}
}

func above(c signal.Current) rule.Term { return rule.Term{Kind: rule.CurrentAbove, Current: c} }

func not(t rule.Term) rule.Term {
	t.Not = !t.Not
	return t
}

func TestParseGood(t *testing.T) {
	any := func(clauses ...[]rule.Term) [][]rule.Term { return clauses }
	all := func(terms ...rule.Term) []rule.Term { return terms }
	for _, c := range []struct {
		text  string
		event bool
		any   [][]rule.Term
	}{
		{"motor closing", false, any(all(isClosing))},
		{"motor opening", false, any(all(isOpening))},
		{"motor stopped", false, any(all(isStopped))},
		{"motor moving", false, any(all(isOpening), all(isClosing))},
		{"not motor moving", false, any(all(not(isOpening), not(isClosing)))},
		{"motor starts closing", true, any(all(isClosing))},
		{"motor starts opening", true, any(all(isOpening))},
		{"motor starts", true, any(all(isOpening), all(isClosing))},
		{"motor stops", true, any(all(isStopped))},
		{"remote pressed", false, any(all(pressed))},
		{"remote is pressed", true, any(all(pressed))},
		{"remote makes", true, any(all(pressed))},
		{"remote made", false, any(all(pressed))},
		{"remote released", false, any(all(line(signal.Remote, signal.Broken)))},
		{"remote is released", true, any(all(line(signal.Remote, signal.Broken)))},
		{"closed-limit makes", true, any(all(line(signal.ClosedLimit, signal.Made)))},
		{"closed-limit breaks", true, any(all(line(signal.ClosedLimit, signal.Broken)))},
		{"open-limit made", false, any(all(line(signal.OpenLimit, signal.Made)))},
		{"open-limit broken", false, any(all(line(signal.OpenLimit, signal.Broken)))},
		{"hall-closed magnet there", false, any(all(line(signal.HallClosed, signal.Made)))},
		{"hall-open no magnet", false, any(all(line(signal.HallOpen, signal.Broken)))},
		{"beam interrupted", false, any(all(line(signal.Beam, signal.Made)))},
		{"beam is interrupted", true, any(all(line(signal.Beam, signal.Made)))},
		{"beam clear", false, any(all(line(signal.Beam, signal.Broken)))},
		{"beam clears", true, any(all(line(signal.Beam, signal.Broken)))},
		{"supply on", false, any(all(line(signal.Supply, signal.Made)))},
		{"supply comes on", true, any(all(line(signal.Supply, signal.Made)))},
		{"supply goes off", true, any(all(line(signal.Supply, signal.Broken)))},
		{"drive-close driven", false, any(all(line(signal.DriveClose, signal.Made)))},
		{"drive-open goes idle", true, any(all(line(signal.DriveOpen, signal.Broken)))},
		{"current above 12A", false, any(all(above(12 * signal.Ampere)))},
		{"current rises above 12.5 A", true, any(all(above(12_500_000)))},
		{"not current above claim stall current * 50 %", false, any(all(not(above(10 * signal.Ampere))))},
		{"current above claim stall current and motor closing", false, any(all(above(20*signal.Ampere), isClosing))},
		{"(current above (10A + 2A)) or motor opening", false, any(all(above(12*signal.Ampere)), all(isOpening))},
		{"remote pressed and motor moving", false, any(all(pressed, isOpening), all(pressed, isClosing))},
		{"not (remote pressed and motor closing)", false, any(all(not(pressed)), all(not(isClosing)))},
		{"not (remote pressed or motor closing)", false, any(all(not(pressed), not(isClosing)))},
		{"not not motor closing", false, any(all(isClosing))},
		{"motor closing or motor opening and remote pressed", false, any(all(isClosing), all(isOpening, pressed))},
		{"(motor closing or motor opening) and remote pressed", false, any(all(isClosing, pressed), all(isOpening, pressed))},
		{"open-limit makes or closed-limit makes", true, any(all(line(signal.OpenLimit, signal.Made)), all(line(signal.ClosedLimit, signal.Made)))},
	} {
		got, bad := read(c.text)
		if assert.Empty(t, bad, c.text) {
			assert.Equal(t, c.any, got.Any, c.text)
			assert.Equal(t, c.event, got.Becomes, c.text)
			assert.Equal(t, c.text, got.Text)
		}
	}
}

// Each error points at the character that it is about.
func TestParseBad(t *testing.T) {
	for _, c := range []struct {
		text, says, hint string
		at               string // the rest of the text from the character pointed at
	}{
		{"", "a condition is missing", "", ""},
		{"moter closing", `"moter" is nothing that a condition can speak of`, `did you mean "motor"?`, "moter"},
		{"closed limit makes", `"closed" is nothing that a condition can speak of`, "", "closed"},
		{"closed-limt makes", `"closed-limt" is nothing that a condition can speak of`, `did you mean "closed-limit"?`, "closed-limt"},
		{"motor closng", `"closng" cannot be said of "motor"`, `did you mean "closing"?`, "closng"},
		{"motor", `nothing is said of "motor"`, "", ""},
		{"motor and remote pressed", `nothing is said of "motor"`, "", "and remote"},
		{"motor is closing", `"is closing" cannot be said of "motor"`, `did you mean "motor closing" (a state) or "motor starts closing" (an event)?`, "is closing"},
		{"supply is on", `"is on" cannot be said of "supply"`, `did you mean "supply on" (a state) or "supply comes on" (an event)?`, "is on"},
		{"remote is made", `"is made" cannot be said of "remote"`, `did you mean "remote made" (a state) or "remote is pressed" (an event)?`, "is made"},
		{"remote presed and motor closing", `"presed" cannot be said of "remote"`, `did you mean "pressed"?`, "presed"},
		{"current over 12A", `"over" cannot be said of "current"`, "", "over"},
		{"current above", "a current is missing", "", ""},
		{"current above and motor closing", "a current is missing", "", "and motor"},
		{"current above 12", `"12" has no unit`, "", "12"},
		{"motor closing and current above 12s", `"12s" is a time, not a current`, "", "12s"},
		{"current above 12 amps", `unknown unit "amps"`, "", "amps"},
		{"current above claim dead time", `"claim dead time" is a time, not a current`, "", "claim dead time"},
		{"current above claim stal current", `there is no claim "stal current"`, `did you mean "stall current"?`, "stal current"},
		{"motor closing closing", `"closing" cannot stand here`, "", "closing"},
		{"motor closing and", "a condition is missing", "", ""},
		{"and motor closing", `"and" is nothing that a condition can speak of`, "", "and"},
		{"(motor closing", `a "(" without its ")"`, "", "(motor"},
		{"motor closing)", `")" cannot stand here`, "", ")"},
		{"not remote is pressed", "an event cannot be denied", "", "remote is"},
		{"remote is pressed and motor closing", "an event and a state cannot be joined", "", "motor closing"},
		{"motor closing or motor stops", "an event and a state cannot be joined", "", "motor stops"},
		{"remote is pressed and motor stops", "two events cannot be joined by and: they hardly ever come at one instant", "", "motor stops"},
		{strings.Repeat("motor moving and ", 9) + "motor moving", "the condition has too many cases", "", ""},
		{strings.Repeat("not ", 40) + "motor moving", `"not" is nothing that a condition can speak of`, "", ""},
		{strings.Repeat("motor moving or ", 40) + "motor moving", "the condition is too long", "", ""},
	} {
		_, bad := read(c.text)
		if !assert.NotEmpty(t, bad, c.text) {
			continue
		}
		assert.Equal(t, c.says, bad[0].Text, c.text)
		if c.hint != "" {
			assert.Equal(t, c.hint, bad[0].Hint, c.text)
		}
		if c.at != "" {
			rest := string([]rune(c.text)[bad[0].Offset:])
			assert.Truef(t, strings.HasPrefix(rest, c.at), "%q points at %q", c.text, rest)
		}
	}
}

// What depends on a claim that is itself wrong is no second mistake.
func TestClaimWithoutValueIsNoMistakeHere(t *testing.T) {
	_, bad := read("current above claim broken")
	assert.Empty(t, bad)
}

func TestLinesAndClaims(t *testing.T) {
	var c Condition
	require.Empty(t, c.Set(yamlfile.Source{Text: "current above claim stall current * 2 and (remote pressed or closed-limit made)"}, yamlfile.Field{}))
	assert.Equal(t, signal.SetOf(signal.Remote, signal.ClosedLimit), c.Lines())
	assert.Equal(t, []string{"stall current"}, c.Claims())
}

// Every line can be spoken of, as a state and as an event, on both levels.
func TestEveryLineHasItsWords(t *testing.T) {
	for _, info := range signal.Lines {
		states, happenings := States(info.Line)
		assert.GreaterOrEqual(t, len(states), 2, info.Name)
		assert.GreaterOrEqual(t, len(happenings), 2, info.Name)
		for _, words := range append(states, happenings...) {
			_, bad := read(info.Name + " " + words)
			assert.Empty(t, bad, info.Name+" "+words)
		}
	}
}
