package livepage

import (
	"context"
	"errors"
	"fmt"
	"io"
	"slices"

	"pintle/reports"
	"pintle/reports/logbook"
	"pintle/rig"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// A House is the bench and its papers, as the program knows them.
type House struct {
	Title, Place, Controller, Gate, Bench string

	AnyPace   bool    // time is simulated, and may go at any pace
	Pace      float64 // the pace offered first; 0: as fast as can be
	Lines     signal.LineSet
	Scenarios []Scenario

	// Warnings tell what looks like a mistake in the job's files, a sentence each: each
	// run is warned of them, as one that is begun without the pages is.
	Warnings []string
	// Changed says what of the job's files is not any more what the pages show; nil where
	// there is nothing that could change. A run by files that nobody sees is not begun.
	Changed func() error
	// Check tells of the bench's last check.
	Check func() Check
	// Perform performs a run, until it is over or the context is done, and leaves the
	// bench safe in either case.
	Perform func(ctx context.Context, c Choice, witness func() rig.Witness) (Result, error)
	Log     Log
	Papers  []Paper
}

// A Paper is something about a run that the page offers to be kept, such as its
// certificate.
type Paper struct {
	Name   string                                    `json:"name"` // in addresses, such as certificate
	Title  string                                    `json:"title"`
	Ending string                                    `json:"ending"` // of its file, without a dot
	Media  string                                    `json:"-"`      // its media type
	Write  func(w io.Writer, run *reports.Run) error `json:"-"`
}

// A Log is where past runs are.
type Log interface {
	Runs() ([]logbook.Entry, error)
	Run(name string) (*reports.Run, error)
	reports.TraceSource
}

// A Scenario is one that can be performed.
type Scenario struct {
	Name  string `json:"name"`
	Title string `json:"title"`
	Why   string `json:"why"`
	Rules []Rule `json:"rules"`
}

// A Rule is a requirement in the words of its file.
type Rule struct {
	Name  string `json:"name"`
	Limit string `json:"limit"`
}

// A Check is what the bench's last check came to, in words.
type Check struct {
	Date    string `json:"date"` // empty: there was none
	Verdict string `json:"verdict"`
	Text    string `json:"text"`
}

// A Choice is what somebody asks to be performed.
type Choice struct {
	Scenarios []string `json:"scenarios"` // none: all
	Trials    int      `json:"trials"`
	Seed      uint64   `json:"seed"`
	Pace      float64  `json:"pace"` // simulated seconds in one; 0: as fast as can be
}

// Result is what a run came to.
type Result struct {
	ID      string
	Verdict rule.Verdict
	Reason  string
}

// The bounds of a choice.
const (
	mostTrials = 100_000
	LeastPace  = 0.1
	MostPace   = 100
)

// check refuses what cannot be performed, before anything moves.
func (h *House) check(c Choice) error {
	var errs []error
	if c.Trials < 1 || c.Trials > mostTrials {
		errs = append(errs, fmt.Errorf("trials: a number from 1 to %d is wanted, not %d", mostTrials, c.Trials))
	}
	if len(c.Scenarios) > len(h.Scenarios) {
		errs = append(errs, fmt.Errorf("scenarios: %d are asked for, and there are %d", len(c.Scenarios), len(h.Scenarios)))
		return errors.Join(errs...)
	}
	for i, n := range c.Scenarios {
		if !slices.ContainsFunc(h.Scenarios, func(s Scenario) bool { return s.Name == n }) {
			errs = append(errs, fmt.Errorf("scenarios: there is no %.40q", n))
		}
		if slices.Contains(c.Scenarios[:i], n) {
			errs = append(errs, fmt.Errorf("scenarios: %.40q is given twice", n))
		}
	}
	if c.Pace != 0 && !(c.Pace >= LeastPace && c.Pace <= MostPace) {
		errs = append(errs, fmt.Errorf("pace: 0 or a number from %v to %v is wanted, not %v", LeastPace, MostPace, c.Pace))
	}
	return errors.Join(errs...)
}

// same refuses to begin a run where the job is not any more what the pages show.
func (h *House) same() error {
	if h.Changed == nil {
		return nil
	}
	return h.Changed()
}

// chosen gives the scenarios of a choice, in its order.
func (h *House) chosen(c Choice) []Scenario {
	if len(c.Scenarios) == 0 {
		return h.Scenarios
	}
	var all []Scenario
	for _, n := range c.Scenarios {
		for _, s := range h.Scenarios {
			if s.Name == n {
				all = append(all, s)
			}
		}
	}
	return all
}
