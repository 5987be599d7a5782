package quantity

import (
	"fmt"
	"math/big"

	"pintle/scenarios/yamlfile"
)

// A Lookup gives the value of a claim. Of a claim that exists but has no value,
// because it is itself wrong, it gives Value{} and true.
type Lookup func(name string) (Value, bool)

// Evaluate works the expression out. Problems are where units do not fit or a
// claim does not exist; a claim without value makes the whole one without value,
// and no problem.
func (e Expression) Evaluate(claims Lookup, names []string) (Value, []yamlfile.Problem) {
	if e.root == nil {
		return Value{}, nil
	}
	w := &worker{claims: claims, names: names}
	v := w.work(e.root)
	if w.bad != nil {
		return Value{}, w.bad
	}
	return v, nil
}

type worker struct {
	claims Lookup
	names  []string
	bad    []yamlfile.Problem
}

func (w *worker) wrong(at int, text, hint string) Value {
	w.bad = append(w.bad, yamlfile.Problem{Offset: at, Text: text, Hint: hint})
	return Value{}
}

func (w *worker) work(n *node) Value {
	switch n.op {
	case 0:
		return n.value
	case 'c':
		v, ok := w.claims(n.claim)
		if !ok {
			return w.wrong(n.at, fmt.Sprintf("there is no claim %q", yamlfile.Short(n.claim)), yamlfile.DidYouMean(n.claim, w.names))
		}
		return v
	}
	a, b := w.work(n.a), w.work(n.b)
	if a.rat == nil || b.rat == nil {
		return Value{}
	}
	return w.bounded(n, w.operate(n, a, b))
}

func (w *worker) operate(n *node, a, b Value) Value {
	r := new(big.Rat)
	switch n.op {
	case '+', '-':
		if a.Of != b.Of {
			return w.wrong(n.b.first(), fmt.Sprintf("%s cannot be %s %s", dimensions[b.Of].article, added[n.op], dimensions[a.Of].article), expected(a.Of))
		}
		if n.op == '+' {
			return Value{a.Of, r.Add(a.rat, b.rat)}
		}
		return Value{a.Of, r.Sub(a.rat, b.rat)}
	case '*':
		switch {
		case a.Of == Number:
			return Value{b.Of, r.Mul(a.rat, b.rat)}
		case b.Of == Number:
			return Value{a.Of, r.Mul(a.rat, b.rat)}
		}
		return w.wrong(n.b.first(), fmt.Sprintf("%s cannot be multiplied by %s", dimensions[a.Of].article, dimensions[b.Of].article), yamlfile.Expected("a bare number on one side"))
	}
	switch {
	case b.rat.Sign() == 0:
		return w.wrong(n.b.first(), "nothing can be divided by zero", "")
	case b.Of == Number:
		return Value{a.Of, r.Quo(a.rat, b.rat)}
	case a.Of == b.Of:
		return Value{Number, r.Quo(a.rat, b.rat)}
	}
	return w.wrong(n.b.first(), fmt.Sprintf("%s cannot be divided by %s", dimensions[a.Of].article, dimensions[b.Of].article), yamlfile.Expected("a bare number, or "+dimensions[a.Of].article))
}

var added = map[byte]string{'+': "added to", '-': "taken from"}

// bounded refuses results that no file needs, before they grow without end.
func (w *worker) bounded(n *node, v Value) Value {
	if v.rat != nil && (v.rat.Num().BitLen() > 4096 || v.rat.Denom().BitLen() > 4096) {
		return w.wrong(n.at, "the result is too large", "")
	}
	return v
}

// first is where the text of a node begins.
func (n *node) first() int {
	for n.a != nil {
		n = n.a
	}
	return n.at
}
