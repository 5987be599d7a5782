package certificate_test

import (
	"fmt"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"

	"pintle/reports"
	"pintle/reports/certificate"
	"pintle/reports/reportstest"
	"pintle/rig/rule"
)

func left(n int, why string) (all []reports.LeftOut) {
	for i := range n {
		all = append(all, reports.LeftOut{Name: fmt.Sprint("left-", i), Title: fmt.Sprint("Left ", i), Why: why})
	}
	return all
}

// A stranger sees on page one, by the verdict, what the verdict is of and what it is not.
func TestPageOneCountsEveryScenarioOfTheJob(t *testing.T) {
	none := func(*reports.Run) {}
	for _, c := range []struct {
		name   string
		run    *reports.Run
		change func(*reports.Run)
		says   []string
		not    []string
	}{
		{"none left out", reportstest.Sound(), none,
			[]string{"3 performed 3 passed 0 failed 0 inconclusive 0 void 0 not performed 0 not applicable", "in every scenario listed here"},
			[]string{"NOT performed", "scenarios only"}},
		{"one", reportstest.Sound(), func(r *reports.Run) { r.NotPerformed = left(1, "not asked for") },
			[]string{"3 performed 3 passed 0 failed 0 inconclusive 0 void 1 not performed 0 not applicable", "3 of 4 scenarios only",
				"kept, in 3 scenarios; 1 other was not performed.", "NOT performed: 1 of 4 scenarios: Left 0 (not asked for)."}, nil},
		{"many", reportstest.Mixed(), func(r *reports.Run) { r.NotPerformed = left(66, "not asked for") },
			[]string{"7 performed 3 passed 1 failed 2 inconclusive 1 void 66 not performed 0 not applicable", "7 of 73 scenarios only",
				"NOT performed: 66 of 73 scenarios (not asked for); nothing is said of what they would test."}, []string{"Left 0"}},
		{"some do not apply", reportstest.Sound(), func(r *reports.Run) { r.LeftOut = left(14, "no beam") },
			[]string{"3 performed 3 passed 0 failed 0 inconclusive 0 void 0 not performed 14 not applicable",
				"14 scenarios do not apply to this job; they are listed with the reasons."}, []string{"NOT performed"}},
		{"cut short", reportstest.Sound(), func(r *reports.Run) {
			s := &r.Scenarios[2]
			s.Trials, s.Verdict, r.Verdict = nil, rule.Void, rule.Void
		},
			[]string{"2 performed 2 passed 0 failed 0 inconclusive 0 void 1 not performed 0 not applicable", "2 of 3 scenarios only", "(the run ended before it)"},
			[]string{"Did not pass"}},
		{"of an earlier version", reportstest.Sound(), func(r *reports.Run) {
			r.Deviations = []string{"Not performed though applicable, 71 of 74 scenarios: power-up."}
		},
			[]string{"some not performed", "not of every scenario", "Not performed though applicable, 71 of 74 scenarios: power-up."}, nil},
	} {
		for _, letter := range []bool{false, true} {
			run := own(t, c.run)
			c.change(run)
			first := raw(t, paper(t, run, nil, certificate.Options{Letter: letter}), "-l", "1")
			for _, want := range append(c.says, "signature") {
				assert.Contains(t, first, want, "%s, letter %v", c.name, letter)
			}
			for _, not := range c.not {
				assert.NotContains(t, first, not, "%s, letter %v", c.name, letter)
			}
		}
	}
}

// What is only counted on page one is named further on.
func TestWhatWasNotPerformedIsNamedInTheResults(t *testing.T) {
	run := own(t, reportstest.Sound())
	run.NotPerformed = append(left(30, "not asked for"), reports.LeftOut{Name: "beam-stuck", Why: "left out by controller.yaml"})
	words := raw(t, paper(t, run, nil, certificate.Options{}), "-f", "2")
	for i := range 30 {
		assert.Contains(t, words, fmt.Sprint("Left ", i))
	}
	assert.Contains(t, words, "Not asked for, 30 scenarios: Left 0; Left 1;")
	assert.Contains(t, words, "Left out by controller.yaml, 1 scenario: beam-stuck.")
}

func TestWhoseTheDigestOfTheFirmwareIs(t *testing.T) {
	for of, want := range map[string]string{
		"":            "firmware digest † SHA-256 9d5ed678fe57bcca610140957afab571a2d0d5e0d0ab52d9c4a1bb1f4f1b3f22 record",
		"barrier.hex": "worked out by the program from the file barrier.hex that the user named; that the controller runs that file is not checked",
	} {
		run := own(t, reportstest.Sound())
		run.Controller.DigestOf = of
		first := raw(t, paper(t, run, nil, certificate.Options{}), "-l", "1")
		assert.Contains(t, first, want)
		assert.Equal(t, of == "", strings.Contains(first, "firmware digest †"))
	}
}

// The head of a page that was left long ago is in the ink that it is written in: at the
// right of page one there is dark ink, whatever was filled last on the page and in the
// document.
func TestEveryHeadIsInInk(t *testing.T) {
	run := claimed(t, 30)
	run.Controller.Digest, run.Reason = "", strings.Repeat("the run was interrupted ", 60) // who signs goes to page two
	pdf := paper(t, run, noTraces{}, certificate.Options{Letter: true})
	for n := range pages(t, pdf) {
		assert.Less(t, darkest(t, pdf, n+1), 100, "page %d", n+1)
	}
}
