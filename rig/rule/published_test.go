package rule_test

import (
	"fmt"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"pgregory.net/rapid"

	"pintle/rig/rule"
)

// ---- the published formulas

// formula is true or false at a tick of a trace whose last tick goes on for ever.
type formula func(b brute, i int) bool

func hold(c rule.Condition) formula { return func(b brute, i int) bool { return b.holds(c, i) } }

func not(f formula) formula { return func(b brute, i int) bool { return !f(b, i) } }

func and(list ...formula) formula {
	return func(b brute, i int) bool {
		for _, f := range list {
			if !f(b, i) {
				return false
			}
		}
		return true
	}
}

func or(f, g formula) formula { return not(and(not(f), not(g))) }

func implies(f, g formula) formula { return or(not(f), g) }

func until(f, g formula) formula {
	return func(b brute, i int) bool {
		for ; i < len(b.at); i++ {
			if g(b, i) {
				return true
			}
			if !f(b, i) {
				return false
			}
		}
		return false
	}
}

func always(f formula) formula {
	return func(b brute, i int) bool {
		for ; i < len(b.at); i++ {
			if !f(b, i) {
				return false
			}
		}
		return true
	}
}

func eventually(f formula) formula { return not(always(not(f))) }

func weakUntil(f, g formula) formula { return or(always(f), until(f, g)) }

// published gives the formula of a pattern in a scope as the catalogue of Dwyer,
// Avrunin and Corbett (ICSE 1999; "Property pattern mappings for LTL") has it.
// The global forms, and those of absence in all scopes, were compared with the
// published pages; the others are from memory.
func published(x rule.Rule) formula {
	p, s, q, r := hold(x.P), hold(x.S), hold(x.Scope.Q), hold(x.Scope.R)
	opens := and(q, not(r))
	closes := and(q, not(r), eventually(r))
	type row map[rule.ScopeKind]formula
	answered := implies(p, until(not(r), and(s, not(r))))
	return map[rule.Pattern]row{
		rule.Absence: {
			rule.Globally:   always(not(p)),
			rule.Before:     implies(eventually(r), until(not(p), r)),
			rule.After:      always(implies(q, always(not(p)))),
			rule.Between:    always(implies(closes, until(not(p), r))),
			rule.AfterUntil: always(implies(opens, weakUntil(not(p), r))),
		},
		rule.Universality: {
			rule.Globally:   always(p),
			rule.Before:     implies(eventually(r), until(p, r)),
			rule.After:      always(implies(q, always(p))),
			rule.Between:    always(implies(closes, until(p, r))),
			rule.AfterUntil: always(implies(opens, weakUntil(p, r))),
		},
		rule.Existence: {
			rule.Globally:   eventually(p),
			rule.Before:     weakUntil(not(r), and(p, not(r))),
			rule.After:      or(always(not(q)), eventually(and(q, eventually(p)))),
			rule.Between:    always(implies(opens, weakUntil(not(r), and(p, not(r))))),
			rule.AfterUntil: always(implies(opens, until(not(r), and(p, not(r))))),
		},
		rule.Precedence: {
			rule.Globally:   weakUntil(not(p), s),
			rule.Before:     implies(eventually(r), until(not(p), or(s, r))),
			rule.After:      or(always(not(q)), eventually(and(q, weakUntil(not(p), s)))),
			rule.Between:    always(implies(closes, until(not(p), or(s, r)))),
			rule.AfterUntil: always(implies(opens, weakUntil(not(p), or(s, r)))),
		},
		rule.Response: {
			rule.Globally:   always(implies(p, eventually(s))),
			rule.Before:     implies(eventually(r), until(answered, r)),
			rule.After:      always(implies(q, always(implies(p, eventually(s))))),
			rule.Between:    always(implies(closes, until(answered, r))),
			rule.AfterUntil: always(implies(opens, weakUntil(answered, r))),
		},
	}[x.Pattern][x.Scope.Kind]
}

// The formulas of existence and precedence speak anew of every instant of Q. That
// is the same as speaking of the segment that the first Q opens only where Q
// holds once in it. That of existence before R calls an R at the very beginning a
// failure; here that leaves nothing that could be put to the test.
func comparable(b brute, x rule.Rule) bool {
	if x.Pattern != rule.Existence && x.Pattern != rule.Precedence || x.Scope.Kind == rule.Globally {
		return true
	}
	if x.Scope.Kind == rule.Before && b.holds(x.Scope.R, 0) {
		return false
	}
	all := x.Scope
	if all.Kind == rule.Between {
		all.Kind = rule.AfterUntil
	}
	for _, s := range b.segments(all) {
		if b.count(x.Scope.Q, s) > 1 {
			return false
		}
	}
	return true
}

// The brute-force evaluator is held to the published formulas too.
func TestDefinitionsAgreeWithPublishedFormulas(t *testing.T) {
	for _, p := range []rule.Pattern{rule.Absence, rule.Universality, rule.Existence, rule.Precedence, rule.Response} {
		for _, kind := range scopeKinds {
			t.Run(fmt.Sprintf("%v, scope %d", p, kind), func(t *testing.T) {
				rapid.Check(t, func(t *rapid.T) {
					b := newBrute(drawWorld(t))
					x := drawRule(t, p, kind)
					if comparable(b, x) {
						require.Equal(t, !published(x)(b, 0), worst(b.judge(x)) == rule.Fail)
					}
				})
			})
		}
	}
}

// The monitors of the patterns without time say what the published formulas say;
// where a formula is true only because nothing happened, they say so.
func TestMonitorAgreesWithPublishedFormulas(t *testing.T) {
	for _, p := range []rule.Pattern{rule.Absence, rule.Universality, rule.Existence, rule.Precedence, rule.Response} {
		for _, kind := range scopeKinds {
			t.Run(fmt.Sprintf("%v, scope %d", p, kind), func(t *testing.T) {
				rapid.Check(t, func(t *rapid.T) {
					w := drawWorld(t)
					x := drawRule(t, p, kind)
					b := newBrute(w)
					if !comparable(b, x) {
						return
					}
					f := perform(compile(t, x), w, exactly(w))[0]
					if published(x)(b, 0) {
						require.NotEqual(t, rule.Fail, f.Verdict, "%+v", f)
						if f.Verdict == rule.Inconclusive {
							require.Zero(t, f.Exercised)
						}
					} else {
						require.Equal(t, rule.Fail, f.Verdict, "%+v", f)
					}
				})
			})
		}
	}
}

// Bounded existence with two: !P W (P W (!P W (P W []!P))), as published for at
// most two stretches of P (Dwyer and others).
func TestBoundedExistenceFormula(t *testing.T) {
	rapid.Check(t, func(t *rapid.T) {
		w := drawWorld(t)
		x := drawRule(t, rule.BoundedExistence, rule.Globally)
		x.Count = 2
		p := hold(x.P)
		f := weakUntil(not(p), weakUntil(p, weakUntil(not(p), weakUntil(p, always(not(p))))))
		want := rule.Fail
		if f(newBrute(w), 0) {
			want = rule.Pass
		}
		require.Equal(t, want, perform(compile(t, x), w, exactly(w))[0].Verdict)
	})
}

// ---- worked examples of time-bounded operators in dense time
//
// The figures are those of the test suite of the rtamt library (nickovic/rtamt,
// commit 5e30b7b, test_stl_dense_time_offline_specification.py), whose author
// is one of the authors of signal temporal logic (Maler and Nickovic 2004). A
// robustness of at least zero is a truth; units are read as milliseconds.

// at is the example signal (0,4)(5,2)(10,5)(15,3) held against 3: the line S is
// made on [0,5) and from 10 on.
func heldAgainst3(trigger time.Duration) story {
	return tell(100*ms, on(p, trigger), on(s, initially, 5*ms, 10*ms))
}

// eventually[0:1] of it is (0,4)(5,2)(9,5)(15,3): at least 3 on [0,5) and from 9 on.
func TestEventuallyWithin(t *testing.T) {
	x := rule.Rule{Pattern: rule.BoundedResponse, P: makes(p), S: made(s), Limit: ms}
	for at, want := range map[time.Duration]rule.Verdict{
		1 * ms: rule.Pass, 5*ms - ns: rule.Pass, 5 * ms: rule.Fail, 9*ms - ns: rule.Fail,
		9 * ms: rule.Pass, 10 * ms: rule.Pass, 16 * ms: rule.Pass,
	} {
		f := tellTo(t, x, heldAgainst3(at))
		assert.Equal(t, want, f.Verdict, "trigger at %v: %+v", at, f)
	}
}

// always[0:1] of it is (0,4)(4,2)(10,5)(14,3): at least 3 on [0,4) and from 10 on.
// At 4 itself the stretch measures exactly the limit, and here that passes.
func TestAlwaysWithin(t *testing.T) {
	x := rule.Rule{Pattern: rule.BoundedInvariance, P: makes(p), S: made(s), Limit: ms}
	for at, want := range map[time.Duration]rule.Verdict{
		1 * ms: rule.Pass, 4*ms - ns: rule.Pass, 4*ms + ns: rule.Fail, 5 * ms: rule.Fail, 10*ms - ns: rule.Fail,
		10 * ms: rule.Pass, 14 * ms: rule.Pass, 16 * ms: rule.Pass,
	} {
		f := tellTo(t, x, heldAgainst3(at))
		assert.Equal(t, want, f.Verdict, "trigger at %v: %+v", at, f)
	}
}

// eventually[0:5] of (0,1)(6,2)(7,3)(8,4)(9,5)(15,6) is (0,1)(1,2)(2,3)(3,4)(4,5)(10,6):
// against each level but the first, true from five before the level is reached.
func TestEventuallyWithinFive(t *testing.T) {
	for reached, from := range map[time.Duration]time.Duration{6: 1, 7: 2, 8: 3, 9: 4, 15: 10} {
		x := rule.Rule{Pattern: rule.BoundedResponse, P: makes(p), S: made(s), Limit: 5 * ms}
		for beside, want := range map[time.Duration]rule.Verdict{-ns: rule.Fail, 0: rule.Pass, ns: rule.Pass} {
			f := tellTo(t, x, tell(100*ms, on(p, from*ms+beside), on(s, reached*ms)))
			assert.Equal(t, want, f.Verdict, "reached at %d, trigger at %v: %+v", reached, from*ms+beside, f)
		}
	}
}

// always(req >= 3 -> eventually[0:5](gnt >= 3)) with req at 6 on [3,5) and gnt at
// 6 on [7,9) is true, with a robustness of 3: rtamt's README.
func TestRequestAndGrant(t *testing.T) {
	trial := tell(11*ms, on(p, 3*ms, 5*ms), on(s, 7*ms, 9*ms))
	x := rule.Rule{Pattern: rule.BoundedResponse, P: made(p), S: made(s), Limit: 5 * ms}
	f := tellTo(t, x, trial)
	assert.Equal(t, rule.Pass, f.Verdict)
	assert.Equal(t, rule.Interval{Least: int64(4 * ms), Most: int64(4 * ms)}, f.Value)
	x.Limit = 4*ms - ns
	assert.Equal(t, rule.Fail, tellTo(t, x, trial).Verdict)
}
