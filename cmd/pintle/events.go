package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"sync"

	"pintle/reports"
	"pintle/rig"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// An event is one thing that happened in a run, as --json prints it: one line each.
// Which fields there are hangs on what happened; a time counts from the trial's origin.
type event struct {
	Event      string          `json:"event"` // "run begins", "trial begins", "rule settles" or "trial ends"
	Run        string          `json:"run,omitempty"`
	Job        string          `json:"job,omitempty"`
	Controller string          `json:"controller,omitempty"`
	Bench      string          `json:"bench,omitempty"`
	Scenarios  []string        `json:"scenarios,omitempty"`
	Scenario   string          `json:"scenario,omitempty"`
	Trial      int             `json:"trial,omitempty"`
	Trials     int             `json:"trials,omitempty"` // of this scenario; of the run: of each one; at most
	Rule       string          `json:"rule,omitempty"`
	Verdict    string          `json:"verdict,omitempty"`
	Reason     string          `json:"reason,omitempty"`
	At         *signal.Instant `json:"at_ns,omitempty"`
	Took       int64           `json:"took_ns,omitempty"`
}

// events prints what happens as it happens. Whoever conducts never waits for whoever
// reads: what cannot be printed yet is kept.
type events struct {
	mu     sync.Mutex
	more   *sync.Cond
	kept   [][]byte
	over   bool
	failed error
	ended  chan struct{}
}

func newEvents(w io.Writer) *events {
	e := &events{ended: make(chan struct{})}
	e.more = sync.NewCond(&e.mu)
	go e.print(w)
	return e
}

func (e *events) print(w io.Writer) {
	defer close(e.ended)
	for {
		e.mu.Lock()
		for len(e.kept) == 0 && !e.over {
			e.more.Wait()
		}
		lines := e.kept
		e.kept = nil
		e.mu.Unlock()
		if len(lines) == 0 {
			return
		}
		for _, line := range lines {
			if _, err := w.Write(line); err != nil {
				e.mu.Lock()
				e.failed = errors.Join(e.failed, fmt.Errorf("print events: %w", err))
				e.over = true // the run goes on; nobody listens any more
				e.mu.Unlock()
				return
			}
		}
	}
}

// tell says that something happened.
func (e *events) tell(what event) {
	line, err := json.Marshal(what)
	e.mu.Lock()
	defer e.mu.Unlock()
	if err != nil {
		e.failed = errors.Join(e.failed, err)
		return
	}
	if !e.over {
		e.kept = append(e.kept, append(line, '\n'))
		e.more.Signal()
	}
}

// end waits until everything has been printed.
func (e *events) end() error {
	e.mu.Lock()
	e.over = true
	e.more.Signal()
	e.mu.Unlock()
	<-e.ended
	return e.failed
}

func (e *events) begin(run *reports.Run) {
	what := event{Event: "run begins", Run: run.ID, Job: run.Job, Controller: run.Controller.Called(), Bench: run.Bench.Name, Trials: run.Trials}
	for _, s := range run.Scenarios {
		what.Scenarios = append(what.Scenarios, s.Name)
	}
	e.tell(what)
}

// A teller tells one worker's trials as events.
type teller struct {
	*events
	run     *reports.Run
	present rig.Beginning
}

// Begin and Settle tell an event each; what a bench sees is not told: a run of
// an hour has millions of readings, and the logbook keeps them.
func (t *teller) Begin(b rig.Beginning) {
	t.present = b
	t.tell(event{Event: "trial begins", Scenario: t.run.Scenarios[b.Scenario].Name, Trial: b.Trial, Trials: b.Trials})
}

// Rise is not told.
func (t *teller) Rise([signal.LineCount]signal.Level) {}

// See is not told.
func (t *teller) See(*rig.Observation) {}

// Settle tells of a rule that is decided.
func (t *teller) Settle(r int, v rule.Verdict, at signal.Instant) {
	s := &t.run.Scenarios[t.present.Scenario]
	t.tell(event{Event: "rule settles", Scenario: s.Name, Trial: t.present.Trial, Rule: s.Rules[r].Name, Verdict: v.String(), At: &at})
}

// End is not told: an outcome is told of once it is on the disk.
func (t *teller) End(*rig.Outcome) {}

// keep tells what a trial came to, which is in the logbook by now.
func (e *events) keep(scenario string, t *reports.Trial) {
	e.tell(event{Event: "trial ends", Scenario: scenario, Trial: t.Number, Verdict: t.Verdict.String(), Reason: t.Reason, Took: int64(t.Took)})
}
