package motion

import (
	"errors"
	"fmt"
	"math"

	"pintle/rig/signal"
)

// Check reports every mistake in the thresholds.
func (t Thresholds) Check() error {
	var mistakes []error
	if t.Stops <= 0 {
		mistakes = append(mistakes, fmt.Errorf("stops: %v must be above zero, or a standing motor would count as moving", t.Stops))
	}
	if t.Runs < t.Stops {
		mistakes = append(mistakes, fmt.Errorf("runs: %v must not be below stops, %v", t.Runs, t.Stops))
	}
	if t.Settle < 0 {
		mistakes = append(mistakes, fmt.Errorf("settle: %v must not be negative", t.Settle))
	}
	return errors.Join(mistakes...)
}

// A Detector turns samples into settled changes of the motor's state. Samples
// must come in the order of time. It is used by one goroutine.
//
// Each sample is first read by itself, with the reading before it as memory: a
// motor runs a way once the current that way is at or above Runs, goes on
// running that way while it is at or above Stops, and stands still otherwise.
// While nothing is known and the magnitude lies between the two, the reading is
// Unknown.
//
// A reading becomes the settled state once it has certainly lasted for Settle
// without a break: from the To of its first sample to the From of the present
// one, so a meter whose stretches are wide takes longer. With a Settle of zero
// the first sample is enough. The change that is then given lies in the past:
//
//   - it begins with the From of the last sample read as the old state;
//   - it ends with the To of the first sample of the new state's unbroken run.
//     Where the motor comes to stand still it ends with the To of the first
//     sample that was no longer the old state: a reverse current shorter than
//     Settle is a brake's kick, no movement, and belongs to the standstill;
//   - the first state of all has no old one before it: its change begins with
//     the From of the sample before the run or, where there is none, of the
//     run's own first sample.
type Detector struct {
	least, most signal.Current // the reading stays as it is from least to most
	reading     State
	state       State
	last        signal.Instant // From of the last sample read as the settled state; see Final
	away        signal.Instant // To of the first sample after that one
	old, older  signal.Current // of the last two samples read as the settled state
	since       int            // samples since the last one read as the settled state
	run         int            // of them when the present reading began
	began       signal.Instant // To of the first sample of the present reading
	previous    signal.Instant // From of the sample before, while the state is Unknown
	isAway      bool           // away holds
	isSeen      bool           // previous holds
	thresholds  Thresholds
}

// NewDetector makes a detector, or reports every mistake in the thresholds.
func NewDetector(t Thresholds) (*Detector, error) {
	if err := t.Check(); err != nil {
		return nil, fmt.Errorf("motion thresholds: %w", err)
	}
	d := &Detector{thresholds: t}
	d.Reset()
	return d, nil
}

// Reset forgets everything but the thresholds.
func (d *Detector) Reset() {
	*d = Detector{thresholds: d.thresholds, last: math.MinInt64}
	d.read(Unknown)
}

// State is the settled state.
func (d *Detector) State() State { return d.state }

// Final is the instant before which no change that is yet to come can begin.
// What happened before it elsewhere may be put in order now. Before the first
// sample it lies before everything.
func (d *Detector) Final() signal.Instant { return d.last }

// Sample takes the next sample. It gives at most one change, and true where
// there is one.
func (d *Detector) Sample(s signal.Sample) (Change, bool) {
	if d.Calm(s) {
		return Change{}, false
	}
	return d.unsettled(s)
}

// Calm takes the next sample as Sample does if it is of the settled state, as the one
// before it was, and says whether it is: there is no change then. Most are, and a change
// that is none costs more to hand about than all the rest.
func (d *Detector) Calm(s signal.Sample) bool {
	if s.Current < d.least || s.Current > d.most || d.reading != d.state {
		return false
	}
	d.last, d.isAway = s.From, false
	d.old, d.older = s.Current, d.old
	return true
}

// Steady takes the next samples as Sample does, as long as they begin before an instant
// and are of the settled state as the one before them was. It says how many those are.
func (d *Detector) Steady(s []signal.Sample, before signal.Instant) int {
	if d.reading != d.state || d.least > d.most { // nothing is from the one to the other
		return 0
	}
	least, width, n := d.least, uint64(d.most)-uint64(d.least), 0
	for i := range s {
		if uint64(s[i].Current)-uint64(least) > width || s[i].From >= before {
			break
		}
		n++
	}
	if n == 0 {
		return 0
	}
	if n > 1 {
		d.old = s[n-2].Current
	}
	d.last, d.isAway = s[n-1].From, false
	d.old, d.older = s[n-1].Current, d.old
	return n
}

// unsettled takes a sample that is not, or follows one that was not, of the
// settled state.
func (d *Detector) unsettled(s signal.Sample) (Change, bool) {
	d.since++
	if r := d.thresholds.reading(d.reading, s.Current); r != d.reading || !d.isSeen {
		d.read(r)
		d.began, d.run = s.To, d.since
		if d.state == Unknown {
			d.last = s.From
			if d.isSeen {
				d.last = d.previous
			}
		}
	}
	d.previous, d.isSeen = s.From, true
	if d.reading == d.state {
		d.last, d.isAway, d.since = s.From, false, 0
		d.old, d.older = s.Current, d.old
		return Change{}, false
	}
	if !d.isAway {
		d.away, d.isAway = s.To, true
	}
	if settle := d.thresholds.Settle; settle > 0 && s.From.Sub(d.began) < settle {
		return Change{}, false
	}
	return d.settle(s), true
}

// settle makes the present reading the settled state.
func (d *Detector) settle(s signal.Sample) Change {
	c := Change{Was: d.state, Is: d.reading, Span: signal.Span{Early: d.last, Late: d.began}, Readings: d.run}
	if c.Was.Moving() && c.Is == Stopped {
		c.Span.Late, c.Readings = d.away, 1
	}
	if c.Was != Unknown && s.To > d.began {
		c.Before, c.After, c.Levels = d.older, s.Current, true
	}
	d.state, d.last, d.isAway, d.since = c.Is, s.From, false, 0
	d.old, d.older = s.Current, s.Current
	return c
}

// read takes up a reading and the currents at which it stays as it is.
func (d *Detector) read(r State) {
	t := d.thresholds
	d.reading = r
	switch r {
	case Stopped:
		d.least, d.most = 1-t.Runs, t.Runs-1
	case Opening:
		d.least, d.most = t.Stops, math.MaxInt64
	case Closing:
		d.least, d.most = math.MinInt64, -t.Stops
	default: // between two thresholds on either side of zero: no one stretch
		d.least, d.most = 1, 0
	}
}

// reading reads one current, given the reading before it.
func (t Thresholds) reading(before State, c signal.Current) State {
	switch {
	case c >= t.Runs, before == Opening && c >= t.Stops:
		return Opening
	case c <= -t.Runs, before == Closing && c <= -t.Stops:
		return Closing
	case before == Unknown && (c >= t.Stops || c <= -t.Stops):
		return Unknown
	}
	return Stopped
}
