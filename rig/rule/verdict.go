package rule

import "fmt"

// Verdict is the outcome for a rule, a trial, a scenario or a run.
type Verdict uint8

// The numbers are written into records. Zero is no verdict, and never a pass.
const (
	Unsettled    Verdict = 0
	Pass         Verdict = 1
	Fail         Verdict = 2
	Inconclusive Verdict = 3 // the measurement cannot tell, or the rule was never put to the test
	Void         Verdict = 4 // the bench failed, so nothing is said of the controller
)

// A VerdictInfo is what there is to say of a verdict.
type VerdictInfo struct {
	Verdict Verdict
	Name    string
	Means   string // in a sentence or two
}

// Verdicts is the table of all verdicts, in the order of their numbers.
var Verdicts = [...]VerdictInfo{
	{Unsettled, "unsettled", "No verdict was reached. This is never a pass."},
	{Pass, "pass", "The rule was put to the test, measured, and kept, clear of all doubt by the decision rule."},
	{Fail, "fail", "The rule was broken, beyond the doubt of the measurement."},
	{Inconclusive, "inconclusive", "The measurement cannot tell, or the rule was never put to the test. This is not a pass."},
	{Void, "void", "The bench failed, so nothing is said of the controller."},
}

// String is the word used in files and reports.
func (v Verdict) String() string {
	if int(v) < len(Verdicts) {
		return Verdicts[v].Name
	}
	return fmt.Sprintf("verdict %d", uint8(v))
}

// rank orders verdicts by how much they outweigh others in a summary. Unsettled
// outweighs a pass: silence is never a pass.
var rank = [...]int{Unsettled: 2, Pass: 1, Fail: 5, Inconclusive: 3, Void: 4}

// Worst sums verdicts up: one fail makes a fail, then void, inconclusive and
// unsettled outweigh pass. Of no verdicts at all it says Unsettled.
func Worst(vs ...Verdict) Verdict {
	worst := Unsettled
	for i, v := range vs {
		if i == 0 || rank[v] > rank[worst] {
			worst = v
		}
	}
	return worst
}
