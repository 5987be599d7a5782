package certificate_test

import (
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"pintle/reports"
	"pintle/reports/certificate"
	"pintle/rig/rule"
)

// A scenario whose text fits on the page and whose chart does not is not put off to the
// next: its chart begins that page, under its title, and no page is left half empty.
func TestAChartMayStandOnThePageAfterItsText(t *testing.T) {
	run := longest(t)
	for i := range run.Scenarios { // each has something to tell, and a table of some height
		s := &run.Scenarios[i]
		for len(s.Rules) < 7 {
			s.Rules = append(s.Rules, s.Rules[len(s.Rules)-1])
		}
		s.Verdict = rule.Fail
	}
	pdf := paper(t, run, everyTrace{}, certificate.Options{})
	all := strings.Split(tool(t, pdf, "pdftotext", "poppler-utils", "-layout", "FILE", "-"), "\f")
	overleaf, told := 0, 0
	for n, page := range all {
		told += strings.Count(page, ". Of 59 trials:")
		if !strings.Contains(page, "Its chart is on the next page.") {
			continue
		}
		overleaf++
		titles := regexp.MustCompile(`(?m)^ *(\S.*?) {3,}(FAIL|VOID|INCONCLUSIVE)$`).FindAllStringSubmatch(page, -1)
		require.NotEmpty(t, titles, page)
		next := regexp.MustCompile(`\n\s*\n`).ReplaceAllString(strings.TrimSpace(all[n+1]), "\n")
		head := strings.Join(strings.SplitN(next, "\n", 4)[1:3], "\n")
		assert.Contains(t, head, titles[len(titles)-1][1]+", continued")
		assert.Contains(t, head, "Trial 1 of 59", "the chart")
	}
	assert.Positive(t, overleaf)
	assert.Equal(t, overleaf, strings.Count(strings.Join(all, ""), ", continued"))
	assert.Equal(t, 8, told)
	assert.Less(t, pages(t, pdf), 20)
}

// Who looks a scenario up in the list of them all is led to the page where a trial of it is
// drawn, once, also where that is drawn for a claim.
func TestAScenarioLeadsToItsPage(t *testing.T) {
	run := longest(t)
	run.Scenarios = slices.DeleteFunc(run.Scenarios, func(s reports.Scenario) bool { return s.Verdict != rule.Pass })
	for i := range run.Scenarios { // with so many requirements those that passed are not listed
		for s := &run.Scenarios[i]; len(s.Rules) < 4; {
			s.Rules = append(s.Rules, s.Rules[len(s.Rules)-1])
		}
	}
	pdf := paper(t, run, everyTrace{}, certificate.Options{})
	all := strings.Split(tool(t, pdf, "pdftotext", "poppler-utils", "-layout", "FILE", "-"), "\f")
	row := regexp.MustCompile(`(?m)^pass .* 59 +(\S.*)$`)
	led := 0
	for _, page := range all {
		_, scenarios, _ := strings.Cut(page, "tightest: measured")
		for _, m := range row.FindAllStringSubmatch(scenarios, -1) {
			n, err := strconv.Atoi(m[1])
			require.NoError(t, err)
			require.LessOrEqual(t, n, len(all), "two numbers in one place")
			led++
		}
	}
	require.NotZero(t, led)
}
