package scenarios

import (
	"fmt"
	"reflect"
	"slices"
	"time"

	"pintle/rig"
	"pintle/rig/gate"
	"pintle/rig/rule"
	"pintle/rig/signal"
	"pintle/scenarios/condition"
	"pintle/scenarios/quantity"
	"pintle/scenarios/yamlfile"
)

// A Scenario is what one scenario file comes to in a job.
type Scenario struct {
	rig.Scenario
	Group         string // what it protects: people, mechanism, electronics, battery or convenience
	Hazard        string
	BuiltIn       bool
	NotApplicable string   // why it cannot be performed in this job; empty: it can
	LimitTexts    []string // of each rule: its limit as written, with what that comes to
	Lines         signal.LineSet
	Text          []byte // the file
}

// Groups lists what scenarios can protect.
func Groups() []string {
	for _, f := range yamlfile.Fields(reflect.TypeFor[ScenarioFile]()) {
		if f.Key == "group" {
			return f.Words
		}
	}
	return nil
}

// compiler turns one scenario file into a Scenario.
type compiler struct {
	job   *Job
	file  *ScenarioFile
	rel   string // the file's name within the job
	names []string
	bad   yamlfile.Mistakes
}

// lookup gives a claim. A well-known claim that the controller does not make is
// no mistake of the scenario's: the scenario does not apply.
func (c *compiler) lookup(name string) (quantity.Value, bool) {
	if v, ok := c.job.Controller.Claim(name); ok {
		return v.Value, true
	}
	_, known := KnownClaimNamed(name)
	return quantity.Value{}, known
}

func (c *compiler) mistakes(src yamlfile.Source, problems []yamlfile.Problem) {
	for _, p := range problems {
		c.bad = append(c.bad, src.Mistake(p))
	}
}

func (c *compiler) value(f quantity.Formula) quantity.Value {
	if f.Expression.IsZero() {
		return quantity.Value{}
	}
	v, bad := f.Work(c.lookup, c.names)
	c.mistakes(f.Source, bad)
	return v
}

func (c *compiler) time(f quantity.Formula) time.Duration { return c.value(f).Duration() }

func (c *compiler) condition(f condition.Condition) rule.Condition {
	v, bad := f.Work(c.lookup, c.names)
	c.mistakes(f.Source, bad)
	return v
}

// at says where something stands, within the job.
func (c *compiler) at(s yamlfile.Source) string {
	return fmt.Sprintf("%s:%d:%d", c.rel, s.Line, s.Col)
}

// compile makes the scenario, and says what does not fit together.
func (c *compiler) compile(name string, text []byte) (Scenario, yamlfile.Mistakes) {
	f := c.file
	s := Scenario{Group: f.Group.Text, Hazard: prose(f.Hazard), Lines: f.lines(), Text: text}
	s.Name, s.Title, s.Why = name, prose(f.Title), prose(f.Why)
	s.Start = gate.Start{Position: f.Start.Value, Obstacle: -1}
	s.Claims = f.claims()
	for _, x := range f.Faults {
		s.Faults = append(s.Faults, c.fault(x))
	}
	for _, x := range f.Script {
		s.Script = append(s.Script, c.step(x))
	}
	s.Repeat, s.Steady = f.Repeat.Value, f.Varies.Text == "phases"
	taken := map[string]bool{}
	for i := range f.Rules {
		r, limit := c.rule(&f.Rules[i])
		called := r.Pattern != 0 || f.Rules[i].Name.Given()
		if called && taken[r.Name] {
			c.bad = append(c.bad, f.Rules[i].Wrong(fmt.Sprintf("a second rule is called %q", yamlfile.Short(r.Name)), yamlfile.Expected("a name of its own, by the key name")))
		}
		if called {
			taken[r.Name] = true
		}
		s.Rules, s.LimitTexts = append(s.Rules, r), append(s.LimitTexts, limit)
	}
	s.NotApplicable = c.job.missing(s.Lines, s.Claims)
	for _, r := range s.Rules {
		if h := r.Heating; h.Part != "" && h.Curve.Constant == 0 && s.NotApplicable == "" {
			s.NotApplicable = fmt.Sprintf("gate.yaml says nothing of what the %s stands", h.Part)
		}
	}
	return s, c.bad
}

// missing says which of the lines and claims that a scenario needs the job does
// not have.
func (j *Job) missing(lines signal.LineSet, claims []string) string {
	inputs := signal.LinesOf(signal.OfRemote, signal.OfGate, signal.OfWay) // of the controller
	for _, l := range setOfLines(lines) {
		switch {
		case !j.Bench.LineSet().Has(l):
			return fmt.Sprintf("the bench has no line %s", l)
		case inputs.Has(l) && !j.Controller.Lines().Has(l):
			return fmt.Sprintf("the controller has no %s", l)
		case isSensor(l) && !j.Gate.senses(l):
			return fmt.Sprintf("the gate has no %s", l)
		}
	}
	for _, name := range claims {
		if _, ok := j.Controller.Claim(name); !ok {
			return fmt.Sprintf("the controller makes no claim %q", name)
		}
	}
	return ""
}

func unique(names []string) []string {
	slices.Sort(names)
	return slices.Compact(names)
}
