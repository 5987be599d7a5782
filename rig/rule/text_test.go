package rule_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"pintle/rig/rule"
)

func TestFiguresInWords(t *testing.T) {
	const ms = 1_000_000
	f := func(u rule.Unit, s rule.Sense, least, most, limit int64) rule.Finding {
		return rule.Finding{Unit: u, Sense: s, Measured: true, Value: rule.Interval{Least: least, Most: most}, Limit: limit}
	}
	for _, c := range []struct {
		f                    rule.Finding
		value, limit, margin string
	}{
		{f(rule.Nanoseconds, rule.AtMost, 118*ms, 121*ms, 150*ms), "119.5 ms ± 1.5 ms", "at most 150 ms", "29.0 ms"},
		{f(rule.Nanoseconds, rule.AtMost, 16238*ms, 16242*ms, 15000*ms), "16.2400 s ± 0.0020 s", "at most 15 s", "−1.2420 s"},
		{f(rule.Nanoseconds, rule.AtLeast, 407*ms, 411*ms, 300*ms), "409.0 ms ± 2.0 ms", "at least 300 ms", "107.0 ms"},
		{f(rule.Nanoseconds, rule.AtMost, 100*ms, 100*ms, 100*ms), "100.0 ms", "at most 100 ms", "0 ms"},
		{f(rule.Nanoseconds, rule.AtMost, 99*ms, 100*ms+1, 100*ms), "99.50 ms ± 0.51 ms", "at most 100 ms", "−0.01 ms"}, // rounded down, never to nought
		{f(rule.Microamperes, rule.AtMost, 11_180_000, 11_260_000, 12_000_000), "11.220 A ± 0.040 A", "at most 12 A", "0.740 A"},
		{f(rule.Microamperes, rule.AtMost, 11_180_000, 11_460_000, 12_000_000), "11.32 A ± 0.14 A", "at most 12 A", "0.54 A"},
		{f(rule.Times, rule.AtMost, 2, 2, 1), "2 times", "at most 1", "−1"},
		{rule.Finding{}, "", "", ""},
	} {
		assert.Equal(t, []string{c.value, c.limit, c.margin}, []string{c.f.ValueText(), c.f.LimitText(), c.f.MarginText()})
	}
}

func TestMarginWords(t *testing.T) {
	f := rule.Finding{Verdict: rule.Pass, Unit: rule.Nanoseconds, Sense: rule.AtMost, Measured: true, Value: rule.Interval{Least: 90e6, Most: 100e6}, Limit: 100e6}
	assert.Equal(t, "0.0 ms to spare", f.MarginWords())
	f.Value.Most, f.Verdict = 101e6, rule.Inconclusive
	assert.Equal(t, "may be over by 1.0 ms", f.MarginWords())
	f.Verdict = rule.Fail
	assert.Equal(t, "over by up to 1.0 ms", f.MarginWords())
	f.Sense, f.Limit = rule.AtLeast, 200e6
	assert.Equal(t, "under by up to 110.0 ms", f.MarginWords())
	assert.Empty(t, rule.Finding{}.MarginWords())
}

// Of what had not ended when it was judged only a bound is known, and so of its margin:
// both are told as one, and they agree.
func TestOfABoundNoMoreIsSaid(t *testing.T) {
	for _, c := range []struct {
		least, limit         int64
		value, margin, words string
	}{
		{250e6 + 1, 250e6, "more than 250 ms", "< 0 ms", ""},
		{250e6 + 2, 250e6, "more than 250 ms", "< 0 ms", ""},
		{250e6 + 250e3, 250e6, "more than 250 ms", "< 0 ms", ""},
		{250e6 + 250e3 + 1, 250e6, "more than 250.2500 ms", "< −0.2500 ms", "over by more than 0.2500 ms"},
		{268_109_999, 250e6, "more than 268.10 ms", "< −18.10 ms", "over by more than 18.10 ms"},
		{528_299_999, 250e6, "more than 528.2 ms", "< −278.2 ms", "over by more than 278.2 ms"},
		{15e9 + 1, 15e9, "more than 15 s", "< 0 s", ""},
		{401_716_000, 123_456_789, "more than 401.7 ms", "< −278.2 ms", "over by more than 278.2 ms"},
	} {
		f := rule.Finding{Verdict: rule.Fail, Unit: rule.Nanoseconds, Sense: rule.AtMost, Measured: true, Value: rule.Interval{Least: c.least, Most: c.least}, Limit: c.limit,
			Appraisal: &rule.Appraisal{Value: c.least, Low: c.least, High: c.least, Beyond: true}}
		assert.Equal(t, []string{c.value, c.margin, c.words}, []string{f.ValueText(), f.MarginText(), f.MarginWords()})
	}
}

// Every pattern and every verdict stands at its number and has a sentence.
func TestTablesHaveSentences(t *testing.T) {
	for i, p := range rule.Patterns {
		assert.Equal(t, rule.Pattern(i+1), p.Pattern)
		assert.Regexp(t, `^[A-Z].*\.$`, p.Means, p.Name)
		for mark, part := range map[string]rule.Part{"{p}": rule.PartP, "{s}": rule.PartS, "{limit}": rule.PartLimit, "{count}": rule.PartCount,
			"{current}": rule.PartCurrent, "{window}": rule.PartWindow, "{load}": rule.PartLoad, "{part}": rule.PartHeated} {
			assert.Equal(t, p.Has(part), strings.Contains(p.Call, mark), "%s: %s", p.Name, p.Call)
		}
		assert.Equal(t, p.Unit == rule.NoUnit, p.Sense == rule.NoSense, p.Name)
		assert.Equal(t, p.Unit == rule.Nanoseconds, p.Turns != [2]rule.Turn{}, p.Name)
		assert.NotZero(t, p.Broken, p.Name)
		assert.NotEmpty(t, p.Look, p.Name)
	}
	for i, v := range rule.Verdicts {
		assert.Equal(t, rule.Verdict(i), v.Verdict)
		assert.Regexp(t, `^[A-Z].*\.$`, v.Means, v.Name)
	}
}
