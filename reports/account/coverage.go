package account

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"pintle/reports"
	"pintle/rig/fold"
)

// A Coverage is what became of the scenarios of a job in a run. Each is in one of them:
// performed with a verdict, not performed, or not applicable.
type Coverage struct {
	Performed    reports.Tally
	NotPerformed []Unperformed
	NotApplied   int
	// Unlisted is what a run says of scenarios that were not performed where it does not
	// list them: those of an earlier version of the program.
	Unlisted string
}

// An Unperformed is a scenario that was not performed though it could have been.
type Unperformed struct{ Called, Why string }

// Applicable is how many scenarios could have been performed, as far as is known: one that
// controller.yaml leaves out is not looked at.
func (c Coverage) Applicable() int { return c.Performed.All() + len(c.NotPerformed) }

// notBegun is why a scenario has no trial.
const notBegun = "the run ended before it"

// unlisted begins the sentence of a run that has no list of what was not performed.
const unlisted = "Not performed though applicable"

// CoverageOf counts what became of the scenarios of a run's job. One that was asked for
// and has no trial was not performed.
func CoverageOf(r *reports.Run) Coverage {
	c := Coverage{NotApplied: len(r.LeftOut)}
	for i := range r.Scenarios {
		if s := &r.Scenarios[i]; len(s.Trials) > 0 {
			c.Performed.Add(s.Verdict)
		} else {
			c.NotPerformed = append(c.NotPerformed, Unperformed{Name(s), notBegun})
		}
	}
	for _, l := range r.NotPerformed {
		c.NotPerformed = append(c.NotPerformed, Unperformed{cmp.Or(l.Title, l.Name), l.Why})
	}
	if len(r.NotPerformed) == 0 {
		at := slices.IndexFunc(r.Deviations, func(d string) bool { return strings.HasPrefix(d, unlisted) })
		if at >= 0 {
			c.Unlisted = r.Deviations[at]
		}
	}
	return c
}

// Left says what was not performed, each by name where there are no more than most;
// empty where nothing was left.
func (c Coverage) Left(most int) string {
	n := len(c.NotPerformed)
	if n == 0 {
		return c.Unlisted
	}
	words := fmt.Sprintf("NOT performed: %d%sof %s", n, fold.NoBreak, Count(c.Applicable(), "scenario"))
	if n > most {
		return words + " (" + c.whys() + "); nothing is said of what they would test."
	}
	var names []string
	for _, u := range c.NotPerformed {
		names = append(names, fmt.Sprintf("%s (%s)", clipped(u.Called, 70), u.Why))
	}
	return words + ": " + strings.Join(names, "; ") + "."
}

// whys tells the reasons for which scenarios were not performed, with how many each where
// they differ.
func (c Coverage) whys() string {
	var order, words []string
	count := map[string]int{}
	for _, u := range c.NotPerformed {
		if count[u.Why]++; count[u.Why] == 1 {
			order = append(order, u.Why)
		}
	}
	if len(order) == 1 {
		return order[0]
	}
	for _, why := range order {
		words = append(words, fmt.Sprintf("%d%s%s", count[why], fold.NoBreak, why))
	}
	return strings.Join(words, ", ")
}

func clipped(s string, most int) string {
	if r := []rune(s); len(r) > most {
		return string(r[:most-1]) + "…"
	}
	return s
}
