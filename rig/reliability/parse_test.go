package reliability_test

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	. "pintle/rig/reliability"
)

func TestParsePlan(t *testing.T) {
	for text, want := range map[string]Plan{
		"95/95":     {Reliability: 0.95, Confidence: 0.95},
		"99/95":     {Reliability: 0.99, Confidence: 0.95},
		"95/90":     {Reliability: 0.95, Confidence: 0.90}, // reliability first
		"99.9/95":   {Reliability: 0.999, Confidence: 0.95},
		"99.99/2.5": {Reliability: 0.9999, Confidence: 0.025},
		"50.0/050":  {Reliability: 0.5, Confidence: 0.5},
		"99./95.":   {Reliability: 0.99, Confidence: 0.95},
	} {
		got, err := ParsePlan(text)
		require.NoError(t, err, text)
		assert.Equal(t, want, got, text)
	}
}

func TestParsePlanErrors(t *testing.T) {
	const how = `: write reliability/confidence in per cent, reliability first, as in 95/95 or 99.9/95`
	const which = ` (reliability/confidence in per cent, reliability first): `
	for text, want := range map[string]string{
		"":                           `"" ` + how[2:],
		"95":                         `"95"` + how,
		"95/95/0":                    `"95/95/0"` + how,
		"95-95":                      `"95-95"` + how,
		"/":                          which + "the reliability (the first figure) is missing\nthe confidence (the second figure) is missing",
		"95/":                        which + "the confidence (the second figure) is missing",
		"100/95":                     which + "the reliability (the first figure) is 100 %: no number of trials shows 100 %",
		"95/100.0":                   which + "the confidence (the second figure) is 100.0 %: no number of trials shows 100 %",
		"0/95":                       which + "the reliability (the first figure) is 0 %: figures are in per cent, as in 95 for 0.95",
		"95/0.95":                    which + "the confidence (the second figure) is 0.95 %: figures are in per cent, as in 95 for 0.95",
		"1/95":                       which + "the reliability (the first figure) is 1 %: figures are in per cent, as in 95 for 0.95",
		"9e1/95":                     which + `the reliability (the first figure) is "9e1": it takes digits with at most one point`,
		"-95/95":                     which + `the reliability (the first figure) is "-95": it takes`,
		"NaN/95":                     which + `the reliability (the first figure) is "NaN": it takes`,
		"9.9.9/95":                   which + `the reliability (the first figure) is "9.9.9": it takes`,
		"./95":                       which + `the reliability (the first figure) is ".": it takes`,
		"95 %/95 %":                  which + `the reliability (the first figure) is "95 %": it takes`,
		"95,5/95":                    which + `the reliability (the first figure) is "95,5": it takes`,
		"99.99999999999999999999/95": which + "the reliability (the first figure) is 99.99999999999999999999 %: no number",
	} {
		got, err := ParsePlan(text)
		require.Error(t, err, text)
		if text == "" {
			require.ErrorContains(t, err, `from ""`+how)
		} else {
			require.ErrorContains(t, err, want)
		}
		assert.Zero(t, got, "nothing is read from %q", text)
	}
}

func TestPlanString(t *testing.T) {
	for want, p := range map[string]Plan{
		"95/95": {0.95, 0.95, 3}, "99.9/95": {0.999, 0.95, 0}, "50/7": {0.5, 0.07, 0}, "0.5/90": {0.005, 0.9, 0}, "100/0": {1, 0, 0}, "NaN/-100": {math.NaN(), -1, 0},
	} {
		assert.Equal(t, want, p.String())
	}
	rapid.Check(t, func(t *rapid.T) {
		want := Plan{Reliability: rapid.Float64Range(0.0101, 1-1e-16).Draw(t, "r"), Confidence: rapid.Float64Range(0.0101, 1-1e-16).Draw(t, "c")}
		got, err := ParsePlan(want.String())
		require.NoError(t, err)
		require.Equal(t, want, got, "%s", want)
	})
}

func FuzzParsePlan(f *testing.F) {
	for _, seed := range []string{"95/95", "99.9/95", "95", "1e9/5", "100/0", "/", "99.99999999999999999/1.0000001", "0x1p-2/5", "９５/95"} {
		f.Add(seed)
	}
	f.Fuzz(func(t *testing.T, text string) {
		p, err := ParsePlan(text)
		if err != nil {
			require.Zero(t, p)
			require.ErrorContains(t, err, "reliability first")
			return
		}
		require.NoError(t, p.Check(), "what is read is a plan")
		again, err := ParsePlan(p.String())
		require.NoError(t, err)
		require.Equal(t, p, again)
		if n, err := p.Trials(); err == nil {
			seen, err := DemonstratedConfidence(n, 0, p.Reliability)
			require.NoError(t, err)
			require.GreaterOrEqual(t, seen, p.Confidence-1e-12)
		}
	})
}

func TestPlanInJSON(t *testing.T) {
	text, err := json.Marshal(Plan{0.95, 0.9, 1})
	require.NoError(t, err)
	assert.JSONEq(t, `{"reliability":0.95,"confidence":0.9,"allowed":1}`, string(text))
}
