package rig

import (
	"fmt"
	"time"

	"pintle/rig/signal"
)

// A script is the place in a scenario's steps that a trial has come to.
type script struct {
	steps   []Step
	rounds  int            // how often they are still to be performed after this time
	next    int            // the step that is under way, or comes next
	begun   bool           // it is under way
	awaited int            // how many Await steps came before it
	since   signal.Instant // when it began
	until   signal.Instant // when it has to be looked at again, whatever the bench sees
	failed  string         // why the rest of the script was not performed
}

func (s *script) reset(steps []Step, repeat int) {
	*s = script{steps: steps, rounds: max(repeat, 1) - 1, until: signal.Never}
}

func (s *script) left() bool { return s.next < len(s.steps) }

// abandon gives the script up. The mark lets the trace tell of it too.
func (s *script) abandon(c *Conductor, why string) {
	c.mark(markAbandoned + why)
	s.failed, s.next, s.rounds, s.until = why, len(s.steps), 0, signal.Never
}

// begin puts the supply on and waits for the controller to wake, unless the
// script puts it on itself.
func (s *script) begin(c *Conductor) {
	now := c.now().Add(c.facts.Lead)
	if s.switchesOn() {
		s.until = now
		return
	}
	c.lines.drive(signal.Supply, signal.Edge{At: now, Level: signal.Made})
	c.mark("supply on")
	s.until = now.Add(c.job.Settle + c.day.Wait)
}

// switchesOn says whether the first thing that the script does to the supply is to
// put it on: then it has to be off until then.
func (s *script) switchesOn() bool {
	for _, step := range s.steps {
		if step.Kind == Drive && step.Line == signal.Supply {
			return step.Level == signal.Made
		}
	}
	return false
}

// due says whether there may be something to do now.
func (s *script) due(c *Conductor) bool {
	if !s.left() {
		return false
	}
	if s.begun && s.steps[s.next].Kind == Await {
		if _, met := c.watch.Met(); met {
			return true
		}
	}
	return c.at >= s.until
}

// advance performs steps until one has to be waited for. It says whether any line
// got a new future.
func (s *script) advance(c *Conductor) bool {
	changed := false
	for s.left() {
		step := &s.steps[s.next]
		if !s.begun {
			changed = s.start(c, step) || changed
		}
		if !s.done(c, step) {
			return changed
		}
		s.next, s.begun = s.next+1, false
		if step.Kind == Await {
			s.awaited++
		}
		if !s.left() && s.rounds > 0 {
			s.rounds, s.next, s.awaited = s.rounds-1, 0, 0
		}
	}
	s.until = signal.Never
	return changed
}

// start begins a step. It says whether a line got a new future.
func (s *script) start(c *Conductor, step *Step) bool {
	now := c.now()
	s.begun, s.since, s.until = true, now, now
	c.mark(step.Text)
	switch step.Kind {
	case Drive:
		at := now.Add(c.facts.Lead) + 1
		edges := []signal.Edge{{At: at, Level: step.Level}}
		if step.For > 0 {
			edges = append(edges, signal.Edge{At: at.Add(step.For), Level: step.Level.Not()})
		}
		c.lines.scripted |= signal.SetOf(step.Line)
		c.lines.drive(step.Line, edges...)
		s.until = at
		return true
	case Await:
		c.watch.Arm(s.awaited)
		s.until = now.Add(step.Within + c.blindness())
	case Wait:
		s.until = now.Add(step.For)
	case Obstruct:
		c.gate.Obstruct(step.At, now)
		c.lines.follow(c.gate, now)
		return true
	case Clear:
		c.gate.Clear(now)
		c.lines.follow(c.gate, now)
		return true
	}
	return false
}

// blindness is how long after a change the conductor can be sure to know of it:
// the meter's own delay, and the time that a change must last to count.
func (c *Conductor) blindness() time.Duration {
	m := c.facts.Meter
	return m.Window + m.Most + 2*m.Interval + c.job.Motion.Settle
}

// done says whether a step that has begun is over. An awaited condition that did
// not come in time ends the script.
func (s *script) done(c *Conductor, step *Step) bool {
	now := c.now()
	if step.Kind != Await {
		return now >= s.until
	}
	span, met := c.watch.Met()
	if met && span.Early <= s.since.Add(step.Within) {
		s.until = now
		return true
	}
	if met || now >= s.until {
		s.abandon(c, fmt.Sprintf("the script ended at %q: %s did not come within %v", step.Text, step.Condition.Text, step.Within))
	}
	return false
}
