package rule_test

import (
	"time"

	"pintle/rig/motion"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// This file is an evaluator that knows nothing of the monitors: it holds a whole
// trace in its hands and tries the definitions of the patterns instant by
// instant. All changes lie on steps. Of each step it looks at two instants: the
// step itself (an even tick), and one (an odd tick) that stands for all instants
// between that step and the next, in which nothing changes.

const (
	step = 1000 * time.Nanosecond
	tick = step / 2
)

// change is one line's or the motor's change at an exact instant.
type change struct {
	at      signal.Instant
	isMotor bool
	line    signal.Line
	level   signal.Level
	state   motion.State
}

// world is all that happens in a trial. Its changes lie at whole steps, its end
// half a step after one, so that no deadline falls upon the end.
type world struct {
	lines   [signal.LineCount]signal.Level
	motor   motion.State
	changes []change
	end     signal.Instant
}

// picture is what is so at one tick.
type picture struct {
	lines [signal.LineCount]signal.Level
	motor motion.State
}

// brute is a world spread out over its ticks.
type brute struct {
	at    []picture
	steps []signal.Instant // what the even ticks stand for
	end   signal.Instant
}

func newBrute(w world) brute {
	var steps []signal.Instant
	for at := signal.Instant(0); at <= w.end; at += signal.Instant(step) {
		steps = append(steps, at)
	}
	return newBruteOn(w, steps)
}

// newBruteOn looks at steps that need not be equally long. They begin with the
// origin and hold each instant up to the end at which something changes. What is so
// at the very end is taken to go on for a moment, as it is anywhere else.
func newBruteOn(w world, steps []signal.Instant) brute {
	b := brute{end: w.end, steps: steps}
	now := picture{w.lines, w.motor}
	for _, at := range steps {
		for _, c := range w.changes {
			switch {
			case c.at != at:
			case c.isMotor:
				now.motor = c.state
			default:
				now.lines[c.line] = c.level
			}
		}
		b.at = append(b.at, now, now)
	}
	return b
}

// first and last bound the instants that tick i stands for.
func (b brute) first(i int) int64 { return int64(b.steps[i/2]) }
func (b brute) last(i int) int64 {
	if i = (i + 1) / 2; i < len(b.steps) {
		return int64(b.steps[i])
	}
	return int64(b.end)
}

// is says whether the state of a condition is so at tick i.
func (b brute) is(c rule.Condition, i int) bool {
	for _, clause := range c.Any {
		all := true
		for _, t := range clause {
			var so bool
			switch t.Kind {
			case rule.LineIs:
				so = b.at[i].lines[t.Line] == t.Level
			case rule.MotorIs:
				so = b.at[i].motor == t.State
			}
			all = all && so != t.Not
		}
		if all {
			return true
		}
	}
	return false
}

// holds says whether a condition holds at tick i.
func (b brute) holds(c rule.Condition, i int) bool {
	if c.Becomes {
		return i > 0 && b.is(c, i) && !b.is(c, i-1)
	}
	return b.is(c, i)
}

// segment is the ticks from and up to, without, to. Closed says that R came at
// to; otherwise the trial ended there.
type segment struct {
	from, to int
	closed   bool
}

// segments gives the parts of the trial in which a rule applies.
func (b brute) segments(s rule.Scope) []segment {
	n := len(b.at)
	switch s.Kind {
	case rule.Globally:
		return []segment{{0, n, false}}
	case rule.Before:
		for i := range n {
			if b.holds(s.R, i) {
				if i == 0 {
					return nil // nothing lies before the origin
				}
				return []segment{{0, i, true}}
			}
		}
		return nil
	case rule.After:
		for i := range n {
			if b.holds(s.Q, i) {
				return []segment{{i, n, false}}
			}
		}
		return nil
	}
	return b.repeated(s)
}

// repeated opens a segment at each tick at which Q holds and R does not, unless
// one is open, as the formula []((Q & !R & ...) -> (... U R)) has it.
func (b brute) repeated(s rule.Scope) []segment {
	var list []segment
	from := -1
	for i := range b.at {
		switch {
		case from < 0 && b.holds(s.Q, i) && !b.holds(s.R, i):
			from = i
		case from >= 0 && b.holds(s.R, i):
			list = append(list, segment{from, i, true})
			from = -1
		}
	}
	if from >= 0 && s.Kind == rule.AfterUntil {
		list = append(list, segment{from, len(b.at), false})
	}
	return list
}

// outcome is what one occurrence came to. Known says that value is what a
// complete measurement of it gives.
type outcome struct {
	verdict rule.Verdict
	value   int64
	known   bool
}

var (
	passed = outcome{verdict: rule.Pass}
	failed = outcome{verdict: rule.Fail}
	open   = outcome{verdict: rule.Inconclusive}
)

func verdictIf(ok bool) outcome {
	if ok {
		return passed
	}
	return failed
}

func atMost(value, limit int64) outcome {
	o := verdictIf(value <= limit)
	o.value, o.known = value, true
	return o
}

func atLeast(value, limit int64) outcome {
	o := verdictIf(value >= limit)
	o.value, o.known = value, true
	return o
}

// judge gives every occurrence of a rule in all its segments. None at all means
// that the rule was never put to the test.
func (b brute) judge(r rule.Rule) []outcome {
	var all []outcome
	for _, s := range b.segments(r.Scope) {
		all = append(all, b.occurrences(r, s)...)
	}
	return all
}

// worst gives the verdict of all occurrences together.
func worst(all []outcome) rule.Verdict {
	worst := rule.Inconclusive
	for i, o := range all {
		if i == 0 || rule.Worst(worst, o.verdict) != worst {
			worst = o.verdict
		}
	}
	return worst
}

func (b brute) occurrences(r rule.Rule, s segment) []outcome {
	switch r.Pattern {
	case rule.Absence:
		return []outcome{verdictIf(b.count(r.P, s) == 0)}
	case rule.Universality:
		return []outcome{verdictIf(b.count(r.P, s) == s.to-s.from)}
	case rule.Existence:
		return []outcome{verdictIf(b.count(r.P, s) > 0)}
	case rule.BoundedExistence:
		return []outcome{atMost(int64(len(b.runs(r.P, s, true))), int64(r.Count))}
	case rule.Precedence:
		return b.precedence(r, s)
	case rule.Response:
		return b.response(r, s)
	case rule.MinimumDuration:
		return b.minimumDuration(r, s)
	case rule.MaximumDuration:
		return b.maximumDuration(r, s)
	case rule.BoundedRecurrence:
		return b.boundedRecurrence(r, s)
	case rule.BoundedResponse:
		return b.boundedResponse(r, s)
	case rule.BoundedInvariance:
		return b.boundedInvariance(r, s)
	}
	panic("no such pattern")
}

func (b brute) count(c rule.Condition, s segment) int {
	n := 0
	for i := s.from; i < s.to; i++ {
		if b.holds(c, i) {
			n++
		}
	}
	return n
}

// runs gives the longest stretches of ticks in a segment at all of which a
// condition holds, or does not.
func (b brute) runs(c rule.Condition, s segment, holds bool) []segment {
	var list []segment
	for i := s.from; i < s.to; i++ {
		if b.holds(c, i) != holds {
			continue
		}
		if n := len(list); n > 0 && list[n-1].to == i {
			list[n-1].to++
		} else {
			list = append(list, segment{i, i + 1, true})
		}
	}
	return list
}

// next gives the first tick from i on in the segment at which a condition holds,
// or does not; s.to where there is none.
func (b brute) next(c rule.Condition, s segment, i int, holds bool) int {
	for i < s.to && b.holds(c, i) != holds {
		i++
	}
	return i
}

func (b brute) precedence(r rule.Rule, s segment) []outcome {
	var all []outcome
	for i := s.from; i < s.to; i++ {
		if b.holds(r.P, i) {
			all = append(all, verdictIf(b.next(r.S, s, s.from, true) <= i))
		}
	}
	return all
}

func (b brute) response(r rule.Rule, s segment) []outcome {
	var all []outcome
	for i := s.from; i < s.to; i++ {
		if b.holds(r.P, i) {
			all = append(all, verdictIf(b.next(r.S, s, i, true) < s.to))
		}
	}
	return all
}

func (b brute) minimumDuration(r rule.Rule, s segment) []outcome {
	var all []outcome
	for _, run := range b.runs(r.P, s, true) {
		if run.from == 0 || b.holds(r.P, run.from-1) {
			continue // it did not begin here
		}
		o := atLeast(b.last(run.to-1)-b.first(run.from), int64(r.Limit))
		if run.to == s.to {
			o.known = false // cut off: all it can say is that it was long enough
			if o.verdict == rule.Fail {
				continue
			}
		}
		all = append(all, o)
	}
	return all
}

func (b brute) maximumDuration(r rule.Rule, s segment) []outcome {
	var all []outcome
	for _, run := range b.runs(r.P, s, true) {
		o := atMost(b.last(run.to-1)-b.first(run.from), int64(r.Limit))
		if run.to == s.to && !s.closed {
			o.known = false // it may go on
			if o.verdict == rule.Pass {
				o = open
			}
		}
		all = append(all, o)
	}
	return all
}

func (b brute) boundedRecurrence(r rule.Rule, s segment) []outcome {
	var all []outcome
	if b.holds(r.P, s.from) {
		all = append(all, atMost(0, int64(r.Limit))) // the gap from the segment's beginning
	}
	for _, gap := range b.runs(r.P, s, false) {
		o := atMost(b.last(gap.to-1)-b.first(gap.from), int64(r.Limit))
		if gap.to == s.to && !s.closed {
			o.known = false // it may go on
			if o.verdict == rule.Pass {
				continue
			}
		}
		all = append(all, o)
	}
	return all
}

func (b brute) boundedResponse(r rule.Rule, s segment) []outcome {
	var all []outcome
	for i := s.from; i < s.to; i++ {
		if !b.holds(r.P, i) {
			continue
		}
		answer := b.next(r.S, s, i, true)
		switch {
		case answer < s.to:
			all = append(all, atMost(b.first(answer)-b.first(i), int64(r.Limit)))
		case !s.closed && int64(b.end)-b.first(i) <= int64(r.Limit):
			all = append(all, open)
		default:
			all = append(all, failed)
		}
	}
	return all
}

func (b brute) boundedInvariance(r rule.Rule, s segment) []outcome {
	var all []outcome
	for i := s.from; i < s.to; i++ {
		if !b.holds(r.P, i) {
			continue
		}
		broken := b.next(r.S, s, i, false)
		switch {
		case broken == i:
			all = append(all, atLeast(0, int64(r.Limit)))
		case broken < s.to:
			all = append(all, atLeast(b.last(broken-1)-b.last(i), int64(r.Limit)))
		case s.closed || int64(b.end)-b.last(i) >= int64(r.Limit):
			all = append(all, passed)
		default:
			all = append(all, open)
		}
	}
	return all
}
