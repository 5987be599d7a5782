package livepage

import (
	"context"
	"encoding/base64"
	"errors"
	"fmt"
	"sync"
	"sync/atomic"
	"time"

	"pintle/rig"
	"pintle/rig/rule"
)

// inkEvery is how often what is new goes to the pages.
const inkEvery = 33 * time.Millisecond

// A hub is all that the pages share: what is being performed, who looks, who operates.
type hub struct {
	house *House
	clock Clock
	began time.Time

	mu       sync.Mutex
	pages    map[string]*page // by their secrets
	named    int              // pages so far
	operator *page            // nil: nobody
	run      *running         // nil: nothing is being performed
	turn     uint64           // counts starts and stops
	ended    string           // the last run's words
	last     *trialState      // and its last trial on the paper
	verdicts []verdictLine    // the latest, the last one first
	marks    []mark           // of trials on the paper
	paper    *paper
	inked    int64 // how far the paper is written, in nanoseconds
	check    Check
	closed   chan struct{}
	runs     sync.WaitGroup

	under atomic.Pointer[running] // run, for a stop that waits for no lock
}

// running is a run under way.
type running struct {
	choice   Choice
	chosen   []Scenario
	cancel   context.CancelFunc
	began    time.Time
	stopping bool
	taps     int
	scenario int
	trial    int
	trials   int
	rules    []settled
	days     string
	over     string // the verdict of the last trial, while it still shows
	done     int
	tally    map[string]int
	lost     uint64 // readings that found no room, as told
}

// settled is what is known of a rule.
type settled struct {
	Name    string `json:"name"`
	Limit   string `json:"limit"`
	Verdict string `json:"verdict"` // empty: still open
	Value   string `json:"value"`
	Margin  string `json:"margin"`
	Reason  string `json:"reason"`
}

// A verdictLine is one trial that is over.
type verdictLine struct {
	Scenario string `json:"scenario"`
	Trial    int    `json:"trial"`
	Verdict  string `json:"verdict"`
	Reason   string `json:"reason"`
}

// A mark names the trial that begins at an instant of the paper.
type mark struct {
	At   uint32 `json:"at"`
	Text string `json:"text"`
}

const (
	verdictsKept = 12
	marksKept    = 256
)

func newHub(h *House, clock Clock) *hub {
	b := &hub{house: h, clock: clock, began: clock(), pages: map[string]*page{}, paper: newPaper(), closed: make(chan struct{})}
	b.check = h.Check()
	return b
}

// Reasons not to act, each with the words for whoever asked.
var (
	errBusy     = errors.New("a run is under way: stop it, or wait until it is over")
	errNotYours = errors.New("another page has the controls: take them over first")
	errIdle     = errors.New("nothing is being performed")
	errClosing  = errors.New("the program is ending")
	errStale    = errors.New("something was started or stopped before this came: look, and start again")
)

// start begins a run for the page that operates. Where nobody does, the page does from
// here on. It says at which turn it was asked for: a start that a later stop has overtaken
// on the way, or that a browser sends once more by itself, must not set a motor going.
func (h *hub) start(p *page, c Choice, turn uint64) error {
	if err := errors.Join(h.house.check(c), h.house.same()); err != nil {
		return err
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	select {
	case <-h.closed:
		return errClosing
	default:
	}
	switch {
	case h.operator != nil && h.operator != p:
		return errNotYours
	case h.run != nil:
		return errBusy
	case turn != h.turn:
		return errStale
	}
	h.operator = p
	h.turn++
	ctx, cancel := context.WithCancel(context.Background())
	r := &running{choice: c, chosen: h.house.chosen(c), cancel: cancel, began: h.clock(), tally: map[string]int{}}
	h.run, h.ended = r, ""
	h.under.Store(r)
	h.runs.Go(func() { h.perform(ctx, r) })
	h.changed()
	return nil
}

func (h *hub) perform(ctx context.Context, r *running) {
	defer r.cancel()
	inking := make(chan *tap, 1)
	done := make(chan struct{})
	var inker sync.WaitGroup
	inker.Go(func() { h.ink(inking, done) })
	result, err := h.house.Perform(ctx, r.choice, func() rig.Witness { return h.tap(r, inking) })
	close(done)
	inker.Wait()
	check := h.house.Check() // before the lock: it reads a file
	h.mu.Lock()
	defer h.mu.Unlock()
	h.last = r.trialState()
	h.run, h.check = nil, check
	h.under.Store(nil)
	switch {
	case err != nil && result.ID == "":
		h.ended = "The run could not be performed: " + err.Error()
	case err != nil:
		h.ended = fmt.Sprintf("Run %s: %v (%v)", result.ID, result.Verdict, err)
	default:
		h.ended = fmt.Sprintf("Run %s: %v", result.ID, result.Verdict)
	}
	h.changed()
}

// tap gives a worker its witness. The first one inks.
func (h *hub) tap(r *running, inking chan<- *tap) rig.Witness {
	h.mu.Lock()
	defer h.mu.Unlock()
	r.taps++
	t := &tap{hub: h, run: r, number: r.taps}
	if r.taps == 1 {
		t.ring, t.latest = newRing(), h.inked
		inking <- t
	}
	return t
}

// ink takes what a tap laid down to the pages, until the run is over.
func (h *hub) ink(inking <-chan *tap, done <-chan struct{}) {
	tick, stop := ticks(inkEvery)
	defer stop()
	var t *tap
	var b batch
	var waiting []entry
	for over := false; !over; {
		select {
		case t = <-inking:
			continue
		case <-done:
			over = true
		case <-tick:
		}
		if t == nil {
			continue
		}
		if waiting = t.ring.take(waiting[:0]); len(waiting) == 0 {
			continue
		}
		b.sort(waiting)
		h.pass(t, &b, waiting[len(waiting)-1].at)
	}
}

// pass puts a batch on the paper and before the pages.
func (h *hub) pass(t *tap, b *batch, upTo int64) {
	h.mu.Lock()
	defer h.mu.Unlock()
	lost := t.ring.lost.Load()
	b.lost = uint32(lost - t.run.lost)
	t.run.lost = lost
	h.inked = max(h.inked, upTo)
	h.paper.keep(b)
	text := base64.StdEncoding.EncodeToString(b.encode())
	for _, p := range h.pages {
		p.give(text)
	}
}

// stop ends the run under way. Nobody waits for anything: it only says so. It comes
// before a start that is still on its way, even where there is nothing to stop.
func (h *hub) stop() error {
	under := h.under.Load()
	if under != nil {
		under.cancel() // whoever has the lock, and for how long
	}
	h.mu.Lock()
	defer h.mu.Unlock()
	h.turn++
	h.changed()
	switch {
	case h.run == nil && under != nil:
		return nil // it is over already, because of this
	case h.run == nil:
		return errIdle
	}
	h.run.stopping = true
	h.run.cancel()
	return nil
}

// begin, origin, settle and end are what the taps tell.
func (h *hub) begin(t *tap, b rig.Beginning) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if t.number != 1 {
		return
	}
	r := t.run
	r.scenario, r.trial, r.trials, r.days, r.over = b.Scenario, b.Trial, b.Trials, b.Day.String(), ""
	r.rules = r.rules[:0]
	for _, rule := range r.chosen[b.Scenario].Rules {
		r.rules = append(r.rules, settled{Name: rule.Name, Limit: rule.Limit})
	}
	h.changed()
}

func (h *hub) origin(t *tap) {
	h.mu.Lock()
	defer h.mu.Unlock()
	r := t.run
	text := r.chosen[r.scenario].Title
	if r.trials > 1 {
		text = fmt.Sprintf("%s, %d of %d", text, r.trial, r.trials)
	}
	m := mark{ticksOf(t.base), text}
	if h.marks = append(h.marks, m); len(h.marks) > marksKept {
		h.marks = h.marks[1:]
	}
	for _, p := range h.pages {
		p.mark(m)
	}
}

func (h *hub) settle(t *tap, i int, v rule.Verdict) {
	h.mu.Lock()
	defer h.mu.Unlock()
	if t.number == 1 && i < len(t.run.rules) {
		t.run.rules[i].Verdict = v.String()
		h.changed()
	}
}

func (h *hub) end(t *tap, o *rig.Outcome) {
	h.mu.Lock()
	defer h.mu.Unlock()
	r := t.run
	r.done++
	r.tally[o.Verdict.String()]++
	h.verdicts = append([]verdictLine{{r.chosen[o.Scenario].Title, o.Trial, o.Verdict.String(), o.Reason}}, h.verdicts...)
	h.verdicts = h.verdicts[:min(len(h.verdicts), verdictsKept)]
	if t.number == 1 {
		r.over = o.Verdict.String()
		for _, f := range o.Findings {
			if f.Rule < len(r.rules) {
				r.rules[f.Rule].found(o.Verdict, f)
			}
		}
	}
	h.changed()
}

// found fills in what the end of a trial says of a rule. Of a void trial nothing counts
// but what had failed before.
func (s *settled) found(trial rule.Verdict, f rule.Finding) {
	switch {
	case trial != rule.Void:
		s.Verdict, s.Reason = f.Verdict.String(), f.Reason
	case s.Verdict != rule.Fail.String():
		s.Verdict, s.Reason = rule.Void.String(), ""
		return
	}
	if f.Measured {
		s.Value, s.Margin = f.ValueText(), f.MarginText()
		if limit := f.LimitText(); limit != "" {
			s.Limit = limit
		}
	}
}

// close stops what is being performed, waits until the bench is safe, and lets go of all
// pages.
func (h *hub) close() {
	h.mu.Lock()
	select {
	case <-h.closed:
	default:
		close(h.closed)
	}
	if h.run != nil {
		h.run.stopping = true
		h.run.cancel()
	}
	h.mu.Unlock()
	h.runs.Wait()
}

// changed lets the pages know that there is a new state. The lock is held.
func (h *hub) changed() {
	for _, p := range h.pages {
		p.wake()
	}
}
