package uncertainty

import (
	"errors"
	"fmt"
	"strings"
)

// A RuleKind is a way to decide from a reading. The zero value decides nothing.
type RuleKind uint8

// The numbers are written into records: add at the end, never renumber.
const (
	NoRule            RuleKind = 0
	SimpleAcceptance  RuleKind = 1 // passes what reads within the limit
	GuardedAcceptance RuleKind = 2 // passes only what reads within by the guard band
	GuardedRejection  RuleKind = 3 // fails only what reads beyond by the guard band
	FourWay           RuleKind = 4 // both, with conditional answers in between
)

var ruleKinds = [...]struct{ name, short string }{
	NoRule: {"none", ""}, SimpleAcceptance: {"simple-acceptance", "simple acceptance"},
	GuardedAcceptance: {"guarded-acceptance", "guarded acceptance"},
	GuardedRejection:  {"guarded-rejection", "guarded rejection"},
	FourWay:           {"four-way", "four-way statement"},
}

// ruleMeans tells each way in a few words: it ...
var ruleMeans = [len(ruleKinds)]string{
	SimpleAcceptance:  "passes what reads within its limit, and fails all else, without a guard band",
	GuardedAcceptance: "passes what is within its limit by the guard band, and fails all else",
	GuardedRejection:  "fails what is beyond its limit by the guard band, and passes all else",
	FourWay:           "passes and fails what is clear of its limit by the guard band, and calls what lies between conditional",
}

// RuleKinds lists the ways to decide.
func RuleKinds() []RuleKind {
	return []RuleKind{SimpleAcceptance, GuardedAcceptance, GuardedRejection, FourWay}
}

// Short is the way's name in words.
func (k RuleKind) Short() string {
	if int(k) < len(ruleKinds) {
		return ruleKinds[k].short
	}
	return ""
}

// Word is what files call the way: four-way, without the statement.
func (k RuleKind) Word() string { return strings.TrimSuffix(k.Short(), " statement") }

// Means tells the way in a few words: it ...
func (k RuleKind) Means() string {
	if int(k) < len(ruleMeans) {
		return ruleMeans[k]
	}
	return ""
}

// RuleKindOf is the way that files call so; NoRule where there is none.
func RuleKindOf(word string) RuleKind {
	for _, k := range RuleKinds() {
		if k.Word() == word {
			return k
		}
	}
	return NoRule
}

// Usual is the rule of this kind with a guard band that is the expanded uncertainty.
func (k RuleKind) Usual() Rule {
	if k == SimpleAcceptance {
		return Simple()
	}
	return Rule{k, 100}
}

// String gives the name, as it stands in JSON.
func (k RuleKind) String() string { return nameOf(k, ruleKinds[:]) }

// MarshalText writes the name.
func (k RuleKind) MarshalText() ([]byte, error) { return []byte(k.String()), nil }

// UnmarshalText reads a name; an unknown one is an error.
func (k *RuleKind) UnmarshalText(b []byte) error {
	return readName(k, "decision rule", string(b), ruleKinds[:])
}

// A Rule is a decision rule. Its guard band w is a multiple of the expanded
// uncertainty U.
type Rule struct {
	Kind         RuleKind `json:"kind"`
	GuardPercent int      `json:"guard_percent,omitempty"` // w as a percentage of U, 1 to 1000; none for simple acceptance
}

// The rules that are usual: the second and the last are ILAC-G8:09/2019's binary
// statement with a guard band and its non-binary one, with w = U.
func Simple() Rule          { return Rule{SimpleAcceptance, 0} }
func Guarded() Rule         { return Rule{GuardedAcceptance, 100} }
func RejectOnlySure() Rule  { return Rule{GuardedRejection, 100} }
func InFourWays() Rule      { return Rule{FourWay, 100} }
func (r Rule) guards() bool { return r.Kind != SimpleAcceptance }

// Check says what is wrong with the rule.
func (r Rule) Check() error {
	switch {
	case r.Kind == NoRule || int(r.Kind) >= len(ruleKinds):
		return errors.New("no decision rule is stated")
	case !r.guards() && r.GuardPercent != 0:
		return fmt.Errorf("simple acceptance has no guard band, and %d %% of U is stated", r.GuardPercent)
	case r.guards() && (r.GuardPercent < 1 || r.GuardPercent > 1000):
		return fmt.Errorf("a guard band of %d %% of U; it takes 1 to 1000 %%", r.GuardPercent)
	}
	return nil
}

// guard is the guard band on a side, rounded up to a whole unit.
func (r Rule) guard(expanded int64) int64 {
	w := expanded * int64(r.GuardPercent)
	if w%100 != 0 {
		return w/100 + 1
	}
	return w / 100
}

// A Decision is what a rule says of a reading. The zero value is that nothing was
// decided. The larger, the worse.
type Decision uint8

// The numbers are written into records: add at the end, never renumber.
const (
	NoDecision      Decision = 0
	Pass            Decision = 1
	ConditionalPass Decision = 2 // within the limit, but by less than the guard band
	ConditionalFail Decision = 3 // beyond the limit, but by no more than the guard band
	Fail            Decision = 4
)

var decisions = [...]struct{ name, short string }{
	NoDecision: {"none", ""}, Pass: {"pass", ""}, ConditionalPass: {"conditional-pass", ""},
	ConditionalFail: {"conditional-fail", ""}, Fail: {"fail", ""},
}

// String gives the name, as it stands in JSON.
func (d Decision) String() string { return nameOf(d, decisions[:]) }

// MarshalText writes the name.
func (d Decision) MarshalText() ([]byte, error) { return []byte(d.String()), nil }

// UnmarshalText reads a name; an unknown one is an error.
func (d *Decision) UnmarshalText(b []byte) error {
	return readName(d, "decision", string(b), decisions[:])
}
