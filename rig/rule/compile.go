package rule

import (
	"errors"
	"fmt"

	"pintle/rig/signal"
)

// Compile prepares rules for monitoring. A nil judge is BySpan. The error tells
// of all rules that cannot be.
func Compile(rules []Rule, judge Judge) (*Monitor, error) {
	if judge == nil {
		judge = bySpan
	}
	m := &Monitor{rules: rules, judge: judge}
	m.changed, m.heard = m.change, m.hear
	var errs []error
	for i := range rules {
		if err := m.compile(&rules[i]); err != nil {
			errs = append(errs, err)
		}
	}
	if len(errs) > 0 {
		return nil, errors.Join(errs...)
	}
	m.Begin(0, [signal.LineCount]signal.Level{}, 0)
	return m, nil
}

func (m *Monitor) compile(r *Rule) error {
	var errs []error
	wrong := func(format string, a ...any) {
		errs = append(errs, fmt.Errorf("%s: rule %q: "+format, append([]any{r.Source, r.Name}, a...)...))
	}
	info := r.Pattern.Info()
	if info.make == nil {
		wrong("there is no %v", r.Pattern)
		return errors.Join(errs...)
	}
	info.complain(r, wrong)
	c := newCheck(r, m.judge)
	_, ordered := c.body.(manifold)
	m.conditions(c, ordered, wrong)
	if len(errs) > 0 {
		return errors.Join(errs...)
	}
	m.enlist(c, ordered)
	return nil
}

// conditions compiles what a check listens to, and complains of what it lacks.
func (m *Monitor) conditions(c *check, ordered bool, wrong func(format string, a ...any)) {
	r := c.rule
	for _, want := range []struct {
		name      string
		condition Condition
		needed    bool
		to        **cond
		negate    bool
	}{
		{"what it is about", r.P, c.info.Has(PartP), &c.p, c.info.negate},
		{"a second condition", r.S, c.info.Has(PartS), &c.s, false},
		{"a condition that opens its scope", r.Scope.Q, r.Scope.Kind >= After, &c.q, false},
		{"a condition that closes its scope", r.Scope.R, r.Scope.Kind == Before || r.Scope.Kind >= Between, &c.r, false},
	} {
		if !want.needed {
			continue
		}
		if want.condition.IsZero() {
			wrong("it lacks %s", want.name)
			continue
		}
		add := m.add
		if ordered {
			add = m.vocabulary.compile
		}
		compiled, err := add(want.condition, want.negate)
		if err != nil {
			wrong("%w", err)
		}
		*want.to = compiled
	}
}

// enlist puts a check where it hears of what concerns it.
func (m *Monitor) enlist(c *check, ordered bool) {
	m.rows = append(m.rows, newOrders(c, ordered))
	if !ordered {
		m.direct = append(m.direct, c)
	}
	switch c.body.(type) {
	case *extreme:
		m.extremes = append(m.extremes, c)
	case *average:
		w := m.slide(signal.Instant(c.rule.Window))
		w.users = append(w.users, c)
	case *heat:
		m.heated = append(m.heated, c)
	}
	m.taping = len(m.extremes)+len(m.slides)+len(m.heated) > 0
}

// slide gives the window of a length.
func (m *Monitor) slide(length signal.Instant) *slide {
	for _, w := range m.slides {
		if w.length == length {
			return w
		}
	}
	w := &slide{length: length}
	m.slides = append(m.slides, w)
	return w
}

// complain says which figures of a rule cannot be.
func (i *PatternInfo) complain(r *Rule, wrong func(string, ...any)) {
	if i.Has(PartLimit) && r.Limit <= 0 {
		wrong("its limit of %v is not positive", r.Limit)
	}
	if i.Has(PartCount) && r.Count < 0 {
		wrong("its count of %d is negative", r.Count)
	}
	if i.Has(PartCurrent) && r.Current < 0 {
		wrong("its current of %v is negative", r.Current)
	}
	if i.Has(PartWindow) && r.Window <= 0 {
		wrong("its window of %v is not positive", r.Window)
	}
	if h := r.Heating; i.Has(PartLoad) && (h.Curve.Continuous <= 0 || h.Curve.Constant <= 0 || h.Start < 0 || h.Most <= 0) {
		wrong("it lacks what its part stands, or loads that can be: %+v", h)
	}
	for _, c := range []struct {
		part Part
		Condition
	}{{PartP, r.P}, {PartS, r.S}} {
		if i.State == c.part && c.Becomes {
			wrong("%q is an event, and a %v needs something that lasts", c.Text, r.Pattern)
		}
	}
	if r.Scope.Kind > AfterUntil {
		wrong("there is no scope %d", r.Scope.Kind)
	}
}

func (c *check) limit() (Sense, int64) { return LimitOf(c.rule) }

// LimitOf gives the sense and the limit of a rule that measures, in the unit of its
// findings.
func LimitOf(r *Rule) (Sense, int64) {
	switch i := r.Pattern.Info(); i.Unit {
	case Times:
		return i.Sense, int64(r.Count)
	case Nanoseconds:
		return i.Sense, int64(r.Limit)
	case Microamperes:
		return i.Sense, int64(r.Current)
	case Millionths:
		return i.Sense, r.Heating.Most
	}
	return NoSense, 0
}
