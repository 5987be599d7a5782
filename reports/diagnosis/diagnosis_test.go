package diagnosis

import (
	"slices"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/reports"
	"pintle/reports/reportstest"
	"pintle/rig"
	"pintle/rig/fault"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// mixed is the example run, on a bench that says what counts as moving.
func mixed() *reports.Run {
	run := reportstest.Mixed()
	run.Bench.Runs, run.Bench.Stops, run.Bench.Settle = 1_500_000, signal.Ampere, 20*time.Millisecond
	return run
}

func diagnose(t *testing.T, run *reports.Run, name string) Diagnosis {
	for i := range run.Scenarios {
		if s := &run.Scenarios[i]; s.Name == name {
			trace, err := reportstest.Source{}.Trace(run.ID, name, 1)
			require.NoError(t, err)
			return OfTrial(run, s, 0, trace)
		}
	}
	t.Fatalf("the example run has no scenario %s", name)
	return Diagnosis{}
}

// What the example trials come to in one line.
func TestHeadlines(t *testing.T) {
	run := mixed()
	for name, want := range map[string]string{
		"missed-closed-limit": "motor still closing 1.24 s after the run-time cut-out of 15 s; last edge on closed-limit: none",
		"bouncing-limit":      "too near to tell: measured 149.0 ms ± 3.0 ms, where it must be at most 150 ms",
		"press-at-limit":      "never put to the test: the motor never stopped",
		"supply-returns":      "the bench failed: the meter fell silent at 2.1 s: no sample for 500ms",
	} {
		assert.Equal(t, want, diagnose(t, run, name).Headline, name)
	}
}

// A trial that the bench ended says nothing of any rule, and that its guard did so is no
// fault of the bench.
func TestVoidTellsOfNoRule(t *testing.T) {
	run := mixed()
	for code, want := range map[string]string{
		rig.GuardDrive: "Until then no rule was found broken", rig.GuardCurrent: "Until then no rule was found broken",
		"meter-silent": "Put the bench right",
	} {
		i := slices.IndexFunc(run.Scenarios, func(s reports.Scenario) bool { return s.Name == "supply-returns" })
		s := run.Scenarios[i]
		s.Trials = slices.Clone(s.Trials)
		s.Trials[0].Troubles = []string{reports.ToldTrouble(code, "it was so")}
		for finding := -1; finding < len(s.Trials[0].Findings); finding++ {
			d := Of(run, &s, 0, finding, nil)
			require.Len(t, d.Sentences, 2, code)
			assert.Contains(t, d.Sentences[1], want, code)
			assert.Empty(t, d.Rule, code)
		}
	}
}

// The example of the run-time cut-out, sentence by sentence.
func TestMissedLimit(t *testing.T) {
	d := diagnose(t, mixed(), "missed-closed-limit")
	text := strings.Join(d.Sentences, "\n")
	for _, want := range []string{
		"Required: motor closing for at most 15s (at most 15 s, by the claim run-time cut-out).",
		"Measured: 16.2400 s ± 0.0020 s; over by up to 1.2420 s.",
		"remote pressed 15.1 s earlier", "After it: motor stopped 1.24 s later.",
		"At that instant the motor was closing.", "closed-limit was broken from the beginning",
	} {
		assert.Contains(t, text, want)
	}
	assert.NotEmpty(t, d.LookAt)
	cut := signal.Instant(16139 * time.Millisecond)
	assert.Less(t, d.From, cut)
	assert.Greater(t, d.To, cut+signal.Instant(1240*time.Millisecond), "its end is in view as well")
}

// Every pattern says in what manner it is broken, which has an explainer, and what to
// look at; no explainer is there for nothing.
func TestEveryPattern(t *testing.T) {
	used := map[rule.Breach]bool{}
	for _, p := range rule.Patterns {
		used[p.Broken] = true
		assert.Contains(t, explainers, p.Broken, p.Name)
		assert.Equal(t, p.Broken == rule.TooMuch || p.Broken == rule.TooLittle, p.Figure != "" && p.Decided != "", p.Name)
		y := &story{s: &reports.Scenario{}, f: &rule.Finding{Unit: p.Unit, Sense: rule.AtMost, Limit: 1}, r: reports.Rule{Name: "x", Pattern: p.Name}}
		assert.Equal(t, []string{p.Look}, y.causes(), p.Name)
		assert.NotEmpty(t, y.explainer().fail(y), p.Name)
	}
	assert.Len(t, explainers, len(used))
}

// Of a pattern that no table has, what its finding says is told.
func TestUnknownPattern(t *testing.T) {
	y := &story{s: &reports.Scenario{}, f: &rule.Finding{Reason: "it did not"}, r: reports.Rule{Name: "x", Pattern: "of later days"}}
	assert.Equal(t, "it did not", y.explainer().fail(y))
	assert.Empty(t, y.causes())
}

// What the table of causes calls a fault is one.
func TestCausesNameFaults(t *testing.T) {
	for _, c := range causes {
		_, ok := fault.KindNamed(c.fault)
		assert.True(t, c.fault == "" || ok, c.fault)
		assert.NotEmpty(t, c.look)
	}
}

// No figure is told more precisely than it is known, nor with more than three.
func TestSpell(t *testing.T) {
	for _, c := range []struct {
		d, half time.Duration
		want    string
	}{
		{1240 * time.Millisecond, time.Millisecond, "1.24 s"},
		{1240 * time.Millisecond, 100 * time.Millisecond, "1.2 s"},
		{1240 * time.Millisecond, 99 * time.Millisecond, "1.24 s"},
		{15 * time.Second, 0, "15.0 s"},
		{999_600 * time.Microsecond, 0, "1.00 s"},
		{40 * time.Millisecond, 12 * time.Millisecond, "40 ms"},
		{4 * time.Millisecond, 12 * time.Millisecond, "less than 10 ms"},
		{-38_400 * time.Microsecond, 0, "38.4 ms"},
		{250 * time.Microsecond, 0, "250 µs"},
		{7, 0, "7 ns"},
		{0, 0, "0 ns"},
	} {
		assert.Equal(t, c.want, spell(c.d, c.half), "%v ± %v", c.d, c.half)
	}
}

// What is not there is not spoken of, and nothing of a record makes it panic.
func TestWhatIsMissing(t *testing.T) {
	run := mixed()
	for i := range run.Scenarios {
		s := &run.Scenarios[i]
		for trial := -1; trial <= len(s.Trials); trial++ {
			for finding := -1; finding < 4; finding++ {
				d := Of(run, s, trial, finding, nil)
				assert.NotEmpty(t, d.Headline)
				assert.NotContains(t, d.Headline, "last edge", "there is no trace")
				Of(run, s, trial, finding, &signal.Trace{})
			}
		}
	}
}
