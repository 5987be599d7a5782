package rule

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/motion"
	"pintle/rig/signal"
)

func TestRulesThatNothingBreaks(t *testing.T) {
	b := Bounds{Reading: 50, Trial: time.Minute}
	line := func(l signal.Level, not bool) Term { return Term{Kind: LineIs, Line: signal.Beam, Level: l, Not: not} }
	is := func(s motion.State, not bool) Term { return Term{Kind: MotorIs, State: s, Not: not} }
	above := func(c signal.Current, not bool) Term { return Term{Kind: CurrentAbove, Current: c, Not: not} }
	never := func(clauses ...[]Term) Rule { return Rule{Pattern: Absence, P: Condition{Text: "it", Any: clauses}} }
	all := func(terms ...Term) []Term { return terms }
	for name, c := range map[string]struct {
		rule Rule
		want bool
	}{
		"over nothing":            {Rule{Pattern: CurrentOver}, true},
		"over hardly anything":    {Rule{Pattern: CurrentOver, Current: 1}, false},
		"a mean over nothing":     {Rule{Pattern: AverageOver, Window: 1}, true},
		"under nothing":           {Rule{Pattern: CurrentUnder}, false},
		"under what can be seen":  {Rule{Pattern: CurrentUnder, Current: 49}, false},
		"under what cannot":       {Rule{Pattern: CurrentUnder, Current: 50}, true},
		"within a trial":          {Rule{Pattern: BoundedResponse, Limit: time.Minute}, false},
		"within more than one":    {Rule{Pattern: BoundedResponse, Limit: time.Minute + 1}, true},
		"for more than a trial":   {Rule{Pattern: MinimumDuration, Limit: time.Hour}, false}, // never kept is another matter
		"a line both ways":        {never(all(line(signal.Made, false), line(signal.Made, true))), true},
		"a line one way or other": {never(all(line(signal.Made, false)), all(line(signal.Made, true))), false},
		"a line twice":            {never(all(line(signal.Made, false), line(signal.Broken, true))), false},
		"two states":              {never(all(is(motion.Opening, false), is(motion.Closing, false))), true},
		"a state and not it":      {never(all(is(motion.Opening, true), is(motion.Opening, false))), true},
		"neither state":           {never(all(is(motion.Opening, true), is(motion.Closing, true))), false},
		"a band":                  {never(all(above(10, false), above(20, true))), false},
		"no band":                 {never(all(above(20, false), above(20, true))), true},
		"above what can be seen":  {never(all(above(50, false))), true},
		"above what just can":     {never(all(above(49, false))), false},
		"not above that":          {never(all(above(50, true))), false},
		"at some time, never":     {Rule{Pattern: Existence, P: never(all(above(50, false))).P}, false},
	} {
		assert.Equal(t, c.want, Vacuous(&c.rule, b) != "", name)
	}
}

// No rule that is called so is ever found broken.
func TestWhatIsCalledVacuousNeverFails(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		terms := rapid.SliceOfN(rapid.Custom(func(t *rapid.T) Term {
			return Term{Kind: TermKind(rapid.IntRange(1, 3).Draw(t, "kind")), Line: signal.Line(rapid.IntRange(1, 2).Draw(t, "line")),
				Level: signal.Level(rapid.IntRange(0, 1).Draw(t, "level")), State: motion.State(rapid.IntRange(1, 3).Draw(t, "state")),
				Current: signal.Current(rapid.IntRange(0, 4).Draw(t, "current")), Not: rapid.Bool().Draw(t, "not")}
		}), 1, 3)
		r := Rule{Name: "r", Pattern: Absence, P: Condition{Text: "p", Any: [][]Term{terms.Draw(t, "one"), terms.Draw(t, "other")}}}
		b := Bounds{Reading: 3, Trial: time.Second}
		vacuous := Vacuous(&r, b) != ""
		m, err := Compile([]Rule{r}, nil)
		require.NoError(t, err)
		var lines [signal.LineCount]signal.Level
		lines[1], lines[2] = signal.Level(rapid.IntRange(0, 1).Draw(t, "1")), signal.Level(rapid.IntRange(0, 1).Draw(t, "2"))
		m.Begin(0, lines, motion.State(rapid.IntRange(1, 3).Draw(t, "motor")))
		for i := range signal.Instant(4) {
			m.Sample(signal.Sample{From: i * 10, To: i*10 + 10, Current: signal.Current(rapid.Int64Range(-3, 3).Draw(t, "i"))})
			m.Edge(signal.EdgeSeen{Line: signal.Line(rapid.IntRange(1, 2).Draw(t, "l")), Level: signal.Level(rapid.IntRange(0, 1).Draw(t, "v")), Span: signal.At(i*10 + 5)})
		}
		if f := m.Finish(100)[0]; vacuous {
			require.NotEqual(t, Fail, f.Verdict)
		}
	})
}
