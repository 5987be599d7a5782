package compare_test

import (
	"bytes"
	"encoding/json"
	"encoding/xml"
	"errors"
	"fmt"
	"io"
	"math/rand/v2"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/reports"
	. "pintle/reports/compare"
	"pintle/rig/rule"
)

const ms = int64(1e6)

// run is a run of one scenario a rule, with the values of each.
func run(id string, limit int64, sense rule.Sense, values ...[]int64) *reports.Run {
	r := &reports.Run{ID: id, Seed: uint64(len(id)), Trials: 1, Verdict: rule.Pass,
		Controller: reports.Controller{Board: "TS-2", Firmware: id, Claims: []reports.Claim{{Name: "stop after limit", Value: "150ms"}}}}
	for n, of := range values {
		s := reports.Scenario{Name: fmt.Sprintf("scenario-%d", n), Verdict: rule.Pass, Rules: []reports.Rule{{Name: "it stops"}}}
		for i, v := range of {
			f := rule.Finding{Verdict: rule.Pass, Unit: rule.Nanoseconds, Sense: sense, Limit: limit, Measured: true, Value: rule.Interval{Least: v, Most: v}}
			t := reports.Trial{Number: i + 1, Verdict: rule.Pass, Findings: []rule.Finding{f}}
			if f.Margin() < 0 {
				t.Verdict, t.Findings[0].Verdict, s.Verdict, r.Verdict = rule.Fail, rule.Fail, rule.Fail, rule.Fail
			}
			s.Trials = append(s.Trials, t)
		}
		r.Trials = max(r.Trials, len(of))
		r.Scenarios = append(r.Scenarios, s)
	}
	return r
}

// around draws values about a mean, in the steps of a meter.
func around(random *rand.Rand, mean, sd float64, step int64, n int) []int64 {
	s := make([]int64, n)
	for i := range s {
		s[i] = int64(mean+sd*random.NormFloat64()) / step * step
	}
	return s
}

func text(t *testing.T, c *Comparison) string {
	var b bytes.Buffer
	require.NoError(t, c.Text(&b, true, 80))
	return strings.ReplaceAll(b.String(), "\u00a0", " ")
}

func TestWhatBecameOfARule(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	draw := func(mean float64) []int64 { return around(random, mean, 2e6, 10_000, 59) }
	for _, c := range []struct {
		name        string
		sense       rule.Sense
		limit       int64
		was, is     []int64
		want        Change
		regression  bool
		least, most float64 // of the margin that has gone
	}{
		{"the same build", rule.AtMost, 150 * ms, draw(110e6), draw(110e6), Same, false, -0.1, 0.1},
		{"15 % slower within the limit", rule.AtMost, 150 * ms, draw(110e6), draw(126.5e6), Eroded, true, 0.35, 0.48},
		{"slower by less than counts", rule.AtMost, 150 * ms, draw(110e6), draw(112.5e6), Moved, false, 0.02, 0.1},
		{"faster", rule.AtMost, 150 * ms, draw(126.5e6), draw(110e6), Gained, false, -0.8, -0.6},
		{"beyond the limit", rule.AtMost, 150 * ms, draw(110e6), draw(160e6), Worse, true, 1, 1.5},
		{"back within", rule.AtMost, 150 * ms, draw(160e6), draw(110e6), Better, false, 0, 0},
		{"a dead time that shrinks", rule.AtLeast, 500 * ms, draw(600e6), draw(560e6), Eroded, true, 0.35, 0.45},
		{"one that grows", rule.AtLeast, 500 * ms, draw(560e6), draw(600e6), Gained, false, -0.75, -0.6},
	} {
		got := Compare(run("old", c.limit, c.sense, c.was), run("newer", c.limit, c.sense, c.is), Options{})
		require.Len(t, got.Rules, 1)
		r := got.Rules[0]
		assert.Equal(t, c.want, r.Change, "%s: %+v", c.name, r)
		assert.Equal(t, c.regression, got.Regression, c.name)
		assert.GreaterOrEqual(t, r.Eroded, c.least, c.name)
		assert.LessOrEqual(t, r.Eroded, c.most, c.name)
		assert.True(t, r.Exact, c.name)
		assert.Equal(t, c.regression, strings.Contains(text(t, got), "REGRESSION"), c.name)
	}
}

func TestWhatCannotBeCompared(t *testing.T) {
	a, b := run("old", 150*ms, rule.AtMost, []int64{100 * ms}, []int64{90 * ms}, nil), run("newer", 150*ms, rule.AtMost, []int64{101 * ms}, nil, []int64{90 * ms})
	a.Scenarios[0].Rules = append(a.Scenarios[0].Rules, reports.Rule{Name: "gone"})
	b.Scenarios[0].Rules = append(b.Scenarios[0].Rules, reports.Rule{Name: "added"})
	b.Scenarios = append(b.Scenarios, reports.Scenario{Name: "brand-new"})
	a.Scenarios = append(a.Scenarios, reports.Scenario{Name: "dropped"})
	b.Controller.Claims = []reports.Claim{{Name: "stop after limit", Value: "180ms"}, {Name: "dead time", Value: "500ms"}}
	a.Controller.Claims = append(a.Controller.Claims, reports.Claim{Name: "stall time", Value: "800ms"})
	c := Compare(a, b, Options{})
	words := text(t, c)
	for _, want := range []string{"stop after limit: 180ms, was 150ms", "dead time: 500ms, is new", "stall time: was 800ms, is gone", "brand-new", "dropped",
		"scenario-0: gone", "scenario-0: added", "one side measured nothing", "no shift of them could have been found"} {
		assert.Contains(t, strings.Join(strings.Fields(words), " "), want)
	}
	assert.True(t, c.Regression, "what was passed and is not judged any more is worse")
	b = run("newer", 150*ms, rule.AtMost, []int64{101 * ms})
	c = Compare(run("old", 150*ms, rule.AtMost, []int64{100 * ms}, []int64{90 * ms}), b, Options{})
	assert.False(t, c.Regression)
	assert.True(t, c.Undetermined, "a scenario was lost")

	b = run("newer", 180*ms, rule.AtMost, around(rand.New(rand.NewPCG(1, 1)), 120e6, 1e6, 1, 59))
	c = Compare(run("old", 150*ms, rule.AtMost, around(rand.New(rand.NewPCG(1, 2)), 100e6, 1e6, 1, 59)), b, Options{})
	assert.Equal(t, Moved, c.Rules[0].Change, "with another limit the margins are not compared")
	assert.Contains(t, strings.Join(strings.Fields(text(t, c)), " "), "(was 150 ms)")
}

// No verdict that is not a pass counts as good as one, and none is better than a pass.
func TestVerdicts(t *testing.T) {
	all := []rule.Verdict{rule.Unsettled, rule.Pass, rule.Fail, rule.Inconclusive, rule.Void}
	for _, was := range all {
		for _, is := range all {
			a, b := run("old", 1, rule.AtMost, []int64{1}), run("newer", 1, rule.AtMost, []int64{1})
			a.Scenarios[0].Verdict, b.Scenarios[0].Verdict = was, is
			c := Compare(a, b, Options{})
			switch got := c.Scenarios[0].Change; {
			case was == is:
				assert.Equal(t, Same, got)
			case was == rule.Pass || is == rule.Fail:
				assert.Equal(t, Worse, got, "%v to %v", was, is)
				assert.True(t, c.Regression)
			case is == rule.Pass:
				assert.Equal(t, Better, got)
			}
		}
	}
}

// Two runs of one build, a thousand times over, with 20 rules of 59 trials in the
// steps of a meter: no more of them are flagged than stated. A build that is 15 %
// slower is flagged every time.
func TestFalseAlarmsAndPower(t *testing.T) {
	random := rand.New(rand.NewPCG(7, 8))
	side := func(id string, slower float64, tied int) *reports.Run {
		var values [][]int64
		for r := range 20 {
			step := int64(1)
			if r < tied { // counting ties out takes longer
				step = ms
			}
			values = append(values, around(random, (90e6+1e6*float64(r%20))*slower, 3e6, step, 59))
		}
		return run(id, 150*ms, rule.AtMost, values...)
	}
	flagged, suspected := 0, 0
	const pairs = 1000
	for pair := range pairs {
		tied := 0
		if pair%5 == 0 {
			tied = 4
		}
		c := Compare(side("old", 1, tied), side("newer", 1, tied), Options{})
		for _, r := range c.Rules {
			if r.Change != Same {
				suspected++
				break
			}
		}
		if c.Regression {
			flagged++
		}
	}
	// The binomial's mean of 50 and three standard deviations of 6.9.
	assert.LessOrEqual(t, suspected, 71, "of %d pairs, with any rule called other than the same", pairs)
	t.Logf("%d of %d pairs have a rule that is not the same (nominal 5 %%), %d a regression", suspected, pairs, flagged)
	for range 20 {
		assert.True(t, Compare(side("old", 1, 5), side("newer", 1.15, 5), Options{}).Regression)
	}
}

func TestPictureAndJSON(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 2))
	a := run("old <&>", 150*ms, rule.AtMost, around(random, 110e6, 2e6, 1000, 59), around(random, 110e6, 2e6, 1000, 59))
	b := run("newer", 150*ms, rule.AtMost, around(random, 126e6, 2e6, 1000, 59), around(random, 110e6, 2e6, 1000, 59))
	c := Compare(a, b, Options{})
	var svg bytes.Buffer
	require.NoError(t, c.SVG(&svg))
	assert.Contains(t, svg.String(), "scenario-1")
	assert.Contains(t, svg.String(), "eroded")
	d := xml.NewDecoder(bytes.NewReader(svg.Bytes()))
	for {
		if _, err := d.Token(); errors.Is(err, io.EOF) {
			break
		} else {
			require.NoError(t, err)
		}
	}
	out, err := json.Marshal(c)
	require.NoError(t, err)
	var back map[string]any
	require.NoError(t, json.Unmarshal(out, &back))
	assert.Equal(t, true, back["regression"])
}
