package appraise

import (
	"time"

	"pintle/rig/motion"
	"pintle/rig/rule"
	"pintle/rig/signal"
)

// A Reach is how well a bench can measure what a rule asks for, at its limit.
type Reach struct {
	Rule     *rule.Rule
	Unit     rule.Unit
	Sense    rule.Sense
	Limit    int64
	Expanded int64 // the expanded uncertainty of a value at the limit
	Guard    int64 // the guard band that the decision rule makes of it
}

// Share is the guard band as a part of the limit: from 1 on nothing can be passed
// or nothing failed, so the rule cannot be decided.
func (r Reach) Share() float64 {
	if r.Limit == 0 {
		return 0
	}
	return float64(r.Guard) / float64(magnitude(r.Limit))
}

// Decidable says that there are values that the decision rule passes and others that
// it fails.
func (r Reach) Decidable() bool { return r.Share() < 1 }

// Reach tells the best uncertainty that the bench can reach for a rule, before
// anything is measured: edges as they are planned, a motor that goes over from
// nothing to its running current or back. It is not ok for a rule that measures
// nothing or only counts.
func (a *Appraiser) Reach(r *rule.Rule, running signal.Current) (reach Reach, ok bool) {
	unit := rule.UnitOf(r.Pattern)
	if unit == rule.NoUnit || unit == rule.Times {
		return Reach{}, false
	}
	sense, limit := rule.LimitOf(r)
	m := rule.Measured{Rule: r, Value: rule.Interval{Least: limit, Most: limit}, Limit: limit, Sense: sense}
	t := a.Trial()
	if unit == rule.Nanoseconds {
		from, to := ends(r)
		m.Decided[0] = t.planned(from, 0, running)
		m.Decided[1] = t.planned(to, signal.Instant(limit)+1, running)
	}
	_, lines := t.terms(m)
	if len(lines) == 0 {
		return Reach{Rule: r, Unit: unit, Sense: sense, Limit: limit}, true
	}
	e, err := a.memo.Evaluate(a.budget(r.Name, unit.Symbol(), float64(limit), lines))
	if err != nil {
		return Reach{}, false
	}
	x, err := e.Reading()
	if err != nil {
		return Reach{}, false
	}
	reach = Reach{Rule: r, Unit: unit, Sense: sense, Limit: limit, Expanded: max(x.High-x.Value, x.Value-x.Low)}
	reach.Guard = reach.Expanded * int64(a.decision.Rule.GuardPercent) / 100
	return reach, true
}

// An end is what a duration begins or ends with.
type end uint8

const (
	anEdge end = iota
	aStart
	aStop
	aReading
)

// ends tells what the duration that a rule limits goes from and to.
func ends(r *rule.Rule) (from, to end) {
	turns := r.Pattern.Info().Turns
	return turn(r, turns[0]), turn(r, turns[1])
}

func turn(r *rule.Rule, t rule.Turn) end {
	if t.Of == rule.PartS {
		return kind(r.S, t.Ends)
	}
	return kind(r.P, t.Ends)
}

// kind is what a condition's coming, or its ending, is seen by. Of several the
// least certain counts.
func kind(c rule.Condition, ending bool) end {
	worst := anEdge
	for _, terms := range c.Any {
		for _, t := range terms {
			switch {
			case t.Kind == rule.CurrentAbove:
				return aReading
			case t.Kind == rule.MotorIs && (t.State == motion.Stopped) != t.Not != ending:
				worst = aStop
			case t.Kind == rule.MotorIs:
				worst = aStart
			}
		}
	}
	return worst
}

// planned gives an end as the bench would see it, and lets the trial know of the
// motor's change.
func (t *Trial) planned(e end, at signal.Instant, running signal.Current) signal.Span {
	if e == anEdge {
		return signal.At(at)
	}
	m := &t.means
	s := signal.Span{Early: at, Late: at.Add(m.Interval + m.Window + m.Most - m.Least + m.Bridge)}
	switch e {
	case aStart:
		t.Motor(motion.Change{Was: motion.Stopped, Is: motion.Opening, Span: s, After: running, Levels: true, Readings: 1})
	case aStop:
		t.Motor(motion.Change{Was: motion.Opening, Is: motion.Stopped, Span: s, Before: running, Levels: true, Readings: 1})
	}
	return s
}

// A Remedy is a change of the bench with which a rule could be decided.
type Remedy struct {
	What string
	By   time.Duration // the figure that it takes, or less; 0: none
}

// Remedies tells what would let the bench decide a rule that it cannot decide now,
// each by itself: a shorter interval of the meter, a steadier delay, or a line that
// senses the drive.
func (a *Appraiser) Remedies(r *rule.Rule, running signal.Current) []Remedy {
	var all []Remedy
	try := func(what string, from time.Duration, change func(m *Means, d time.Duration)) {
		for d := from / 2; d >= 50*time.Microsecond; d /= 2 {
			m := a.means
			change(&m, d)
			if a.with(m).decides(r, running) {
				all = append(all, Remedy{what, d})
				return
			}
		}
	}
	try("a meter that reads every", a.means.Interval, func(m *Means, d time.Duration) {
		m.Interval, m.Window = d, min(m.Window, d)
	})
	delay := a.means.Most - a.means.Least + a.means.Bridge
	try("a meter delay that wavers by no more than", delay, func(m *Means, d time.Duration) { m.Most, m.Bridge = m.Least+d, 0 })
	if len(all) == 0 {
		try("a meter that reads so often, with a delay that wavers by no more than", max(a.means.Interval, delay), func(m *Means, d time.Duration) {
			m.Interval, m.Window, m.Most, m.Bridge = d, min(m.Window, d), m.Least+d, 0
		})
	}
	if rule.UnitOf(r.Pattern) == rule.Nanoseconds {
		all = append(all, Remedy{What: "a line that senses the controller's drive outputs"})
	}
	return all
}

func (a *Appraiser) with(m Means) *Appraiser {
	return &Appraiser{means: m, decision: a.decision, memo: a.memo}
}

func (a *Appraiser) decides(r *rule.Rule, running signal.Current) bool {
	reach, ok := a.Reach(r, running)
	return ok && reach.Decidable()
}
