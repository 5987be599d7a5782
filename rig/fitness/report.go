package fitness

import (
	"errors"
	"fmt"
	"slices"
	"strings"
	"time"

	"pintle/rig"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// A Figure is one number that was measured or is kept as a limit, in whole units.
type Figure struct {
	Name  string `json:"name"`
	Value int64  `json:"value"`
	Unit  Unit   `json:"unit"`
	// Doubt is the expanded uncertainty, 95 %, in the same unit; 0: none is stated.
	Doubt int64 `json:"doubt,omitempty"`
}

// A Unit is what a Figure counts.
type Unit string

// The units.
const (
	Nanoseconds Unit = "ns"
	Microamps   Unit = "uA"
	Count       Unit = "count"
)

// A Result is what one part of the check came to. The zero value is no pass.
type Result struct {
	Name    string       `json:"name"` // does not change, such as "meter: noise"
	Done    string       `json:"done"` // what was done
	Figures []Figure     `json:"figures,omitempty"`
	Limits  []Figure     `json:"limits,omitempty"`
	Verdict rule.Verdict `json:"verdict"`
	Reason  string       `json:"reason"`           // why it is so
	Advice  string       `json:"advice,omitempty"` // what to do
}

// A Range is from a least to a most.
type Range struct {
	Least time.Duration `json:"least_ns"`
	Most  time.Duration `json:"most_ns"`
}

// Measured is what may stand in place of what the bench states of itself. What is nil
// was not measured well enough: the stated figure stays.
type Measured struct {
	Latency  *Range          `json:"latency,omitempty"`     // from the end of the meter's window to the bench
	Interval *time.Duration  `json:"interval_ns,omitempty"` // between one sample and the next
	Noise    *signal.Current `json:"noise_ua,omitempty"`    // upper end of what the standard deviation may be
	Zero     *signal.Current `json:"zero_ua,omitempty"`     // what the meter reads of no current
	Late     *time.Duration  `json:"late_ns,omitempty"`     // the latest edge
	Drop     *Range          `json:"drop_ns,omitempty"`     // from the supply's edge to the current's end
}

// A Report is what the whole check came to.
type Report struct {
	Bench    string    `json:"bench"`
	Virtual  bool      `json:"virtual"`
	Meter    string    `json:"meter"`
	Identity string    `json:"identity,omitempty"`
	Date     time.Time `json:"date,omitzero"` // the caller's: this package has no calendar
	// Described is a digest of what describes the bench, the caller's as well: a bench
	// that is described otherwise has not been put to the test.
	Described string       `json:"described,omitempty"`
	Took      int64        `json:"took_ns"` // on the bench's clock
	Results   []Result     `json:"results"`
	Measured  Measured     `json:"measured"`
	Verdict   rule.Verdict `json:"verdict"`
	Open      []string     `json:"open,omitempty"`    // the parts that are inconclusive
	Aborted   string       `json:"aborted,omitempty"` // why the check ended early
}

// sum makes the total of the parts. A check that ended early is no pass.
func (r *Report) sum() {
	verdicts := make([]rule.Verdict, 0, len(r.Results)+1)
	r.Open = nil
	for _, p := range r.Results {
		verdicts = append(verdicts, p.Verdict)
		if p.Verdict != rule.Pass && p.Verdict != rule.Fail {
			r.Open = append(r.Open, p.Name)
		}
	}
	if r.Aborted != "" {
		verdicts = append(verdicts, rule.Void)
	}
	r.Verdict = rule.Worst(verdicts...)
}

// Result finds a part by its name.
func (r *Report) Result(name string) (Result, bool) {
	i := slices.IndexFunc(r.Results, func(p Result) bool { return p.Name == name })
	if i < 0 {
		return Result{}, false
	}
	return r.Results[i], true
}

// Failed lists the parts that failed.
func (r *Report) Failed() []string {
	var names []string
	for _, p := range r.Results {
		if p.Verdict == rule.Fail {
			names = append(names, p.Name)
		}
	}
	return names
}

// InPlace gives a bench's facts with what was measured in place of what was stated. A
// check sees one opening of the meter: a latency that differs from one opening to the
// next (a buffer's phase, an adapter's timer) is wider than what it measured, and then
// Cautious is right. Late stays: it is a limit, and each edge tells its own lateness.
func (r *Report) InPlace(f rig.Facts) rig.Facts {
	m := r.Measured
	if m.Latency != nil {
		f.Meter.Least, f.Meter.Most = m.Latency.Least, m.Latency.Most
	}
	if m.Interval != nil {
		f.Meter.Interval = *m.Interval
		f.Meter.Window = min(f.Meter.Window, f.Meter.Interval)
	}
	if m.Noise != nil {
		f.Meter.Noise = *m.Noise
	}
	return f
}

// Cautious gives a bench's facts with the worse of what was measured and what was
// stated, and the interval that was measured.
func (r *Report) Cautious(f rig.Facts) rig.Facts {
	g := r.InPlace(f)
	g.Meter.Least, g.Meter.Most = min(f.Meter.Least, g.Meter.Least), max(f.Meter.Most, g.Meter.Most)
	g.Meter.Noise = max(f.Meter.Noise, g.Meter.Noise)
	return g
}

// An Age says how far a check can still be relied on. The zero value is that there is
// none.
type Age uint8

// The numbers are written into records: add at the end, never renumber.
const (
	None  Age = 0
	Fresh Age = 1
	Old   Age = 2
)

// String is the word for messages.
func (a Age) String() string {
	switch a {
	case Fresh:
		return "fresh"
	case Old:
		return "old"
	}
	return "none"
}

// Keeps is for how long a check is fresh, where nothing else is stated. Common
// practice, no source: relays, leads and adapters are changed more often than meters
// drift.
const Keeps = 30 * 24 * time.Hour

// Age tells how old the report is at an instant. A report without a date is none; one
// from the future is old, because one of the two clocks is wrong. A limit of 0 is Keeps.
func (r *Report) Age(now time.Time, limit time.Duration) Age {
	if limit <= 0 {
		limit = Keeps
	}
	switch {
	case r == nil || r.Date.IsZero():
		return None
	case now.Sub(r.Date) > limit || r.Date.After(now):
		return Old
	}
	return Fresh
}

// ErrUnfit is why nothing is run on a bench that failed its check.
var ErrUnfit = errors.New("the bench failed its check")

// Refuses says why no run may be made with this bench, or nothing. A check that was
// not finished refuses as well: it may have ended because of what it would have found.
// Where there is no check at all, that is for the caller to say.
func (r *Report) Refuses() error {
	switch {
	case r == nil || r.Verdict == rule.Pass || r.Verdict == rule.Inconclusive:
		return nil
	case r.Verdict == rule.Fail:
		return fmt.Errorf("%w: %s: mend it and check the bench again", ErrUnfit, strings.Join(r.Failed(), ", "))
	case r.Aborted != "":
		return fmt.Errorf("%w: it was not finished: %s: check the bench again", ErrUnfit, r.Aborted)
	}
	return fmt.Errorf("%w: its verdict is %v: check the bench again", ErrUnfit, r.Verdict)
}
