package compare_test

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/reports"
	. "pintle/reports/compare"
	"pintle/rig/rule"
)

// Nothing that hides what B does may be told as no regression.
func TestWhatHidesARegressionIsNotNone(t *testing.T) {
	void := func(r *reports.Run) {
		r.Verdict = rule.Void
		for i := range r.Scenarios {
			s := &r.Scenarios[i]
			s.Verdict = rule.Void
			for j := range s.Trials {
				s.Trials[j].Verdict, s.Trials[j].Findings = rule.Void, nil
			}
		}
	}
	counted := func(limit int64) func(*reports.Run) {
		return func(r *reports.Run) {
			f := &r.Scenarios[0].Trials[0].Findings[0]
			f.Unit, f.Limit, f.Value = rule.Times, limit, rule.Interval{}
		}
	}
	for name, c := range map[string]struct {
		a, b func(*reports.Run)
		says string
	}{
		"neither bench found anything out": {void, void, "nothing was found out"},
		"the limit was loosened":           {nil, func(r *reports.Run) { r.Scenarios[0].Trials[0].Findings[0].Limit = 300 * ms }, "allow more in B"},
		"never became thrice":              {counted(0), counted(3), "allow more in B"},
		"another rule has the name":        {nil, func(r *reports.Run) { r.Scenarios[0].Rules[0].Of = "motor closing" }, "asks for something else"},
		"another scope":                    {nil, func(r *reports.Run) { r.Scenarios[0].Rules[0].Scope = "after the supply" }, "asks for something else"},
		"B is a rehearsal":                 {nil, func(r *reports.Run) { r.Bench.Simulated = true }, "simulated controller"},
		"B was cut short":                  {nil, func(r *reports.Run) { r.Verdict, r.Reason = rule.Void, "the run was interrupted" }, "the run was interrupted"},
		"A was":                            {func(r *reports.Run) { r.Bench.Simulated = true }, nil, "simulated controller"},
	} {
		a, b := run("old", 150*ms, rule.AtMost, []int64{100 * ms}), run("newer", 150*ms, rule.AtMost, []int64{100 * ms})
		// One trial a side finds no shift, which is undetermined in itself: the test is of the rest.
		for _, x := range []*reports.Run{a, b} {
			x.Scenarios[0].Trials[0].Findings[0].Measured = false
			x.Scenarios[0].Trials[0].Findings[0].Unit = rule.Times
		}
		plain := Compare(a, b, Options{})
		require.False(t, plain.Undetermined, name)
		if c.a != nil {
			c.a(a)
		}
		if c.b != nil {
			c.b(b)
		}
		got := Compare(a, b, Options{})
		assert.True(t, got.Undetermined || got.Regression, name)
		assert.Contains(t, strings.Join(strings.Fields(text(t, got)), " "), c.says, name)
	}
	a, b := run("old", 300*ms, rule.AtMost, []int64{100 * ms}), run("newer", 150*ms, rule.AtMost, []int64{100 * ms})
	for _, x := range []*reports.Run{a, b} {
		x.Scenarios[0].Trials[0].Findings[0].Unit = rule.Times
	}
	assert.False(t, Compare(a, b, Options{}).Undetermined, "a tighter limit that is kept is no worse")
}
