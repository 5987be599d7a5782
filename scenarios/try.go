package scenarios

import (
	"fmt"
	"strings"
	"time"

	"pintle/rig/rule"
	"pintle/rig/signal"
	"pintle/rig/thermal"
	"pintle/scenarios/quantity"
	"pintle/scenarios/yamlfile"
)

// What the engine refuses is a mistake of the file that asks for it. Nearly all of
// that is told with its place in the text already; what follows catches the rest,
// so that no job that loads fails to begin.

// try gives a scenario without mistakes to the engine.
func (c *compiler) try(s *Scenario) yamlfile.Mistakes {
	var bad yamlfile.Mistakes
	for i, f := range s.Faults {
		if c.lacksClaims(c.file.Faults[i].claims()) { // its times are not known
			continue
		}
		for _, err := range parts(f.Check()) {
			bad = append(bad, c.file.Faults[i].Wrong("this fault cannot be: "+err.Error(), ""))
		}
	}
	rules := make([]rule.Rule, len(s.Rules))
	for i, r := range s.Rules {
		if c.lacksClaims(r.Claims) { // its figures are not known, so any will do
			r.Limit, r.Window = max(r.Limit, time.Second), max(r.Window, time.Second)
		}
		if h := &r.Heating; h.Part != "" && h.Curve == (thermal.Curve{}) { // nor is what its part stands
			h.Curve = thermal.Curve{Continuous: signal.Ampere, Constant: time.Second}
		}
		rules[i] = r
	}
	_, err := rule.Compile(rules, nil)
	said := map[string]bool{}
	for _, err := range parts(err) {
		// What is refused of one rule after the other for one reason is told once.
		reason := err.Error()[strings.LastIndex(err.Error(), ": ")+1:]
		if !said[reason] {
			bad = append(bad, c.refused(rules, err))
		}
		said[reason] = true
	}
	return bad
}

// try gives a gate without mistakes to the engine.
func (g *GateFile) try() yamlfile.Mistakes {
	var bad yamlfile.Mistakes
	for _, err := range parts(g.Spec.Check()) {
		bad = append(bad, g.Title.Wrong("this gate cannot be: "+err.Error(), ""))
	}
	return bad
}

// refused finds the rule that an error speaks of.
func (c *compiler) refused(rules []rule.Rule, err error) yamlfile.Mistake {
	for i, r := range rules {
		if text, ok := strings.CutPrefix(err.Error(), fmt.Sprintf("%s: rule %q: ", r.Source, r.Name)); ok {
			return c.file.Rules[i].Wrong("this rule cannot be followed: "+text, "")
		}
	}
	return c.file.Title.Wrong("the rules cannot be followed: "+err.Error(), "")
}

func (c *compiler) lacksClaims(names []string) bool {
	for _, name := range names {
		if v, ok := c.job.Controller.Claim(name); !ok || v.Value.Of == quantity.Unknown {
			return true
		}
	}
	return false
}

// parts gives the errors that one was joined of.
func parts(err error) []error {
	if err == nil {
		return nil
	}
	joined, ok := err.(interface{ Unwrap() []error })
	if !ok {
		return []error{err}
	}
	var all []error
	for _, e := range joined.Unwrap() {
		all = append(all, parts(e)...)
	}
	return all
}
