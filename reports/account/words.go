package account

import (
	"fmt"
	"strings"
	"time"

	"pintle/reports"
	"pintle/rig/fold"
	"pintle/rig/rule"
	"pintle/rig/uncertainty"
	"pintle/rig/wording"
)

// Count says how many there are of a thing, in one piece.
func Count(n int, what string) string { return fold.Held(wording.Count(n, what)) }

// Tally says plainly how many there are of each verdict, also where there are
// none: that none failed is worth saying.
func Tally(t reports.Tally) string {
	words := fmt.Sprintf("%d passed, %d failed, %d inconclusive, %d void", t.Pass, t.Fail, t.Inconclusive, t.Void)
	if t.Other > 0 {
		words += fmt.Sprintf(", %d not settled", t.Other)
	}
	return words
}

// Meaning is the verdict of a run in a sentence.
func Meaning(r *reports.Run) string {
	switch r.Verdict {
	case rule.Pass:
		where := "every scenario listed here"
		if n := len(CoverageOf(r).NotPerformed); n > 0 {
			where = fmt.Sprintf("%s; %d%s%s not performed", Count(len(r.Scenarios), "scenario"), n, fold.NoBreak, inflected(n, "other was", "others were"))
		}
		if unclear(r, uncertainty.GuardedAcceptance) {
			return fmt.Sprintf("Every requirement was put to the test, and passed by %s, in %s. That rule passes values that are not clear of their limits.", r.DecisionBy, where)
		}
		return "Every requirement was put to the test, and kept, in " + where + "."
	case rule.Fail:
		if unclear(r, uncertainty.GuardedRejection) {
			return fmt.Sprintf("At least one requirement was failed by %s. That rule fails values that are not clear beyond their limits.", r.DecisionBy)
		}
		return "At least one requirement was broken beyond the stated doubt of the measurement."
	case rule.Inconclusive:
		return "No requirement was seen broken, but at least one could not be decided. This is not a pass."
	case rule.Void:
		return "The bench failed, or the run was cut short: of what it had to find out, it says nothing. This is not a pass."
	}
	return "No verdict was reached. This is not a pass."
}

const nothing = "No scenario was performed, so nothing is said of the controller."

// unclear says that a run was decided by a rule whose word is not beyond the stated doubt
// of the measurement. Beside the four-way statement there is one other way whose word is.
func unclear(r *reports.Run, other uncertainty.RuleKind) bool {
	switch r.DecisionBy {
	case "", uncertainty.FourWay.Usual().String(), other.Usual().String():
		return false
	}
	return true
}

// Covers says what the verdict of a run is of.
func Covers(r *reports.Run) string {
	scenarios := reports.TallyScenarios(r)
	if scenarios.All() == 0 {
		return nothing
	}
	words := fmt.Sprintf("Of %s: %s.", Count(scenarios.All(), "scenario"), Tally(scenarios))
	if n := len(r.NotPerformed); n > 0 {
		words += fmt.Sprintf(" Not performed: %d.", n)
	}
	if n := len(r.LeftOut); n > 0 {
		words += fmt.Sprintf(" Not applicable: %d.", n)
	}
	return words + " " + CoversTrials(r)
}

// CoversTrials says what the trials of a run came to.
func CoversTrials(r *reports.Run) string {
	scenarios, trials := len(r.Scenarios), Trials(r)
	if trials.All() == 0 {
		return nothing
	}
	if trials.All() == scenarios && r.Trials == 1 {
		return "Each was performed once."
	}
	words := fmt.Sprintf("Of %s: %s.", Count(trials.All(), "trial"), Tally(trials))
	if asked := r.Trials * scenarios; asked > trials.All() {
		words += fmt.Sprintf(" %d%strials were asked for.", asked, fold.NoBreak)
	}
	return words
}

func inflected(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}

// Trials counts all trials of a run.
func Trials(r *reports.Run) reports.Tally {
	var all reports.Tally
	for i := range r.Scenarios {
		for j := range r.Scenarios[i].Trials {
			all.Add(r.Scenarios[i].Trials[j].Verdict)
		}
	}
	return all
}

// Outcome says what the trials of a scenario came to.
func Outcome(s *reports.Scenario) string {
	switch t := reports.TallyTrials(s); t.All() {
	case 0:
		return "No trial was performed."
	case 1:
		return fmt.Sprintf("One trial: %v.", s.Trials[0].Verdict)
	default:
		text := fmt.Sprintf("Of %s: %s.", Count(t.All(), "trial"), Tally(t))
		if s.Shown != nil {
			text += " " + wording.Upper(s.Shown.Text()) + "."
		}
		return text
	}
}

// Rehearsal says that a run says nothing of any hardware; empty where it does.
func Rehearsal(r *reports.Run) string {
	switch {
	case r.Bench.Virtual:
		return "performed on a virtual bench with a simulated controller; says nothing of any hardware."
	case r.Bench.Simulated || len(r.Controller.Defects) > 0:
		return "performed in real time with a simulated controller; says nothing of the hardware of any controller."
	}
	return ""
}

// Cautions are the limits of the whole: what a reader must not take it for. The
// first is the gravest.
var Cautions = []string{
	"A moving gate can kill. Trials on a bench show what the controller did with the signals and the load that the bench gave it. " +
		"They do not replace the checks on the gate itself: forces, guarding, emergency release, wiring, and a trial of the whole.",
	"The results concern only the item tested, as it was identified here. They do not exclude a failure that no scenario provoked, " +
		"nor one that is rarer than the number of trials can show. The uncertainty stated is that of the measurement alone.",
	"This is not issued by an accredited laboratory, and certifies conformity with no standard. Local codes and regulations apply; " +
		"where they ask for a licensed person, the work and its acceptance are that person's.",
}

// Short is a duration whose figures and units stay on one line.
func Short(d time.Duration) string {
	return strings.ReplaceAll(wording.Time(d), " ", fold.NoBreak)
}

// Instant is a time to the second; empty where it is not known.
func Instant(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	return t.UTC().Format("2006-01-02 15:04:05 UTC")
}

// FirmwareDigest says of the digest of a controller's firmware what it rests on; empty
// where there is none.
func FirmwareDigest(c *reports.Controller) string {
	switch {
	case c.Digest == "":
		return ""
	case c.DigestOf != "":
		return fmt.Sprintf("SHA-256 %s: worked out by the program from the file %s that the user named; that the controller runs that file is not checked", c.Digest, c.DigestOf)
	}
	return fmt.Sprintf("SHA-256 %s: as it was told, not checked", c.Digest)
}
