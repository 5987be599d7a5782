package condition

import (
	"pintle/rig/motion"
	"pintle/rig/rule"
	"pintle/rig/signal"
	"pintle/scenarios/quantity"
	"pintle/scenarios/yamlfile"
)

// A tree is a condition as it was parsed: a term, or trees joined.
type tree struct {
	op    byte // 't': a term; 'a': and; 'o': or; 'n': not
	term  rule.Term
	above *threshold // of a term on the current
	parts []*tree
}

// A threshold is a current that may refer to claims.
type threshold struct {
	expression quantity.Expression
	text       string
	at         int
}

func motorIs(s motion.State) *tree {
	return &tree{op: 't', term: rule.Term{Kind: rule.MotorIs, State: s}}
}

func lineIs(l signal.Line, v signal.Level) *tree {
	return &tree{op: 't', term: rule.Term{Kind: rule.LineIs, Line: l, Level: v}}
}

// mostClauses bounds what joining may multiply a condition to.
const mostClauses = 64

// flatten gives the tree, or its opposite, as clauses: true while all terms of at
// least one clause are. It gives false where they are too many.
func (t *tree) flatten(opposite bool, value func(*threshold) signal.Current) ([][]rule.Term, bool) {
	switch t.op {
	case 't':
		term := t.term
		if t.above != nil {
			term.Current = value(t.above)
		}
		term.Not = opposite
		return [][]rule.Term{{term}}, true
	case 'n':
		return t.parts[0].flatten(!opposite, value)
	}
	alternatives := (t.op == 'o') != opposite // by De Morgan's laws
	var all [][]rule.Term
	for i, p := range t.parts {
		clauses, ok := p.flatten(opposite, value)
		switch {
		case !ok:
			return nil, false
		case alternatives:
			all = append(all, clauses...)
		case i == 0:
			all = clauses
		default:
			all = product(all, clauses)
		}
		if len(all) > mostClauses {
			return nil, false
		}
	}
	return all, true
}

// product joins each clause of a with each of b.
func product(a, b [][]rule.Term) [][]rule.Term {
	all := make([][]rule.Term, 0, len(a)*len(b))
	for _, x := range a {
		for _, y := range b {
			all = append(all, append(x[:len(x):len(x)], y...))
		}
	}
	return all
}

// walk visits all terms of the tree.
func (t *tree) walk(visit func(*tree)) {
	if t.op == 't' {
		visit(t)
	}
	for _, p := range t.parts {
		p.walk(visit)
	}
}

// A Condition is a condition in a file. What it comes to is worked out when the
// claims are known.
type Condition struct {
	yamlfile.Source
	root  *tree
	event bool
}

// Set parses the text. The limit "state" refuses events.
func (c *Condition) Set(src yamlfile.Source, field yamlfile.Field) []yamlfile.Problem {
	c.Source = src
	root, event, bad := parse(src.Text)
	if bad == nil && event && field.Limit == "state" {
		bad = refuseEvent(root, src.Text, field.Key)
	}
	if bad != nil {
		return []yamlfile.Problem{*bad}
	}
	c.root, c.event = root, event
	if len(c.Claims()) == 0 {
		_, bads := c.Work(nil, nil)
		return bads
	}
	return nil
}

// Claims lists the claims that the condition's thresholds refer to.
func (c Condition) Claims() []string {
	var names []string
	if c.root != nil {
		c.root.walk(func(t *tree) {
			if t.above != nil {
				for _, r := range t.above.expression.Claims() {
					names = append(names, r.Name)
				}
			}
		})
	}
	return names
}

// Lines is the set of lines that the condition speaks of.
func (c Condition) Lines() signal.LineSet {
	var set signal.LineSet
	if c.root != nil {
		c.root.walk(func(t *tree) {
			if t.term.Kind == rule.LineIs {
				set |= signal.SetOf(t.term.Line)
			}
		})
	}
	return set
}

// IsEvent says whether the condition is an event.
func (c Condition) IsEvent() bool { return c.event }

// Work gives the condition with its thresholds worked out, and what is wrong with
// them.
func (c Condition) Work(claims quantity.Lookup, names []string) (rule.Condition, []yamlfile.Problem) {
	var bad []yamlfile.Problem
	if c.root == nil {
		return rule.Condition{}, nil
	}
	clauses, ok := c.root.flatten(false, func(t *threshold) signal.Current {
		f := quantity.Formula{Source: yamlfile.Source{Text: t.text}, Expression: t.expression, Want: quantity.Current}
		v, problems := f.Work(claims, names)
		for _, p := range problems {
			p.Offset += t.at
			bad = append(bad, p)
		}
		return v.Current()
	})
	if !ok {
		bad = append(bad, yamlfile.Problem{Text: "the condition has too many cases", Hint: yamlfile.Expected("a simpler one, or a rule for each case")})
	}
	if bad != nil {
		return rule.Condition{}, bad
	}
	return rule.Condition{Text: c.Text, Any: clauses, Becomes: c.event}, nil
}
