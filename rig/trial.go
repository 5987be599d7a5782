package rig

import (
	"time"

	"pintle/rig/appraise"
	"pintle/rig/fault"
	"pintle/rig/gate"
	"pintle/rig/motion"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// A Scenario is what one scenario file comes to once a job's claims have been
// put in: all that the conductor needs, and nothing that it must look up.
type Scenario struct {
	Name   string // the file's name without its ending, such as missed-closed-limit
	Title  string
	Why    string
	Start  gate.Start
	Faults []fault.Fault
	Script []Step
	Repeat int  // how often the script is performed, one time after the other; 0 counts as 1
	Steady bool // battery, load and temperature are as usual in every trial
	Rules  []rule.Rule
	Claims []string // all claims that the rules or the script refer to, sorted
}

// StepKind says what a Step does.
type StepKind uint8

const (
	Drive    StepKind = 1 // Line goes to Level; after For, if that is set, back again
	Await    StepKind = 2 // goes on once Condition holds; the script ends if it does not Within
	Wait     StepKind = 3 // goes on after For
	Obstruct StepKind = 4 // something stops the gate where it is, or at At on its way
	Clear    StepKind = 5 // takes that away
)

// A Step is one line of a script. The script goes on from a Drive when the line
// has changed, without waiting for it to change back.
type Step struct {
	Kind      StepKind
	Line      signal.Line
	Level     signal.Level
	For       time.Duration
	Condition rule.Condition
	Within    time.Duration
	At        float64 // of Obstruct: place as a fraction of travel, 0 closed to 1 open; negative: here and now
	Text      string  // the step in words
	Source    string  // file:line:column
}

// A Job is everything that one run needs besides its scenarios.
type Job struct {
	Gate      gate.Spec
	Motion    motion.Thresholds
	Guard     Guard
	Appraiser *appraise.Appraiser // nil: nothing is appraised, and rule.BySpan decides
	Settle    time.Duration       // supply on before the script begins, unless the script puts it on itself
	Rest      time.Duration       // supply off before a trial, so that the controller forgets
	Sag       float64             // supply-sag as a share of the full supply; 0: not told, and the gate moves as on the full one
	Dip       float64             // supply-dip likewise
	Limit     time.Duration       // longest trial; 0: none; a trial that reaches it ends there
	Meter     MeterFacts          // that a recorded trace was read with; without an interval its readings are not looked through
}

// A Guard is the bench's own protection. It is no part of any scenario, and no
// scenario can change it.
type Guard struct {
	MostCurrent  signal.Current // magnitude at which the supply is taken off
	LongestDrive time.Duration  // of the motor moving without a pause
	MeterSilence time.Duration  // longest time without a sample
}

// An Outcome is what one trial came to.
type Outcome struct {
	Scenario int // index into the run's scenarios
	Trial    int // from 1
	Seed     uint64
	Day      Day
	Verdict  rule.Verdict
	Reason   string // of a verdict other than pass, in words
	Findings []rule.Finding
	Troubles []BenchTrouble
	Took     time.Duration // on the bench's clock
	Trace    *signal.Trace // valid until the sink that it was given to returns
}
