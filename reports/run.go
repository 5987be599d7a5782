package reports

import (
	"time"

	"pintle/rig/motion"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// A Run is all that one command performed. ID, Began, Ended, and what tells of the
// machine and the program's own bytes are the only fields that differ between two runs
// of the same job with the same seed.
type Run struct {
	ID      string    `json:"id"`
	Began   time.Time `json:"began"`
	Ended   time.Time `json:"ended"`
	Program string    `json:"program"` // name and version
	// Digest is the SHA-256 of the program's own file; empty where it was not told.
	Digest string `json:"programDigest,omitempty"`
	// Environment is where the program ran; nil where it was not told.
	Environment *Environment `json:"environment,omitempty"`

	Job        string     `json:"job"`   // title of the job
	Place      string     `json:"place"` // where the gate stands
	Gate       string     `json:"gate"`
	Controller Controller `json:"controller"`
	Bench      Bench      `json:"bench"`
	Laboratory Laboratory `json:"laboratory,omitzero"`
	Customer   Customer   `json:"customer,omitzero"`
	At         string     `json:"performedAt,omitempty"` // where it was performed
	Seed       uint64     `json:"seed,string"`
	Trials     int        `json:"trials"`                  // of each scenario, as asked for
	Decision   string     `json:"decision"`                // the decision rule in full
	DecisionBy string     `json:"decisionBy,omitempty"`    // and in a few words
	Coverage   int64      `json:"coverage,omitempty"`      // probability that a stated interval holds the value, in millionths
	Sources    []Source   `json:"uncertainties,omitempty"` // what the lines of the budgets are of
	// Demonstration is nil where nothing was to be demonstrated.
	Demonstration *Demonstration `json:"demonstration,omitempty"`

	Files     []File     `json:"files"` // everything that the run rests on, by name
	Scenarios []Scenario `json:"scenarios"`
	LeftOut   []LeftOut  `json:"leftOut,omitempty"` // scenarios of the job that could not be performed in it
	// NotPerformed are the scenarios that could have been and were not, as they were not
	// asked for or controller.yaml leaves them out.
	NotPerformed []LeftOut `json:"notPerformed,omitempty"`
	// Deviations say in what the run differs from the whole of what the job and the
	// ordinary decision rule ask for, a sentence each.
	Deviations []string     `json:"deviations,omitempty"`
	Warnings   []string     `json:"warnings,omitempty"` // what looks like a mistake in the job's files, a sentence each
	Verdict    rule.Verdict `json:"verdict"`
	Reason     string       `json:"reason,omitempty"` // of a run that did not end in the ordinary way
}

// A Laboratory is who performed the run and answers for it.
type Laboratory struct {
	Name    string `json:"name,omitempty"`
	Address string `json:"address,omitempty"`
}

// A Customer is whom the certificate is for.
type Customer struct {
	Name    string `json:"name,omitempty"`
	Address string `json:"address,omitempty"`
	Contact string `json:"contact,omitempty"`
}

// An Environment is the machine that a program ran on, as far as it may matter. It names
// no machine.
type Environment struct {
	System       string `json:"system"` // such as linux
	Architecture string `json:"architecture"`
	Kernel       string `json:"kernel,omitempty"` // release
	Go           string `json:"go"`               // version of the language's tools
	Processors   int    `json:"processors"`
}

// A Source is something that makes a measured value uncertain.
type Source struct {
	Number       uint8  `json:"number"`
	Name         string `json:"name"`
	Distribution string `json:"distribution"`
	Assumes      string `json:"assumes"`
}

// A Controller is the thing that was put to the test.
type Controller struct {
	Board    string   `json:"board"`
	Maker    string   `json:"maker"`
	Serial   string   `json:"serial"`
	Firmware string   `json:"firmware"`
	Digest   string   `json:"firmwareDigest"`
	DigestOf string   `json:"firmwareDigestOf,omitempty"` // name of the file that the program worked it out from; empty: it was told
	Claims   []Claim  `json:"claims"`
	Defects  []string `json:"defects,omitempty"` // seeded on purpose into a simulated controller

	Received  string `json:"received,omitempty"`  // the day it came in, such as 2031-04-08
	Condition string `json:"condition,omitempty"` // that it came in
}

// Called is the controller in a line: board, serial number, firmware.
func (c Controller) Called() string {
	words := c.Board
	if c.Serial != "" {
		words += ", serial " + c.Serial
	}
	if c.Firmware != "" {
		words += ", firmware " + c.Firmware
	}
	return words
}

// A Claim is a figure that the controller's builder promises.
type Claim struct {
	Name  string `json:"name"`
	Value string `json:"value"` // as written, such as 150ms
	Means string `json:"means,omitempty"`
}

// A Bench is what the run was performed on.
type Bench struct {
	Name        string         `json:"name"`
	Virtual     bool           `json:"virtual"`   // time was simulated
	Simulated   bool           `json:"simulated"` // the controller was
	Lead        time.Duration  `json:"lead"`
	Meter       string         `json:"meter"`
	Interval    time.Duration  `json:"interval"`
	Window      time.Duration  `json:"window"`
	LeastDelay  time.Duration  `json:"leastDelay"`
	MostDelay   time.Duration  `json:"mostDelay"`
	Resolution  signal.Current `json:"resolution"`
	Noise       signal.Current `json:"noise"`
	Runs        signal.Current `json:"runs,omitempty"`        // from this current on the motor counts as moving; 0: not recorded
	Stops       signal.Current `json:"stops,omitempty"`       // below this, as standing
	Settle      time.Duration  `json:"settle,omitempty"`      // how long a change lasts before it counts
	Description []string       `json:"description,omitempty"` // further lines for the certificate
	LastCheck   string         `json:"lastCheck,omitempty"`   // of the bench itself, and what came of it
	Finest      []Reach        `json:"finest,omitempty"`      // what it can tell, a line for each claim
}

// A Reach is how finely a bench can decide a claim: the expanded uncertainty of a
// value at the limit, of the rule of that claim that is measured worst.
type Reach struct {
	Claim    string     `json:"claim"`
	Unit     rule.Unit  `json:"unit"`
	Sense    rule.Sense `json:"sense"`
	Limit    int64      `json:"limit"`
	Expanded int64      `json:"expanded"`
	Guard    int64      `json:"guard"` // band that the decision rule keeps from the limit
}

// Motion is what tells from the bench's readings whether the motor moves. It is not
// ok where the run does not say.
func (b *Bench) Motion() (t motion.Thresholds, ok bool) {
	t = motion.Thresholds{Runs: b.Runs, Stops: b.Stops, Settle: b.Settle}
	return t, t.Check() == nil
}

// A LeftOut is a scenario of the job that is not in the run, such as one that needs a
// beam where there is none. Nothing is said of what it would have tested.
type LeftOut struct {
	Name  string `json:"name"`
	Title string `json:"title"`
	Why   string `json:"why"`
}

// A File is something that the run rests on.
type File struct {
	Name   string `json:"name"`
	SHA256 string `json:"sha256"`
	Text   string `json:"text"`
}

// A Scenario is what its trials came to.
type Scenario struct {
	Name    string       `json:"name"`
	Title   string       `json:"title"`
	Why     string       `json:"why"`
	Faults  []Fault      `json:"faults,omitempty"` // what was wrong with the lines on purpose
	Rules   []Rule       `json:"rules"`
	Trials  []Trial      `json:"trials"`
	Shown   *Shown       `json:"shown,omitempty"` // of more than one trial
	Verdict rule.Verdict `json:"verdict"`
	Reason  string       `json:"reason,omitempty"`
}

// A Fault is what a scenario does to a line on purpose.
type Fault struct {
	Line string `json:"line"`
	Kind string `json:"kind"`
	Text string `json:"text"` // in words, figures included
}

// A Rule is a requirement in the words of its file.
type Rule struct {
	Name    string   `json:"name"`
	Pattern string   `json:"pattern"`
	Of      string   `json:"of,omitempty"`    // the condition that the pattern is of
	Then    string   `json:"then,omitempty"`  // the one that must follow or go before
	Scope   string   `json:"scope,omitempty"` // in which part of a trial, in words; empty: in all of it
	Limit   string   `json:"limit,omitempty"` // as written
	Claims  []string `json:"claims,omitempty"`
	Source  string   `json:"source"`
}

// A Trial is one performance of a scenario.
type Trial struct {
	Number   int            `json:"number"`
	Seed     uint64         `json:"seed,string"`
	Day      string         `json:"day,omitempty"` // what was not as usual: battery, load, temperature
	Verdict  rule.Verdict   `json:"verdict"`
	Reason   string         `json:"reason,omitempty"`
	Findings []rule.Finding `json:"findings"`
	Troubles []string       `json:"troubles,omitempty"`
	Took     time.Duration  `json:"took"`
	Samples  int            `json:"samples"`
	Trace    string         `json:"trace,omitempty"` // SHA-256 of the stored trace
}

// A TraceSource finds the trace of a trial of a run.
type TraceSource interface {
	Trace(run, scenario string, trial int) (*signal.Trace, error)
}
