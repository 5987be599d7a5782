package account_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"pgregory.net/rapid"

	"pintle/reports"
	"pintle/reports/account"
	"pintle/reports/reportstest"
)

func left(n int) (all []reports.LeftOut) {
	for i := range n {
		all = append(all, reports.LeftOut{Name: fmt.Sprint("left-", i), Title: fmt.Sprint("Left ", i), Why: "not asked for"})
	}
	return all
}

func TestCoverage(t *testing.T) {
	for _, c := range []struct {
		name   string
		change func(r *reports.Run)
		apply  int
		want   string
	}{
		{"none left out", func(*reports.Run) {}, 7, ""},
		{"one", func(r *reports.Run) { r.NotPerformed = left(1) }, 8, "NOT performed: 1 of 8 scenarios: Left 0 (not asked for)."},
		{"as many as are named", func(r *reports.Run) { r.NotPerformed = left(3) }, 10,
			"NOT performed: 3 of 10 scenarios: Left 0 (not asked for); Left 1 (not asked for); Left 2 (not asked for)."},
		{"one more", func(r *reports.Run) { r.NotPerformed = left(4) }, 11,
			"NOT performed: 4 of 11 scenarios (not asked for); nothing is said of what they would test."},
		{"without a title", func(r *reports.Run) {
			r.NotPerformed = []reports.LeftOut{{Name: "beam-stuck", Why: "left out by controller.yaml"}}
		}, 8,
			"NOT performed: 1 of 8 scenarios: beam-stuck (left out by controller.yaml)."},
		{"cut short", func(r *reports.Run) { r.Scenarios[0].Trials, r.NotPerformed = nil, left(5) }, 12,
			"NOT performed: 6 of 12 scenarios (1 the run ended before it, 5 not asked for); nothing is said of what they would test."},
		{"of an earlier version", func(r *reports.Run) {
			r.Deviations = []string{"Something else.", "Not performed though applicable, 1 of 8 scenarios: power-up."}
		}, 7, "Not performed though applicable, 1 of 8 scenarios: power-up."},
	} {
		run := reportstest.Mixed()
		c.change(run)
		cover := account.CoverageOf(run)
		assert.Equal(t, c.apply, cover.Applicable(), c.name)
		assert.Equal(t, c.want, strings.ReplaceAll(cover.Left(3), "\u00a0", " "), c.name)
	}
}

// Whatever a run is, each scenario of its job is counted once.
func TestEachScenarioIsCountedOnce(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		run := reportstest.Many(rapid.IntRange(0, 9).Draw(t, "asked for"), 1)
		for i := range run.Scenarios {
			if rapid.Bool().Draw(t, "cut off") {
				run.Scenarios[i].Trials = nil
			}
		}
		run.NotPerformed = left(rapid.IntRange(0, 5).Draw(t, "left"))
		run.LeftOut = make([]reports.LeftOut, rapid.IntRange(0, 5).Draw(t, "not applicable"))
		c := account.CoverageOf(run)
		assert.Equal(t, len(run.Scenarios)+len(run.NotPerformed), c.Applicable())
		assert.Equal(t, len(run.LeftOut), c.NotApplied)
	})
}
