package rule_test

import (
	"testing"
	"time"

	"github.com/stretchr/testify/assert"

	"pintle/rig/rule"
)

// What broke its limit is one occurrence, however it was noticed, and the value that is told
// is all that it came to: up to the answer, the end of its scope, or the end of the trial.
func TestWhatIsTooLateTellsHowLateItWas(t *testing.T) {
	limit := 200 * ms
	within := rule.Scope{Kind: rule.AfterUntil, Q: made(q), R: makes(r)}
	for name, c := range map[string]struct {
		rule  rule.Rule
		story story
		value time.Duration
	}{
		"never answered":                   {rule.Rule{Pattern: rule.BoundedResponse, P: makes(p), S: makes(s)}, tell(2000*ms, on(p, 1000*ms)), 1000 * ms},
		"answered late":                    {rule.Rule{Pattern: rule.BoundedResponse, P: makes(p), S: makes(s)}, tell(2000*ms, on(p, 1000*ms), on(s, 1500*ms)), 500 * ms},
		"not answered in its scope":        {rule.Rule{Pattern: rule.BoundedResponse, P: makes(p), S: makes(s), Scope: within}, tell(2000*ms, on(q, initially, 1200*ms), on(p, 1000*ms), on(r, 1600*ms)), 600 * ms},
		"ended late":                       {rule.Rule{Pattern: rule.MaximumDuration, P: made(p)}, tell(2000*ms, on(p, 1000*ms, 1700*ms)), 700 * ms},
		"never ended":                      {rule.Rule{Pattern: rule.MaximumDuration, P: made(p)}, tell(2000*ms, on(p, 1000*ms)), 1000 * ms},
		"ended by its scope":               {rule.Rule{Pattern: rule.MaximumDuration, P: made(p), Scope: within}, tell(2000*ms, on(q, initially, 1200*ms), on(p, 1000*ms), on(r, 1600*ms)), 600 * ms},
		"again too late":                   {rule.Rule{Pattern: rule.BoundedRecurrence, P: made(p)}, tell(2000*ms, on(p, initially, 1000*ms, 1700*ms)), 700 * ms},
		"never again":                      {rule.Rule{Pattern: rule.BoundedRecurrence, P: made(p)}, tell(2000*ms, on(p, initially, 1000*ms)), 1000 * ms},
		"not again before its scope ended": {rule.Rule{Pattern: rule.BoundedRecurrence, P: made(p), Scope: within}, tell(2000*ms, on(q, initially, 1200*ms), on(p, initially, 1000*ms), on(r, 1600*ms)), 600 * ms},
	} {
		c.rule.Limit = limit
		f := tellTo(t, c.rule, c.story)
		assert.Equal(t, rule.Fail, f.Verdict, "%s: %+v", name, f)
		assert.True(t, f.Measured, name)
		assert.Equal(t, rule.Interval{Least: int64(c.value), Most: int64(c.value)}, f.Value, name)
		want := 1
		if c.rule.Pattern == rule.BoundedRecurrence {
			want = 2 // no gap at the beginning is one
		}
		assert.Equal(t, want, f.Exercised, name)
	}
}
