package livepage

import (
	"time"
)

// A state is what a page is told beside the ink.
type state struct {
	Now       time.Time     `json:"now"`
	Phase     string        `json:"phase"` // idle, running, stopping
	Turn      uint64        `json:"turn"`  // counts starts and stops; a start says which it saw
	Scenario  *trialState   `json:"scenario,omitempty"`
	Progress  *progress     `json:"progress,omitempty"`
	Ended     string        `json:"ended"`
	Verdicts  []verdictLine `json:"verdicts"`
	Check     Check         `json:"check"`
	You       int           `json:"you"`
	Operator  int           `json:"operator"` // its number; 0: nobody
	Pages     int           `json:"pages"`
	LeftOut   uint64        `json:"leftOut"` // readings that found no room
	Elsewhere int           `json:"elsewhere"`
}

// trialState is the trial on the paper.
type trialState struct {
	Name   string    `json:"name"`
	Title  string    `json:"title"`
	Why    string    `json:"why"`
	Trial  int       `json:"trial"`
	Trials int       `json:"trials"`
	Day    string    `json:"day"`
	Over   string    `json:"over"`
	Rules  []settled `json:"rules"`
}

// progress is how far a run has come.
type progress struct {
	Done  int            `json:"done"`
	Of    int            `json:"of"`
	Left  float64        `json:"left"` // seconds; negative: not known yet
	Tally map[string]int `json:"tally"`
}

// state gives what a page is to be told now.
func (h *hub) state(p *page) state {
	h.mu.Lock()
	defer h.mu.Unlock()
	h.sweep()
	s := state{Now: h.clock().UTC(), Phase: "idle", Turn: h.turn, Ended: h.ended, Verdicts: append([]verdictLine{}, h.verdicts...), Check: h.check,
		You: p.number}
	for _, other := range h.pages {
		if other.looks {
			s.Pages++
		}
	}
	if h.operator != nil {
		s.Operator = h.operator.number
	}
	r := h.run
	if r == nil {
		s.Scenario = h.last
		return s
	}
	s.Phase = "running"
	if r.stopping {
		s.Phase = "stopping"
	}
	s.LeftOut, s.Elsewhere = r.lost, max(0, r.taps-1)
	s.Progress = r.progress(h.clock())
	s.Scenario = r.trialState()
	return s
}

// trialState is the trial on the paper; nil before the first.
func (r *running) trialState() *trialState {
	if r.trials == 0 {
		return nil
	}
	c := r.chosen[r.scenario]
	return &trialState{Name: c.Name, Title: c.Title, Why: c.Why, Trial: r.trial, Trials: r.trials, Day: r.days, Over: r.over,
		Rules: append([]settled{}, r.rules...)}
}

func (r *running) progress(now time.Time) *progress {
	p := &progress{Done: r.done, Of: len(r.chosen) * r.choice.Trials, Left: -1, Tally: map[string]int{}}
	for k, v := range r.tally {
		p.Tally[k] = v
	}
	if r.done > 0 {
		p.Left = now.Sub(r.began).Seconds() / float64(r.done) * float64(p.Of-r.done)
	}
	return p
}
