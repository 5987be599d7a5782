package rule

import (
	"pintle/rig/motion"
	"pintle/rig/signal"
)

// TermKind says what a Term speaks of.
type TermKind uint8

const (
	LineIs       TermKind = 1 // Line has Level
	MotorIs      TermKind = 2 // the motor is in State
	CurrentAbove TermKind = 3 // the current's magnitude is above Current
)

// A Term is one thing that is true or false at every instant.
type Term struct {
	Kind    TermKind
	Line    signal.Line
	Level   signal.Level
	State   motion.State
	Current signal.Current
	Not     bool // the opposite of the above
}

// A Condition is true while all terms of at least one clause are. With Becomes
// set it is an event: true only at the instants at which that comes to be so.
type Condition struct {
	Text    string   // as the file has it, for reports
	Any     [][]Term // clauses; an empty Condition is never true
	Becomes bool
}

// IsZero says that no condition was given.
func (c Condition) IsZero() bool { return len(c.Any) == 0 }
