package rule

import (
	"time"

	"pintle/rig/signal"
	"pintle/rig/thermal"
)

// Pattern is the form of a requirement.
type Pattern uint8

// What there is to say of each is in the table Patterns; a pattern that no code
// speaks of needs no name here. P and S are the rule's conditions, c its limit.
const (
	Absence           Pattern = 1  // P never holds
	Universality      Pattern = 2  // P always holds
	Existence         Pattern = 3  // P holds at some time
	BoundedExistence  Pattern = 4  // P comes to hold at most Count times
	Precedence        Pattern = 5  // P does not hold before S has held
	Response          Pattern = 6  // whenever P holds, S holds then or later
	MinimumDuration   Pattern = 7  // once P holds it holds for at least c
	MaximumDuration   Pattern = 8  // once P holds it holds for at most c
	BoundedRecurrence Pattern = 9  // P holds at least once in every c
	BoundedResponse   Pattern = 10 // whenever P holds, S holds within c
	BoundedInvariance Pattern = 11 // whenever P holds, S holds from then on for at least c
	CurrentUnder      Pattern = 12 // the current's magnitude stays at or under Current
	CurrentOver       Pattern = 13 // the current's magnitude stays at or over Current
	AverageUnder      Pattern = 14 // its mean over every Window stays at or under Current
	AverageOver       Pattern = 15 // its mean over every Window stays at or over Current
	ThermalLoad       Pattern = 16 // the load of the part that Heating describes stays at or under its Most
)

// ScopeKind says in which part of a trial a rule applies.
type ScopeKind uint8

// Globally is the whole trial. The others are delimited by the conditions Q
// (opens) and R (closes).
const (
	Globally   ScopeKind = 0
	Before     ScopeKind = 1 // up to the first R; nothing where R never comes
	After      ScopeKind = 2 // from the first Q on
	Between    ScopeKind = 3 // from each Q to the next R, where that R comes
	AfterUntil ScopeKind = 4 // from each Q to the next R, or to the end
)

// A Scope is the part of a trial in which a rule applies.
type Scope struct {
	Kind ScopeKind
	Q, R Condition
}

// String says the scope in words; nothing of the whole trial.
func (s Scope) String() string {
	switch s.Kind {
	case Before:
		return "before " + s.R.Text
	case After:
		return "after " + s.Q.Text
	case Between:
		return "between " + s.Q.Text + " and " + s.R.Text
	case AfterUntil:
		return "after " + s.Q.Text + " until " + s.R.Text
	}
	return ""
}

// Heating is a part that the motor current heats, and how hot it may become. Loads
// are in millionths of that which the part stands for ever.
type Heating struct {
	Part  string // such as bridge
	Curve thermal.Curve
	Start int64 // load at the beginning of the trial; 0: cold
	Most  int64 // load that is allowed
}

// A Rule is one requirement. Which fields a pattern uses stands beside it.
type Rule struct {
	Name    string // the requirement in words, unique in its scenario
	Pattern Pattern
	P, S    Condition
	Limit   time.Duration  // c, of the timed patterns
	Count   int            // of BoundedExistence
	Current signal.Current // of the current patterns
	Window  time.Duration  // of the average patterns
	Heating Heating        // of ThermalLoad
	Scope   Scope
	Claims  []string // the claims that the limit was worked out from
	Source  string   // file:line:column of the rule
}
