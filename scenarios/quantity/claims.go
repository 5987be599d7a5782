package quantity

import (
	"fmt"
	"slices"
	"strings"

	"pintle/scenarios/yamlfile"
)

// A Claim is a name with the expression that gives its figure.
type Claim struct {
	Name       string
	Expression Expression
}

// A ClaimProblem is a problem in the expression of one claim.
type ClaimProblem struct {
	Claim int // index
	yamlfile.Problem
}

// Resolve works all claims out, each of which may refer to others. A claim whose
// expression is wrong has Value{}. Of claims that refer to each other in a circle
// the first in the list is told, once for each circle.
func Resolve(claims []Claim) (map[string]Value, []ClaimProblem) {
	r := &resolver{claims: claims, values: map[string]Value{}, state: make([]int, len(claims))}
	for _, c := range claims {
		r.names = append(r.names, c.Name)
	}
	for i := range claims {
		r.resolve(i, 0)
	}
	slices.SortStableFunc(r.bad, func(a, b ClaimProblem) int { return a.Claim - b.Claim })
	return r.values, r.bad
}

type resolver struct {
	claims []Claim
	names  []string
	values map[string]Value
	state  []int // of each claim: 0 untouched, 1 being worked out, 2 done
	path   []int
	bad    []ClaimProblem
}

func (r *resolver) resolve(i, depth int) {
	if r.state[i] != 0 {
		return
	}
	r.state[i] = 1
	r.path = append(r.path, i)
	round := false
	for _, ref := range r.claims[i].Expression.Claims() {
		j := slices.Index(r.names, ref.Name)
		if j >= 0 && r.state[j] == 1 {
			r.circle(i, j, ref)
			round = true
		} else if j >= 0 {
			r.resolve(j, depth+1)
		}
	}
	r.path = r.path[:len(r.path)-1]
	r.state[i] = 2
	var v Value
	if !round {
		v = r.work(i)
	}
	r.values[r.claims[i].Name] = v
}

// work evaluates a claim whose references are all worked out.
func (r *resolver) work(i int) Value {
	v, bad := r.claims[i].Expression.Evaluate(func(name string) (Value, bool) {
		v, ok := r.values[name]
		return v, ok
	}, r.names)
	for _, p := range bad {
		r.bad = append(r.bad, ClaimProblem{i, p})
	}
	return v
}

// circle reports the circle that claim i closes by referring to claim j.
func (r *resolver) circle(i, j int, ref Reference) {
	var names []string
	for _, k := range r.path[slices.Index(r.path, j):] {
		names = append(names, r.claims[k].Name)
	}
	names = append(names, r.claims[j].Name)
	r.bad = append(r.bad, ClaimProblem{i, yamlfile.Problem{Offset: ref.Offset,
		Text: "circular claim: " + strings.Join(names, " -> "),
		Hint: yamlfile.Expected(fmt.Sprintf("a figure for at least one of them, such as %s", examples[Time]))}})
}
