package condition

import (
	"fmt"
	"strings"

	"pintle/rig/rule"
	"pintle/rig/signal"
	"pintle/scenarios/quantity"
	"pintle/scenarios/yamlfile"
)

// mostWords is how many words a condition may have.
const mostWords = 100

// A word stands at a character of the text.
type word struct {
	text string
	at   int
}

// parsed is a part of a condition with what the words have said of it.
type parsed struct {
	tree  *tree
	event bool
	at    int
}

type parser struct {
	text  []rune
	words []word
	pos   int
}

// parse reads a whole condition.
func parse(text string) (*tree, bool, *yamlfile.Problem) {
	p := &parser{text: []rune(text)}
	p.split()
	if len(p.words) > mostWords {
		return nil, false, problem(p.words[mostWords].at, "the condition is too long", yamlfile.Expected(fmt.Sprintf("at most %d words", mostWords)))
	}
	all, bad := p.alternatives(0)
	if bad == nil && p.pos < len(p.words) {
		w := p.peek()
		bad = problem(w.at, fmt.Sprintf("%q cannot stand here", yamlfile.Short(w.text)), yamlfile.Expected("and, or, or the end"))
	}
	if bad != nil {
		return nil, false, bad
	}
	return all.tree, all.event, nil
}

func problem(at int, text, hint string) *yamlfile.Problem {
	return &yamlfile.Problem{Offset: at, Text: text, Hint: hint}
}

// split finds the words; a parenthesis is a word of its own.
func (p *parser) split() {
	start := -1
	flush := func(end int) {
		if start >= 0 {
			p.words = append(p.words, word{string(p.text[start:end]), start})
		}
		start = -1
	}
	for i, c := range p.text {
		switch {
		case c == ' ' || c == '\t' || c == '\n':
			flush(i)
		case c == '(' || c == ')':
			flush(i)
			p.words = append(p.words, word{string(c), i})
		case start < 0:
			start = i
		}
	}
	flush(len(p.text))
}

func (p *parser) peek() word {
	if p.pos < len(p.words) {
		return p.words[p.pos]
	}
	return word{"", len(p.text)}
}

func (p *parser) accept(text string) bool {
	if p.peek().text == text {
		p.pos++
		return true
	}
	return false
}

// alternatives reads parts joined by or.
func (p *parser) alternatives(depth int) (parsed, *yamlfile.Problem) {
	return p.joined("or", 'o', depth, p.together)
}

// together reads parts joined by and.
func (p *parser) together(depth int) (parsed, *yamlfile.Problem) {
	return p.joined("and", 'a', depth, p.part)
}

func (p *parser) joined(by string, op byte, depth int, part func(int) (parsed, *yamlfile.Problem)) (parsed, *yamlfile.Problem) {
	first, bad := part(depth)
	if bad != nil || p.peek().text != by {
		return first, bad
	}
	all := parsed{&tree{op: op, parts: []*tree{first.tree}}, first.event, first.at}
	for p.peek().text == by {
		p.pos++
		next, bad := part(depth)
		switch {
		case bad != nil:
			return next, bad
		case next.event != first.event:
			return next, problem(next.at, "an event and a state cannot be joined", yamlfile.Expected("the event alone, and the state as the rule's scope"))
		case next.event && op == 'a':
			return next, problem(next.at, "two events cannot be joined by and: they hardly ever come at one instant", yamlfile.Expected("or, or one event alone"))
		}
		all.tree.parts = append(all.tree.parts, next.tree)
	}
	return all, nil
}

// part reads a parenthesis, a negation, or what is said of one subject.
func (p *parser) part(depth int) (parsed, *yamlfile.Problem) {
	w := p.peek()
	switch {
	case w.text == "(" && depth < 16:
		p.pos++
		inner, bad := p.alternatives(depth + 1)
		if bad == nil && !p.accept(")") {
			bad = problem(w.at, `a "(" without its ")"`, "")
		}
		return inner, bad
	case w.text == "not" && depth < 16:
		p.pos++
		inner, bad := p.part(depth + 1)
		if bad == nil && inner.event {
			bad = problem(inner.at, "an event cannot be denied", yamlfile.Expected("a state after not, such as not motor moving"))
		}
		return parsed{&tree{op: 'n', parts: []*tree{inner.tree}}, false, w.at}, bad
	}
	return p.statement()
}

// statement reads a subject and what is said of it.
func (p *parser) statement() (parsed, *yamlfile.Problem) {
	w := p.peek()
	p.pos++
	switch w.text {
	case "":
		return parsed{}, problem(w.at, "a condition is missing", yamlfile.Expected("motor closing, closed-limit makes, current above 12A, ..."))
	case "motor":
		return p.phrase(w, motorPhrases())
	case "current":
		return p.current(w)
	}
	l, ok := signal.LineNamed(w.text)
	if !ok {
		return parsed{}, problem(w.at, fmt.Sprintf("%q is nothing that a condition can speak of", yamlfile.Short(w.text)), yamlfile.DidYouMean(w.text, subjects()))
	}
	return p.phrase(w, linePhrases(l))
}

// phrase reads the longest phrase that fits.
func (p *parser) phrase(subject word, phrases []phrase) (parsed, *yamlfile.Problem) {
	var best *phrase
	for i, ph := range phrases {
		if p.follows(ph.words) && (best == nil || len(ph.words) > len(best.words)) {
			best = &phrases[i]
		}
	}
	if best != nil {
		p.pos += len(strings.Fields(best.words))
		return parsed{best.is, best.event, subject.at}, nil
	}
	var said []string
	at := p.peek().at
	for w := p.peek(); w.text != "" && w.text != "and" && w.text != "or" && w.text != ")"; w = p.peek() {
		said = append(said, w.text)
		p.pos++
	}
	var words []string
	for _, ph := range phrases {
		words = append(words, ph.words)
	}
	wrong := strings.Join(said, " ")
	if wrong == "" {
		return parsed{}, problem(at, fmt.Sprintf("nothing is said of %q", subject.text), yamlfile.Expected(yamlfile.OneOf(words)))
	}
	return parsed{}, problem(at, fmt.Sprintf("%q cannot be said of %q", yamlfile.Short(wrong), subject.text), hint(wrong, subject.text, phrases, words))
}

// hint offers the state and the event where "is" hides which one was meant.
func hint(wrong, subject string, phrases []phrase, words []string) string {
	state, ok := strings.CutPrefix(wrong, "is ")
	for _, ph := range phrases {
		if ok && !ph.event && ph.words == state {
			for _, other := range phrases {
				if other.event && same(other.is, ph.is) {
					return fmt.Sprintf("did you mean %q (a state) or %q (an event)?", subject+" "+state, subject+" "+other.words)
				}
			}
			return fmt.Sprintf("did you mean %q?", subject+" "+state)
		}
	}
	return yamlfile.DidYouMean(wrong, words)
}

func (p *parser) follows(words string) bool {
	for i, w := range strings.Fields(words) {
		if p.pos+i >= len(p.words) || p.words[p.pos+i].text != w {
			return false
		}
	}
	return true
}

// current reads above or rises above, and a threshold.
func (p *parser) current(subject word) (parsed, *yamlfile.Problem) {
	event := p.accept("rises")
	if at := p.peek().at; !p.accept("above") {
		return parsed{}, problem(at, fmt.Sprintf("%q cannot be said of \"current\"", yamlfile.Short(p.peek().text)), yamlfile.Expected("current above 12A (a state) or current rises above 12A (an event)"))
	}
	from, depth := p.pos, 0
	for w := p.peek(); w.text != "" && w.text != "and" && w.text != "or" && (w.text != ")" || depth > 0); w = p.peek() {
		switch w.text {
		case "(":
			depth++
		case ")":
			depth--
		}
		p.pos++
	}
	if p.pos == from {
		return parsed{}, problem(p.peek().at, "a current is missing", yamlfile.Expected("current above 12A"))
	}
	at, last := p.words[from].at, p.words[p.pos-1]
	text := string(p.text[at : last.at+len([]rune(last.text))])
	e, bad := quantity.ParseExpression(text, quantity.Current)
	if bad != nil {
		bad.Offset += at
		return parsed{}, bad
	}
	t := &tree{op: 't', term: rule.Term{Kind: rule.CurrentAbove}, above: &threshold{e, text, at}}
	return parsed{t, event, subject.at}, nil
}
