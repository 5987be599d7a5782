package rule

import (
	"errors"
	"fmt"

	"pintle/rig/signal"
)

// needs says which fields a pattern uses.
type needs struct {
	p, s, limit, count, current, window bool
	heating                             bool
	stateP, stateS                      bool // an event makes no sense there
	make                                func() body
}

var needsOf = map[Pattern]needs{
	Absence:           {p: true, make: func() body { return &overlap{bad: true} }},
	Universality:      {p: true, stateP: true, make: func() body { return &overlap{bad: true, negate: true} }},
	Existence:         {p: true, make: func() body { return &overlap{} }},
	BoundedExistence:  {p: true, count: true, make: func() body { return &counting{} }},
	Precedence:        {p: true, s: true, make: func() body { return &precedence{} }},
	Response:          {p: true, s: true, make: func() body { return &response{} }},
	MinimumDuration:   {p: true, limit: true, stateP: true, make: func() body { return &duration{} }},
	MaximumDuration:   {p: true, limit: true, stateP: true, make: func() body { return &duration{most: true} }},
	BoundedRecurrence: {p: true, limit: true, make: func() body { return &recurrence{} }},
	BoundedResponse:   {p: true, s: true, limit: true, make: func() body { return &response{} }},
	BoundedInvariance: {p: true, s: true, limit: true, stateS: true, make: func() body { return &invariance{} }},
	CurrentUnder:      {current: true, make: func() body { return &extreme{} }},
	CurrentOver:       {current: true, make: func() body { return &extreme{over: true} }},
	AverageUnder:      {current: true, window: true, make: func() body { return &average{} }},
	AverageOver:       {current: true, window: true, make: func() body { return &average{over: true} }},
	ThermalLoad:       {heating: true, make: func() body { return &heat{} }},
}

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
	n, ok := needsOf[r.Pattern]
	if !ok {
		wrong("there is no %v", r.Pattern)
		return errors.Join(errs...)
	}
	n.complain(r, wrong)
	c := &check{rule: r, judge: m.judge, body: n.make()}
	_, ordered := c.body.(manifold)
	m.conditions(c, n, ordered, wrong)
	if len(errs) > 0 {
		return errors.Join(errs...)
	}
	m.enlist(c, ordered)
	return nil
}

// conditions compiles what a check listens to, and complains of what it lacks.
func (m *Monitor) conditions(c *check, n needs, ordered bool, wrong func(format string, a ...any)) {
	r := c.rule
	for _, want := range []struct {
		name      string
		condition Condition
		needed    bool
		to        **cond
		negate    bool
	}{
		{"what it is about", r.P, n.p, &c.p, r.Pattern == Universality},
		{"a second condition", r.S, n.s, &c.s, false},
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
func (n needs) complain(r *Rule, wrong func(string, ...any)) {
	if n.limit && r.Limit <= 0 {
		wrong("its limit of %v is not positive", r.Limit)
	}
	if n.count && r.Count < 0 {
		wrong("its count of %d is negative", r.Count)
	}
	if n.current && r.Current < 0 {
		wrong("its current of %v is negative", r.Current)
	}
	if n.window && r.Window <= 0 {
		wrong("its window of %v is not positive", r.Window)
	}
	if h := r.Heating; n.heating && (h.Curve.Continuous <= 0 || h.Curve.Constant <= 0 || h.Start < 0 || h.Most <= 0) {
		wrong("it lacks what its part stands, or loads that can be: %+v", h)
	}
	if n.stateP && r.P.Becomes {
		wrong("%q is an event, and a %v needs something that lasts", r.P.Text, r.Pattern)
	}
	if n.stateS && r.S.Becomes {
		wrong("%q is an event, and a %v needs something that lasts", r.S.Text, r.Pattern)
	}
	if r.Scope.Kind > AfterUntil {
		wrong("there is no scope %d", r.Scope.Kind)
	}
}

func (c *check) limit() (Sense, int64) { return LimitOf(c.rule) }

// LimitOf gives the sense and the limit of a rule that measures, in the unit of its
// findings.
func LimitOf(r *Rule) (Sense, int64) {
	switch r.Pattern {
	case BoundedExistence:
		return AtMost, int64(r.Count)
	case MinimumDuration, BoundedInvariance:
		return AtLeast, int64(r.Limit)
	case MaximumDuration, BoundedRecurrence, BoundedResponse:
		return AtMost, int64(r.Limit)
	case CurrentUnder, AverageUnder:
		return AtMost, int64(r.Current)
	case CurrentOver, AverageOver:
		return AtLeast, int64(r.Current)
	case ThermalLoad:
		return AtMost, r.Heating.Most
	}
	return NoSense, 0
}
