package quantity

import (
	"fmt"
	"strings"

	"pintle/scenarios/yamlfile"
)

// An Expression is a parsed text such as "2 * claim dead time + 50ms".
type Expression struct {
	root   *node
	claims []Reference
}

// A Reference is the use of a claim in an expression.
type Reference struct {
	Name   string
	Offset int // in characters from the text's start
}

// node is a figure, a claim, or an operation on two nodes.
type node struct {
	op    byte // 0: a figure; 'c': a claim; else the operator
	at    int
	value Value
	claim string
	a, b  *node
}

// mostParts is how many parts an expression may have.
const mostParts = 64

// ParseExpression reads an expression. The dimension wanted is for the words of
// errors, and for an expression that is one figure it is checked.
func ParseExpression(text string, want Dimension) (Expression, *yamlfile.Problem) {
	p := &parser{tokens: tokens(text), want: want, end: len([]rune(text))}
	if len(p.tokens) > mostParts {
		return Expression{}, p.fail(p.tokens[mostParts].at, "the expression is too long", yamlfile.Expected(fmt.Sprintf("at most %d words", mostParts)))
	}
	root, bad := p.sum(0)
	if bad == nil && p.pos < len(p.tokens) {
		bad = p.unexpected()
	}
	if bad != nil {
		return Expression{}, bad
	}
	return Expression{root, p.claims}, nil
}

// Claims lists the claims that the expression refers to, in the order of the text.
func (e Expression) Claims() []Reference { return e.claims }

// IsZero says that nothing was parsed.
func (e Expression) IsZero() bool { return e.root == nil }

type parser struct {
	tokens []token
	pos    int
	want   Dimension
	end    int
	claims []Reference
}

func (p *parser) fail(at int, text, hint string) *yamlfile.Problem {
	return &yamlfile.Problem{Offset: at, Text: text, Hint: hint}
}

func (p *parser) peek() token {
	if p.pos < len(p.tokens) {
		return p.tokens[p.pos]
	}
	return token{"", p.end}
}

// unexpected tells what stands where an operator or the end should.
func (p *parser) unexpected() *yamlfile.Problem {
	t := p.peek()
	if t.text == ")" {
		return p.fail(t.at, `a ")" without its "("`, "")
	}
	return p.fail(t.at, fmt.Sprintf("%q cannot stand here", yamlfile.Short(t.text)), yamlfile.Expected(`+, -, * or / between spaces, or the end`))
}

// sum reads products joined by + and -.
func (p *parser) sum(depth int) (*node, *yamlfile.Problem) {
	return p.chain("+-", depth, p.product)
}

// product reads figures, claims and parentheses joined by * and /.
func (p *parser) product(depth int) (*node, *yamlfile.Problem) {
	return p.chain("*/", depth, p.operand)
}

func (p *parser) chain(operators string, depth int, part func(int) (*node, *yamlfile.Problem)) (*node, *yamlfile.Problem) {
	left, bad := part(depth)
	for bad == nil && p.peek().isOperator() && strings.Contains(operators, p.peek().text) {
		t := p.peek()
		p.pos++
		var right *node
		if right, bad = part(depth); bad == nil {
			left = &node{op: t.text[0], at: t.at, a: left, b: right}
		}
	}
	return left, bad
}

func (p *parser) operand(depth int) (*node, *yamlfile.Problem) {
	t := p.peek()
	switch {
	case t.text == "":
		return nil, p.fail(t.at, "something is missing at the end", expected(p.want))
	case t.text == "(" && depth < 16:
		return p.parenthesis(depth)
	case t.text == "claim":
		return p.claim()
	case t.isOperator() || t.text == "(" || t.text == ")":
		return nil, p.fail(t.at, fmt.Sprintf("%q cannot stand here", t.text), yamlfile.Expected("a figure, a claim or a parenthesis"))
	}
	return p.figure()
}

func (p *parser) parenthesis(depth int) (*node, *yamlfile.Problem) {
	open := p.peek()
	p.pos++
	inner, bad := p.sum(depth + 1)
	if bad != nil {
		return nil, bad
	}
	if p.peek().text != ")" {
		if p.pos < len(p.tokens) {
			return nil, p.unexpected()
		}
		return nil, p.fail(open.at, `a "(" without its ")"`, "")
	}
	p.pos++
	return inner, nil
}

// claim reads the word claim and the words of its name.
func (p *parser) claim() (*node, *yamlfile.Problem) {
	first := p.peek()
	p.pos++
	var words []string
	at := p.peek().at
	for t := p.peek(); t.text != "" && !t.isOperator() && t.text != "(" && t.text != ")" && t.text != "claim"; t = p.peek() {
		words = append(words, t.text)
		p.pos++
	}
	if words == nil {
		return nil, p.fail(first.at, `"claim" without a name`, yamlfile.Expected("claim NAME"))
	}
	name := strings.Join(words, " ")
	p.claims = append(p.claims, Reference{name, at})
	return &node{op: 'c', at: at, claim: name}, nil
}

// figure reads a number with its unit, which may be a word of its own.
func (p *parser) figure() (*node, *yamlfile.Problem) {
	t := p.peek()
	p.pos++
	text := t.text
	if next := p.peek(); !next.isOperator() && strings.Trim(text, "+-0123456789.") == "" && next.text != "" && next.text != "(" && next.text != ")" && next.text != "claim" {
		text += strings.Repeat(" ", next.at-t.at-len([]rune(text))) + next.text
		p.pos++
	}
	v, bad := Parse(text, p.wanted())
	if bad != nil {
		bad.Offset += t.at
		if glued := strings.IndexAny(t.text, "+*/"); glued > 0 {
			*bad = *p.fail(t.at+len([]rune(t.text[:glued])), fmt.Sprintf("%q needs a space on either side", t.text[glued:glued+1]), "")
		} else if word := strings.TrimLeft(t.text, "0123456789.+-"); word == t.text && isNameRune([]rune(word)[0]) {
			*bad = *p.fail(t.at, fmt.Sprintf("%q is not a figure", yamlfile.Short(t.text)), yamlfile.Expected(`a figure with its unit, or "claim" before the name of a claim`))
		}
		return nil, bad
	}
	return &node{at: t.at, value: v}, nil
}

// wanted is the dimension of a lone figure; in a longer expression a factor may
// have another.
func (p *parser) wanted() Dimension {
	for _, t := range p.tokens {
		if t.isOperator() {
			return Unknown
		}
	}
	return p.want
}
