package condition

import (
	"fmt"
	"slices"
	"strings"

	"pintle/rig/signal"
	"pintle/scenarios/yamlfile"
)

// Shape describes the text: statements joined by words. It is no stricter than
// the parser, and lists the plain statements.
func (Condition) Shape(field yamlfile.Field) yamlfile.Shape {
	s := yamlfile.Shape{Name: "condition", What: "a condition", Examples: []string{"motor closing", "closed-limit makes", "current above 12A"}}
	rises := `(rises\s+)?`
	if field.Limit == "state" {
		s = yamlfile.Shape{Name: "state", What: "a state", Examples: []string{"motor closing", "closed-limit made", "current above 12A"}}
		rises = ""
	}
	subjects := []string{`current\s+` + rises + `above\s+[\s\S]+`}
	add := func(subject string, phrases []phrase) {
		var words []string
		for _, p := range phrases {
			if !p.event || field.Limit != "state" {
				words = append(words, strings.ReplaceAll(p.words, " ", `\s+`))
				s.Known = append(s.Known, subject+" "+p.words)
			}
		}
		subjects = append(subjects, fmt.Sprintf(`%s\s+(%s)`, subject, strings.Join(words, "|")))
	}
	add("motor", motorPhrases())
	for _, info := range signal.Lines {
		add(info.Name, linePhrases(info.Line))
	}
	one := `(not\s+|[\s(])*(` + strings.Join(subjects, "|") + `)[\s)]*`
	s.Pattern = fmt.Sprintf(`^%s([\s)](and|or)[\s(]%s)*$`, one, one)
	return s
}

// refuseEvent says that an event stands where a state must, and offers the states
// that it is the beginning of.
func refuseEvent(root *tree, text, key string) *yamlfile.Problem {
	hint := yamlfile.Expected("a state, which lasts, such as motor closing")
	if subject, _, ok := strings.Cut(strings.TrimSpace(text), " "); ok {
		if state, ok := stateOf(subject, root); ok {
			hint = fmt.Sprintf("did you mean %q?", state)
		}
	}
	return &yamlfile.Problem{Text: fmt.Sprintf("%q is an event, an instant; %q needs a state, which lasts", yamlfile.Short(text), key), Hint: hint}
}

// stateOf words the state that an event is the beginning of.
func stateOf(subject string, root *tree) (string, bool) {
	phrases := motorPhrases()
	switch l, ok := signal.LineNamed(subject); {
	case ok:
		phrases = linePhrases(l)
	case root.op == 't' && root.above != nil:
		return "current above " + root.above.text, true
	case subject != "motor":
		return "", false
	}
	i := slices.IndexFunc(phrases, func(p phrase) bool { return !p.event && same(p.is, root) })
	if i < 0 {
		return "", false
	}
	return subject + " " + phrases[i].words, true
}

// same compares trees without thresholds.
func same(a, b *tree) bool {
	return a.op == b.op && a.term == b.term && a.above == nil && b.above == nil && slices.EqualFunc(a.parts, b.parts, same)
}

// RefuseEvent says so where the condition is an event and a state is needed.
func (c Condition) RefuseEvent(key string) []yamlfile.Problem {
	if c.root == nil || !c.event {
		return nil
	}
	return []yamlfile.Problem{*refuseEvent(c.root, c.Text, key)}
}
