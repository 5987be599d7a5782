package scenarios

import (
	"fmt"
	"strings"

	"pintle/rig/rule"
	"pintle/rig/share"
	"pintle/scenarios/condition"
	"pintle/scenarios/quantity"
	"pintle/scenarios/yamlfile"
)

// A pattern is how one pattern is written: which of a rule's keys it uses, and
// how the rule is called where its file gives no name.
type pattern struct {
	p       func(*RuleFile) *condition.Condition
	s       func(*RuleFile) *condition.Condition
	limit   func(*RuleFile) *quantity.Formula // a time
	current func(*RuleFile) *quantity.Formula
	window  func(*RuleFile) *quantity.Formula
	load    func(*RuleFile) *quantity.Measure
	name    string // {p}, {s}, {limit}, {current}, {window}, {count} are put in
}

// patterns is the table of all patterns.
var patterns = map[rule.Pattern]pattern{
	rule.Absence:           {p: func(r *RuleFile) *condition.Condition { return &r.Absence }, name: "never: {p}"},
	rule.Universality:      {p: func(r *RuleFile) *condition.Condition { return &r.Universality }, name: "always: {p}"},
	rule.Existence:         {p: func(r *RuleFile) *condition.Condition { return &r.Existence }, name: "at some time: {p}"},
	rule.BoundedExistence:  {p: func(r *RuleFile) *condition.Condition { return &r.BoundedExistence }, name: "at most {count}: {p}"},
	rule.Precedence:        {p: func(r *RuleFile) *condition.Condition { return &r.Precedence }, s: onlyAfter, name: "{p} only after {s}"},
	rule.Response:          {p: func(r *RuleFile) *condition.Condition { return &r.Response }, s: then, name: "after {p}: {s}"},
	rule.MinimumDuration:   {p: func(r *RuleFile) *condition.Condition { return &r.MinimumDuration }, limit: is, name: "{p} for at least {limit}"},
	rule.MaximumDuration:   {p: func(r *RuleFile) *condition.Condition { return &r.MaximumDuration }, limit: is, name: "{p} for at most {limit}"},
	rule.BoundedRecurrence: {p: func(r *RuleFile) *condition.Condition { return &r.BoundedRecurrence }, limit: every, name: "{p} at least once every {limit}"},
	rule.BoundedResponse:   {p: func(r *RuleFile) *condition.Condition { return &r.BoundedResponse }, s: then, limit: within, name: "after {p}: {s} within {limit}"},
	rule.BoundedInvariance: {p: func(r *RuleFile) *condition.Condition { return &r.BoundedInvariance }, s: then, limit: forTime, name: "after {p}: {s} for at least {limit}"},
	rule.CurrentUnder:      {current: func(r *RuleFile) *quantity.Formula { return &r.CurrentUnder }, name: "current at most {current}"},
	rule.CurrentOver:       {current: func(r *RuleFile) *quantity.Formula { return &r.CurrentOver }, name: "current at least {current}"},
	rule.AverageUnder:      {current: func(r *RuleFile) *quantity.Formula { return &r.AverageUnder }, window: over, name: "mean current over {window} at most {current}"},
	rule.ThermalLoad:       {load: func(r *RuleFile) *quantity.Measure { return &r.ThermalUnder }, name: "thermal load of the {part} at most {load}"},
	rule.AverageOver:       {current: func(r *RuleFile) *quantity.Formula { return &r.AverageOver }, window: over, name: "mean current over {window} at least {current}"},
}

func onlyAfter(r *RuleFile) *condition.Condition { return &r.OnlyAfter }
func then(r *RuleFile) *condition.Condition      { return &r.Then }
func is(r *RuleFile) *quantity.Formula           { return &r.Is }
func every(r *RuleFile) *quantity.Formula        { return &r.Every }
func within(r *RuleFile) *quantity.Formula       { return &r.Within }
func forTime(r *RuleFile) *quantity.Formula      { return &r.For }
func over(r *RuleFile) *quantity.Formula         { return &r.Over }

// given says whether a rule is written in this pattern.
func (p pattern) given(r *RuleFile) bool {
	switch {
	case p.p != nil:
		return p.p(r).Given()
	case p.load != nil:
		return p.load(r).Given()
	}
	return p.current(r).Given()
}

// rule makes one rule, and gives its limit in words.
func (c *compiler) rule(f *RuleFile) (rule.Rule, string) {
	r := rule.Rule{Source: c.at(f.Where.Source), Claims: f.claims(), Count: f.AtMost.Value}
	for _, d := range f.Decides {
		if _, known := c.lookup(d.Text); !known {
			c.bad = append(c.bad, d.Wrong(fmt.Sprintf("there is no claim %q", yamlfile.Short(d.Text)), yamlfile.DidYouMean(d.Text, c.names)))
		}
	}
	limit := ""
	for _, entry := range rule.Patterns {
		if p := patterns[entry.Pattern]; p.given(f) {
			r.Pattern = entry.Pattern
			limit = c.pattern(p, f, &r)
			r.Name = p.call(f)
		}
	}
	r.Scope = c.scope(f)
	r.Name += scopeName(f)
	if f.Name.Given() {
		r.Name = prose(f.Name)
	}
	return r, limit
}

// pattern fills in what a rule says by its pattern, and gives its limit in words.
func (c *compiler) pattern(p pattern, f *RuleFile, r *rule.Rule) (limit string) {
	if p.p != nil {
		r.P = c.condition(*p.p(f))
	}
	if p.s != nil {
		r.S = c.condition(*p.s(f))
	}
	if p.limit != nil {
		v := c.value(*p.limit(f))
		r.Limit, limit = v.Duration(), limitText(*p.limit(f), v)
	}
	if p.current != nil {
		v := c.value(*p.current(f))
		r.Current, limit = v.Current(), limitText(*p.current(f), v)
	}
	if p.window != nil {
		r.Window = c.time(*p.window(f))
	}
	if p.load != nil {
		r.Heating, limit = c.heating(f), p.load(f).Text
	}
	if r.Pattern == rule.BoundedExistence {
		limit = f.AtMost.Text
	}
	if r.Pattern == rule.BoundedInvariance {
		c.mistakes(f.Then.Source, f.Then.RefuseEvent("bounded invariance"))
	}
	return limit
}

// heating is the part of a rule on a thermal load. Where the gate file does not
// rate it, the scenario does not apply.
func (c *compiler) heating(f *RuleFile) rule.Heating {
	h := rule.Heating{Part: f.Of.Text, Start: share.Of(f.Beginning.Value), Most: share.Of(f.ThermalUnder.Value)}
	h.Curve, _ = c.job.Gate.Rating(h.Part)
	return h
}

// scope reads a rule's scope. That its keys go together has been seen to.
func (c *compiler) scope(f *RuleFile) rule.Scope {
	q, r := c.condition(f.After), c.condition(f.Until)
	switch {
	case f.Before.Given():
		return rule.Scope{Kind: rule.Before, R: c.condition(f.Before)}
	case f.Between.Given():
		return rule.Scope{Kind: rule.Between, Q: c.condition(f.Between), R: c.condition(f.And)}
	case f.After.Given() && f.Until.Given():
		return rule.Scope{Kind: rule.AfterUntil, Q: q, R: r}
	case f.After.Given():
		return rule.Scope{Kind: rule.After, Q: q}
	}
	return rule.Scope{}
}

// scopeName puts a rule's scope into words.
func scopeName(f *RuleFile) string {
	switch {
	case f.Before.Given():
		return fmt.Sprintf(", before %s", f.Before.Text)
	case f.Between.Given():
		return fmt.Sprintf(", between %s and %s", f.Between.Text, f.And.Text)
	case f.After.Given() && f.Until.Given():
		return fmt.Sprintf(", after %s until %s", f.After.Text, f.Until.Text)
	case f.After.Given():
		return fmt.Sprintf(", after %s", f.After.Text)
	}
	return ""
}

// times puts a number of times into words.
func times(n int) string {
	switch n {
	case 1:
		return "once"
	case 2:
		return "twice"
	}
	return fmt.Sprintf("%d times", n)
}

// call names a rule by its pattern.
func (p pattern) call(f *RuleFile) string {
	put := []string{"{count}", times(f.AtMost.Value), "{part}", f.Of.Text, "{load}", f.ThermalUnder.Text}
	if p.p != nil {
		put = append(put, "{p}", p.p(f).Text)
	}
	if p.s != nil {
		put = append(put, "{s}", p.s(f).Text)
	}
	for mark, get := range map[string]func(*RuleFile) *quantity.Formula{"{limit}": p.limit, "{current}": p.current, "{window}": p.window} {
		if get != nil {
			put = append(put, mark, get(f).Text)
		}
	}
	return strings.Join(strings.Fields(strings.NewReplacer(put...).Replace(p.name)), " ")
}
