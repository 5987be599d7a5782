package rig

import (
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// A Witness is told what a worker does, as it happens. It is called by the goroutine
// that conducts, between two looks at the bench: it must neither wait for anybody nor
// take long, and what it does not keep is gone. A witness cannot change anything.
type Witness interface {
	// Begin says that a trial has been prepared. The supply is off.
	Begin(Beginning)
	// Rise says that the trial's origin has come: all instants count from here.
	Rise(initial [signal.LineCount]signal.Level)
	// See tells of a sample or an edge. The observation is the conductor's own.
	See(o *Observation)
	// Settle says that nothing to come can change a rule's verdict. How far a value can
	// be trusted is worked out at the end, so one that lies near its limit may still come
	// out otherwise; rules that only the end of the trial settles are told by End alone.
	Settle(rule int, v rule.Verdict, at signal.Instant)
	// End gives the outcome, which is the conductor's own as well.
	End(o *Outcome)
}

// A Beginning is a trial that is about to be performed.
type Beginning struct {
	Scenario int // index into the run's scenarios
	Trial    int // from 1
	Trials   int // of this scenario, at most
	Day      Day
}

// attending is what a conductor keeps for its witness.
type attending struct {
	witness Witness // nil: nobody looks
	told    uint64  // rules that have been told of, one bit each; those from the 65th on are told by End alone
}

// Attend lets a witness look from the next trial on.
func (c *Conductor) Attend(w Witness) { c.witness = w }

// show tells the witness what was seen last, and now and then what it settled.
func (c *Conductor) show() {
	if c.seen.Kind == Reached {
		return
	}
	c.witness.See(&c.seen)
	if c.seen.Kind == Sampled && c.samples%settledEvery != 0 {
		return
	}
	for i := range min(len(c.rules), 64) {
		if c.told&(1<<i) != 0 {
			continue
		}
		if v := c.judgement.told(i); v != rule.Unsettled {
			c.told |= 1 << i
			c.witness.Settle(i, v, c.now())
		}
	}
}
