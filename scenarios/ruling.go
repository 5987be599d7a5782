package scenarios

import (
	"fmt"
	"slices"
	"strings"

	"pintle/rig/rule"
	"pintle/rig/share"
	"pintle/rig/wording"
	"pintle/scenarios/yamlfile"
)

// written is how files write each part of a rule.
var written = map[rule.Part]yamlfile.Field{
	rule.PartP:       {Into: "P"},
	rule.PartS:       {Into: "S"},
	rule.PartLimit:   {Into: "Limit", Unit: "time", Limit: "positive"},
	rule.PartCount:   {Into: "Count", Limit: "0 to 1000000"},
	rule.PartCurrent: {Into: "Current", Unit: "current"},
	rule.PartWindow:  {Into: "Window", Unit: "time", Limit: "positive"},
	rule.PartLoad:    {Into: "Load", Unit: "number", Limit: "0.01 to 100"},
	rule.PartHeated:  {Into: "Heated", Words: partNames()},
	rule.PartStart:   {Into: "Beginning", Unit: "number", Limit: "0 to 100", Default: "0 %"},
}

// TableKeys are the keys of the patterns, and then those of what their rules say
// besides.
func (RuleFile) TableKeys() []yamlfile.Field {
	var own, more []yamlfile.Field
	for i := range rule.Patterns {
		p := &rule.Patterns[i]
		f := written[p.About]
		f.Key, f.Choice, f.Doc = p.Name, true, wording.Clause(p.Means)
		switch {
		case p.State == rule.PartP:
			f.Limit = "state"
		case p.About == rule.PartCurrent && p.Sense == rule.AtMost:
			f.Limit = "positive"
		}
		own = append(own, f)
		for _, k := range p.Keys {
			more = with(more, k, p.Name)
		}
	}
	return append(own, more...)
}

// with adds a key that goes with a pattern, unless it is there, and then the pattern
// to it.
func with(fields []yamlfile.Field, k rule.Key, pattern string) []yamlfile.Field {
	at := slices.IndexFunc(fields, func(f yamlfile.Field) bool { return f.Key == k.Name })
	if at < 0 {
		f := written[k.Part]
		f.Key, f.Doc = k.Name, k.Means
		at, fields = len(fields), append(fields, f)
	}
	f := &fields[at]
	f.With = append(f.With, pattern)
	if !k.Spare {
		f.NeedWith = append(f.NeedWith, pattern)
	}
	return fields
}

// rule makes one rule, and gives its limit in words.
func (c *compiler) rule(f *RuleFile) (rule.Rule, string) {
	r := rule.Rule{Source: c.at(f.Where.Source), Claims: f.claims(), Count: f.Count.Value}
	for _, d := range f.Decides {
		if _, known := c.lookup(d.Text); !known {
			c.bad = append(c.bad, d.Wrong(fmt.Sprintf("there is no claim %q", yamlfile.Short(d.Text)), yamlfile.DidYouMean(d.Text, c.names)))
		}
	}
	limit := ""
	if p, ok := rule.PatternNamed(f.Pattern.Key); ok {
		r.Pattern = p
		limit = c.pattern(p.Info(), f, &r)
		r.Name = call(p.Info(), f)
	}
	r.Scope = c.scope(f)
	r.Name += scopeName(f)
	if f.Name.Given() {
		r.Name = prose(f.Name)
	}
	return r, limit
}

// pattern fills in what a rule says by its pattern, and gives its limit in words.
func (c *compiler) pattern(p *rule.PatternInfo, f *RuleFile, r *rule.Rule) (limit string) {
	r.P, r.S = c.condition(f.P), c.condition(f.S)
	if p.State == rule.PartS {
		c.mistakes(f.S.Source, f.S.RefuseEvent(p.Name))
	}
	r.Window = c.time(f.Window)
	switch {
	case p.Has(rule.PartLimit):
		v := c.value(f.Limit)
		r.Limit, limit = v.Duration(), limitText(f.Limit, v)
	case p.Has(rule.PartCurrent):
		v := c.value(f.Current)
		r.Current, limit = v.Current(), limitText(f.Current, v)
	case p.Has(rule.PartCount):
		limit = f.Count.Text
	case p.Has(rule.PartLoad):
		r.Heating, limit = c.heating(f), f.Load.Text
	}
	return limit
}

// heating is the part of a rule on a thermal load. Where the gate file does not
// rate it, the scenario does not apply.
func (c *compiler) heating(f *RuleFile) rule.Heating {
	h := rule.Heating{Part: f.Heated.Text, Start: share.Of(f.Beginning.Value), Most: share.Of(f.Load.Value)}
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
func call(p *rule.PatternInfo, f *RuleFile) string {
	put := strings.NewReplacer("{p}", f.P.Text, "{s}", f.S.Text, "{limit}", f.Limit.Text, "{current}", f.Current.Text, "{window}", f.Window.Text,
		"{count}", times(f.Count.Value), "{part}", f.Heated.Text, "{load}", f.Load.Text)
	return strings.Join(strings.Fields(put.Replace(p.Call)), " ")
}
