package certificate

import (
	"fmt"
	"strings"
	"time"

	"pintle/reports"
	"pintle/rig/rule"
)

const glue = "\u00a0" // a space at which no line breaks

// count says how many there are of a thing.
func count(n int, what string) string {
	if n != 1 {
		what += "s"
	}
	if n == 0 {
		return "no " + what
	}
	return fmt.Sprintf("%d%s%s", n, glue, what)
}

// tally says plainly how many there are of each verdict, also where there are
// none: that none failed is worth saying.
func tally(t reports.Tally) string {
	words := fmt.Sprintf("%d passed, %d failed, %d inconclusive, %d void", t.Pass, t.Fail, t.Inconclusive, t.Void)
	if t.Other > 0 {
		words += fmt.Sprintf(", %d not settled", t.Other)
	}
	return strings.ReplaceAll(words, " ", glue)
}

// trialsOf counts all trials of a run.
func trialsOf(r *reports.Run) reports.Tally {
	var all reports.Tally
	for i := range r.Scenarios {
		for j := range r.Scenarios[i].Trials {
			all.Add(r.Scenarios[i].Trials[j].Verdict)
		}
	}
	return all
}

// meaning is a verdict in a sentence.
func meaning(r *reports.Run) string {
	switch r.Verdict {
	case rule.Pass:
		return "Every requirement was put to the test, and kept, in every scenario listed here."
	case rule.Fail:
		return "At least one requirement was broken beyond the doubt of the measurement."
	case rule.Inconclusive:
		return "No requirement was seen broken, but at least one could not be decided. This is not a pass."
	case rule.Void:
		return "The bench failed, or the run was cut short: of what it had to find out, it says nothing. This is not a pass."
	}
	return "No verdict was reached. This is not a pass."
}

// covers says what a verdict is of.
func covers(r *reports.Run) string {
	scenarios := reports.TallyScenarios(r)
	if scenarios.All() == 0 {
		return "No scenario was performed, so nothing is said of the controller."
	}
	words := fmt.Sprintf("Of %s: %s.", count(scenarios.All(), "scenario"), tally(scenarios))
	if trials := trialsOf(r); trials.All() != scenarios.All() || r.Trials != 1 {
		words += fmt.Sprintf(" Of %s: %s.", count(trials.All(), "trial"), tally(trials))
		if asked := r.Trials * scenarios.All(); asked > trials.All() {
			words += fmt.Sprintf(" %d%strials were asked for.", asked, glue)
		}
	} else {
		words += " Each was performed once."
	}
	return words
}

// short is a duration with a space before its unit.
func short(d time.Duration) string {
	s := d.String()
	if i := strings.LastIndexAny(s, "0123456789"); i >= 0 && !strings.ContainsAny(s[:i+1], "hmµn") {
		return s[:i+1] + glue + s[i+1:]
	}
	return s
}

func instant(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format("2006-01-02 15:04:05 UTC")
}

// times says how often something was put to the test.
func times(n int) string {
	switch n {
	case 0:
		return "never"
	case 1:
		return "once"
	}
	return fmt.Sprintf("%d times", n)
}

// brief is a text short enough to stand among others.
func brief(s string) string { return clipped(s, 70) }

func clipped(s string, most int) string {
	if r := []rune(s); len(r) > most {
		return string(r[:most-1]) + "…"
	}
	return s
}

// sentence makes a reason into a sentence.
func sentence(s string) string {
	s = strings.TrimSpace(s)
	if s == "" || strings.ContainsRune(".!?", rune(s[len(s)-1])) {
		return s
	}
	return s + "."
}

// upper begins a sentence.
func upper(s string) string {
	if s != "" && s[0] >= 'a' && s[0] <= 'z' {
		return string(s[0]-'a'+'A') + s[1:]
	}
	return s
}

// unbroken keeps a number with its unit, and a limit in one piece.
func unbroken(s string) string { return strings.ReplaceAll(s, " ", glue) }
