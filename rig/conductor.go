package rig

import (
	"errors"
	"fmt"
	"sync/atomic"
	"time"

	"pintle/rig/gate"
	"pintle/rig/motion"
	"pintle/rig/signal"
)

// A Conductor performs trials on one bench, one after another. It is used by one
// goroutine and keeps its memory from trial to trial.
type Conductor struct {
	job   *Job
	bench Bench
	facts Facts
	stop  *atomic.Bool // set from outside to end the present trial
	brief bool         // the samples are judged and not kept

	cast map[*Scenario]*part // what has been prepared for each scenario
	attending

	// Of the present trial:
	*part
	guard    guarding
	seen     Observation
	since    signal.Instant // when it was prepared, as the bench counts: its readings begin no earlier
	origin   signal.Instant
	seed     uint64
	day      Day
	gate     *gate.Model
	lines    futures
	sensed   [signal.LineCount]signal.Level // by the bench, before the origin
	owed     owing
	trace    signal.Trace
	samples  int  // since the origin
	sags     bool // the supply does
	dips     bool
	raised   bool // the trial has begun
	script   script
	at       signal.Instant // when the bench last saw something
	latest   signal.Instant // when the trial ends in any case
	end      signal.Instant // after the script: when the trial may end; Never before
	trouble  *BenchTrouble
	readings readings
}

// NewConductor makes a conductor for a bench. Setting stop ends the present trial
// as void.
func NewConductor(job *Job, bench Bench, facts Facts, stop *atomic.Bool) *Conductor {
	return &Conductor{job: job, bench: bench, facts: facts, stop: stop, cast: map[*Scenario]*part{}}
}

// Brief makes the conductor judge the samples of a trial without keeping them in
// its trace, for those who want nothing but verdicts.
func (c *Conductor) Brief() { c.brief = true }

// patience bounds one wait for the bench, so that a request to stop is heeded: with
// what the bench itself needs, the supply is off within 50 ms of it.
const patience = 20 * time.Millisecond

// Perform performs one trial of a scenario. An error is one of the program or of
// the scenario; whatever is wrong with the bench makes the trial void instead.
// The bench is left safe in every case. The outcome's trace is valid until the
// next call.
func (c *Conductor) Perform(s *Scenario, seed uint64, day Day) (Outcome, error) {
	if err := c.prepare(s, seed, day); err != nil {
		return Outcome{}, err
	}
	err := c.perform()
	took := c.now().Sub(0)
	if safe := c.bench.Safe(); safe != nil {
		err = errors.Join(err, fmt.Errorf("make the bench safe after a trial of %s: %w", s.Name, safe))
	}
	if err != nil {
		c.trouble = &BenchTrouble{"bench-failed", err.Error()}
	}
	return c.outcome(took), nil
}

// perform sets the stage, waits for the meter, puts the supply on and follows the
// script until all has been settled.
func (c *Conductor) perform() error {
	if err := c.setStage(); err != nil {
		return err
	}
	if ok, err := c.awaitMeter(); !ok || err != nil {
		return err
	}
	c.raise()
	if err := c.tell(); err != nil {
		return err
	}
	for !c.over() {
		if err := c.step(); err != nil {
			return err
		}
	}
	return nil
}

// setStage gives each line the level that it has before the supply comes on.
func (c *Conductor) setStage() error {
	for _, l := range c.gate.Lines() {
		c.lines.clean[l].Initial = c.gate.Level(l, 0)
	}
	return c.tell()
}

// longestUnknown is how long a motor without supply may take to be known to stand.
const longestUnknown = 10 * time.Second

// awaitMeter waits until the meter has told what the motor does, and until the
// controller has been off for as long as it needs to forget.
func (c *Conductor) awaitMeter() (bool, error) {
	c.judgement.reset([signal.LineCount]signal.Level{})
	rest := signal.Instant(max(c.job.Rest, c.facts.Lead))
	for (c.detector.State() == motion.Unknown || c.now() < rest) && c.trouble == nil {
		if err := c.see(); err != nil {
			return false, err
		}
		if c.trouble == nil && c.now() > rest.Add(longestUnknown) {
			c.trouble = &BenchTrouble{"motor-unknown", fmt.Sprintf("with the supply off the current has been such for %v that nobody can say whether the motor runs: it is neither below %v nor above %v; check the meter's zero", longestUnknown, c.job.Motion.Stops, c.job.Motion.Runs)}
		}
		switch {
		case c.trouble != nil:
		case c.seen.Kind == Sampled:
			c.detector.Sample(c.seen.Sample)
			c.trace.Samples = append(c.trace.Samples, c.seen.Sample)
		case c.seen.Kind == Sensed:
			c.sensed[c.seen.Line] = c.seen.Level
		}
	}
	return c.trouble == nil, nil
}

// raise makes the present instant the origin of the trial. What the meter said
// before it stays in the trace at negative instants.
func (c *Conductor) raise() {
	shift := c.now()
	c.sink()
	c.origin += shift
	c.raised = true
	// Samples are counted from here on, across the origin as well.
	if n := len(c.trace.Samples); n > 0 {
		c.readings.begin(c.trace.Samples[n-1].From)
	}
	for l := range c.lines.bent {
		c.trace.Initial[l] = c.lines.bent[l].Initial
		c.lines.told[l], c.lines.toldAt[l] = c.lines.told[l][:0], 0
		if c.trace.Initial[l] == signal.Made {
			c.lines.told[l] = append(c.lines.told[l], signal.Edge{Level: signal.Made})
		}
		if !signal.Line(l).Info().Driven {
			c.trace.Initial[l] = c.sensed[l]
		}
	}
	c.owed.forget()
	for l := range signal.Line(signal.LineCount) {
		c.owe(l)
	}
	c.judgement.reset(c.trace.Initial)
	for _, s := range c.trace.Samples {
		c.judgement.sample(s)
	}
	if c.told = 0; c.witness != nil {
		c.witness.Rise(c.trace.Initial)
	}
	c.script.begin(c)
}

// step takes one observation from the bench, or the coming of an instant.
func (c *Conductor) step() error {
	err := c.see()
	if err != nil || c.trouble != nil {
		return err
	}
	switch c.seen.Kind {
	case Sampled:
		err = c.sample(c.seen.Sample)
	case Emitted, Sensed:
		c.edge(&c.seen)
		err = c.weaken(&c.seen)
	}
	if c.witness != nil {
		c.show()
	}
	if err != nil || !c.script.due(c) {
		return err
	}
	return c.follow()
}

// follow goes on in the script as far as it can now.
func (c *Conductor) follow() error {
	if !c.script.advance(c) {
		return nil
	}
	return c.tell()
}

// see waits for the bench, no longer than until something has to be done, and
// keeps what it saw. Nothing passes the guard unseen.
func (c *Conductor) see() error {
	if c.stop != nil && c.stop.Load() {
		c.trouble = &BenchTrouble{"interrupted", "the run was interrupted"}
		return nil
	}
	until := min(c.now().Add(patience), c.script.until)
	o := &c.seen
	var err error
	if *o, err = c.bench.Next(until + c.origin); err != nil {
		return fmt.Errorf("wait for the bench until %v: %w", until, err)
	}
	c.at = c.now()
	if o.Kind == Sampled && !c.raised && o.Sample.From < c.since { // of before the trial, for all that is known
		c.guard.hears(&o.Sample)
		*o = Observation{Kind: Reached, Span: signal.At(c.at)}
		c.overdue()
		return nil
	}
	t := c.guard.look(o)
	if t == nil && o.Kind == Sampled {
		t = c.readings.overRange(o.Sample.Current)
	}
	if t != nil {
		return c.trip(t)
	}
	c.take(o)
	c.overdue()
	return nil
}

// take counts the instants of what was seen from the trial's origin, and notes what the
// bench has done or could not do.
func (c *Conductor) take(o *Observation) {
	switch o.Kind {
	case Sampled:
		o.Sample.From -= c.origin
		o.Sample.To -= c.origin
	case Trouble:
		c.trouble = o.Trouble
	default:
		o.Span.Early -= c.origin
		o.Span.Late -= c.origin
		o.Planned -= c.origin
		if o.Kind == Emitted {
			c.owed.emitted(o)
			c.owe(o.Line)
		}
	}
}

// trip makes the bench safe before anything else is done.
func (c *Conductor) trip(t *BenchTrouble) error {
	c.trouble = t
	if err := c.bench.Safe(); err != nil {
		return fmt.Errorf("make the bench safe after the guard tripped: %w", err)
	}
	return nil
}

func (c *Conductor) now() signal.Instant { return c.bench.Now() - c.origin }

// sample records a sample, and lets the gate follow a change of the motor.
func (c *Conductor) sample(s signal.Sample) error {
	if c.trouble = c.readings.next(&s); c.trouble != nil {
		return nil
	}
	if c.samples++; !c.brief {
		c.trace.Samples = append(c.trace.Samples, s)
	}
	if c.judgement.calm(s) {
		return nil
	}
	change, changed := c.judgement.sample(s)
	if !changed {
		return nil
	}
	c.gate.Motor(change.Is, change.Span.Mid())
	c.lines.follow(c.gate, c.now())
	return c.tell()
}

// edge records an edge, and holds the bench to its promise of being on time.
func (c *Conductor) edge(o *Observation) {
	if o.Kind == Emitted {
		due := max(o.Planned, c.lines.toldAt[o.Line].Add(c.facts.Lead))
		if late := o.Span.Late.Sub(due); late > c.facts.Late {
			c.trouble = &BenchTrouble{"edge-late", fmt.Sprintf(
				"the bench was late: %v %v came %v after it was due at %v, and at most %v is allowed", o.Line, o.Level, late, due, c.facts.Late)}
		}
	}
	e := signal.EdgeSeen{Line: o.Line, Level: o.Level, Span: o.Span}
	c.trace.Edges = append(c.trace.Edges, e)
	c.judgement.edge(e)
}

// weaken lets the gate know of a supply that is lower than usual: its motor is
// slower then. What the motor is seen doing does not tell.
func (c *Conductor) weaken(o *Observation) error {
	switch {
	case o.Line == signal.SupplySag && c.job.Sag > 0:
		c.sags = o.Level == signal.Made
	case o.Line == signal.SupplyDip && c.job.Dip > 0:
		c.dips = o.Level == signal.Made
	default:
		return nil
	}
	c.supply(o.Span.Mid())
	c.lines.follow(c.gate, c.now())
	return c.tell()
}

// supply tells the gate what the battery has left.
func (c *Conductor) supply(at signal.Instant) {
	share := 1.0
	if c.day.Varied {
		share = c.day.Battery
	}
	switch { // what comes in the battery's place is a supply of the bench, the same every day
	case c.dips:
		share = c.job.Dip
	case c.sags:
		share = c.job.Sag
	}
	c.gate.Supply(share, at)
}

// tell lets the faults at the lines and plans those whose future has changed.
func (c *Conductor) tell() error {
	c.lines.bend(c.faults, c.seed)
	now := c.now()
	for l := signal.Line(1); l < signal.LineCount; l++ {
		if !c.facts.Lines.Has(l) || !l.Info().Driven {
			continue
		}
		edges, changed := c.lines.news(l, now)
		if !changed {
			continue
		}
		shifted := c.lines.scratch[:0]
		for _, e := range edges {
			shifted = append(shifted, signal.Edge{At: e.At + c.origin, Level: e.Level})
		}
		c.lines.scratch = shifted
		if err := c.bench.Plan(l, shifted); err != nil {
			return fmt.Errorf("plan %v at %v: %w", l, now, err)
		}
		c.owe(l)
	}
	return nil
}

// over says whether the trial can end: the script is done and the meter has told
// of all up to its end and up to every deadline that was still open then.
func (c *Conductor) over() bool {
	if c.trouble != nil {
		return true
	}
	if c.decided() {
		c.mark(markSettled)
		return true
	}
	if c.script.left() {
		if c.at > c.latest {
			c.script.abandon(c, fmt.Sprintf("the trial was ended at its longest time of %v", c.job.Limit))
		}
		return false
	}
	if c.end == signal.Never {
		c.end = c.now()
		c.mark(markEnd)
	}
	final := c.final()
	if final < c.end {
		return false
	}
	return c.monitor.Pending() < final || c.at >= c.latest
}

// settledEvery is how many samples go by between one look at whether every rule
// is settled and the next.
const settledEvery = 64

// decided says that nothing which is still to come can change any verdict. The
// rest of the script is then bench time for nothing, and maybe a motor driven
// against a stop for nothing.
func (c *Conductor) decided() bool {
	if c.seen.Kind == Sampled && c.samples%settledEvery != 0 {
		return false
	}
	return c.judgement.began && len(c.scenario.Rules) > 0 && c.monitor.Settled()
}

// limit is the instant at which a trial ends in any case: the job's limit for
// each time that the script is performed.
func (c *Conductor) limit() signal.Instant {
	if c.job.Limit <= 0 {
		return signal.Never
	}
	return signal.Instant(c.job.Limit) * signal.Instant(max(c.scenario.Repeat, 1))
}

func (c *Conductor) mark(text string) {
	c.trace.Marks = append(c.trace.Marks, signal.Mark{At: c.now(), Text: text})
}

// outcome sums a trial up.
func (c *Conductor) outcome(took time.Duration) Outcome {
	if !c.raised {
		c.sink()
	}
	c.trace.End = max(c.final(), 0)
	o := Outcome{Seed: c.seed, Day: c.day, Took: took, Trace: &c.trace, Findings: c.appraised(c.trace.End, c.brief)}
	if c.trouble != nil {
		o.Troubles = append(o.Troubles, *c.trouble)
	}
	o.Verdict, o.Reason = verdict(c.scenario, o.Findings, c.script.failed, o.Troubles)
	return o
}

// sink puts all that was seen of a trial which never began before its origin, so that
// its trace does not read like one that did.
func (c *Conductor) sink() {
	shift := c.now()
	for i := range c.trace.Samples {
		c.trace.Samples[i].From -= shift
		c.trace.Samples[i].To -= shift
	}
}
