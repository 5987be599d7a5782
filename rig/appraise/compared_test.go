package appraise_test

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	. "pintle/rig/appraise"
	"pintle/rig/motion"
	"pintle/rig/rule"
	"pintle/rig/signal"
	"pintle/rig/uncertainty"
)

// What a reading may be off by, worked out by hand: twice its noise of 20 mA, half its step
// of 10 mA, its zero of 5 mA, and one per cent of it.
func TestWhatAReadingMayBeOffBy(t *testing.T) {
	for _, c := range []struct {
		reading, off signal.Current
	}{{0, 50_000}, {15_000_000, 200_000}, {-15_000_000, 200_000}, {101, 50_002}} {
		assert.Equal(t, c.off, appraiserOf(t, Decision{}).Off(c.reading), "%d", c.reading)
		assert.Equal(t, c.off, appraiserOf(t, Decision{}).Compared(c.reading), "w = U: %d", c.reading)
		assert.Equal(t, c.off, appraiserOf(t, Decision{Rule: uncertainty.Simple()}).Compared(c.reading), "without a guard band: %d", c.reading)
	}
	thrice := Decision{Rule: uncertainty.Rule{Kind: uncertainty.GuardedAcceptance, GuardPercent: 300}}
	assert.Equal(t, signal.Current(600_000), appraiserOf(t, thrice).Compared(15_000_000))
	assert.Equal(t, signal.Current(200_000), appraiserOf(t, thrice).Off(15_000_000))
}

func above(currents ...signal.Current) (c rule.Condition) {
	for _, i := range currents {
		c.Any = append(c.Any, []rule.Term{{Kind: rule.MotorIs, State: motion.Closing}, {Kind: rule.CurrentAbove, Current: i}})
	}
	return c
}

// comparisons lists the currents that a rule compares with.
func comparisons(r rule.Rule) (all []signal.Current) {
	for _, c := range []rule.Condition{r.P, r.S, r.Scope.Q, r.Scope.R} {
		for _, terms := range c.Any {
			for _, x := range terms {
				if x.Kind == rule.CurrentAbove {
					all = append(all, x.Current)
				}
			}
		}
	}
	return all
}

func shifted(all []rule.Rule) (out [][]signal.Current) {
	for _, r := range all {
		out = append(out, comparisons(r))
	}
	return out
}

// Every current that a rule compares with is moved down and up, in all combinations, and
// none below nothing; the rule itself stays as it is.
func TestShiftedMovesEveryComparison(t *testing.T) {
	type currents = []signal.Current
	a := appraiserOf(t, Decision{})
	none := rule.Rule{Pattern: rule.Absence, P: rule.Condition{Any: [][]rule.Term{{{Kind: rule.MotorIs, State: motion.Closing, Current: 15_000_000}}}}}
	assert.Nil(t, a.Shifted(none), "it compares with none")

	one := rule.Rule{Pattern: rule.Absence, P: above(15_000_000)}
	assert.Equal(t, []currents{{14_800_000}, {15_200_000}}, shifted(a.Shifted(one)))
	assert.Equal(t, currents{15_000_000}, comparisons(one))
	assert.Equal(t, one.P.Any[0][0], a.Shifted(one)[0].P.Any[0][0], "what is no comparison stays")

	low := rule.Rule{Pattern: rule.BoundedResponse, P: above(10_000), S: above(15_000_000)}
	assert.Equal(t, []currents{{0, 14_800_000}, {60_100, 14_800_000}, {0, 15_200_000}, {60_100, 15_200_000}}, shifted(a.Shifted(low)))

	scoped := rule.Rule{Pattern: rule.Absence, P: none.P, Scope: rule.Scope{Kind: rule.Between, Q: above(15_000_000), R: above(0)}}
	assert.Len(t, a.Shifted(scoped), 4)

	six := a.Shifted(rule.Rule{Pattern: rule.Absence, P: above(1e6, 2e6, 3e6, 4e6, 5e6, 6e6)})
	assert.Len(t, six, 32)
	seen := map[[6]bool]bool{}
	for _, c := range shifted(six) {
		var up [6]bool
		for k, x := range c {
			up[k] = x > signal.Current(k+1)*1e6
			assert.NotEqual(t, signal.Current(k+1)*1e6, x, "each is moved")
		}
		assert.Equal(t, up[4], up[5], "those beyond the fifth move with it")
		seen[up] = true
	}
	assert.Len(t, seen, 32)
}

// Simple acceptance keeps no guard band about a verdict, and yet a time has to be known; a
// meter that is never off moves nothing.
func TestShiftedWhereThereIsNothingToAsk(t *testing.T) {
	simple := appraiserOf(t, Decision{Rule: uncertainty.Simple()})
	for pattern, n := range map[rule.Pattern]int{rule.Absence: 0, rule.BoundedExistence: 0, rule.BoundedResponse: 2, rule.CurrentUnder: 2} {
		assert.Len(t, simple.Shifted(rule.Rule{Pattern: pattern, P: above(15_000_000)}), n, "%v", pattern)
		assert.Len(t, appraiserOf(t, Decision{}).Shifted(rule.Rule{Pattern: pattern, P: above(15_000_000)}), 2, "%v", pattern)
	}
	m := means()
	m.Noise, m.Resolution, m.Zero = 0, 0, 0
	a, err := New(m, Decision{})
	require.NoError(t, err)
	assert.Nil(t, a.Shifted(rule.Rule{Pattern: rule.Absence, P: above(0)}), "of nothing one per cent is nothing")
	assert.Len(t, a.Shifted(rule.Rule{Pattern: rule.Absence, P: above(0, 1_000_000)}), 4)
}
