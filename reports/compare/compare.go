package compare

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"pintle/reports"
	"pintle/rig/rule"
	"pintle/rig/shift"
)

// Options say what counts.
type Options struct {
	Alpha float64 // probability that a comparison of two runs of the same build flags anything; 0: 0.05
	Least float64 // part of a margin that must have gone for a shift to be a regression; 0: 0.1
}

func (o Options) filled() Options {
	if o.Alpha == 0 {
		o.Alpha = 0.05
	}
	if o.Least == 0 {
		o.Least = 0.1
	}
	return o
}

// A Change is what became of one rule. The numbers are written into JSON as names.
type Change uint8

const (
	Unknown   Change = 0 // it could not be compared
	Same      Change = 1 // nothing that chance alone would not do
	Moved     Change = 2 // shifted, but by less than counts
	Gained    Change = 3 // more margin than before
	Eroded    Change = 4 // less margin, though the verdict is the same
	Worse     Change = 5 // the verdict
	Better    Change = 6 // the verdict
	Different Change = 7 // another verdict, neither better nor worse
)

var changes = [...]string{Unknown: "not compared", Same: "same", Moved: "moved", Gained: "gained", Eroded: "eroded", Worse: "worse", Better: "better", Different: "different"}

// String is the change in a word or two.
func (c Change) String() string { return changes[c] }

// MarshalText writes the word.
func (c Change) MarshalText() ([]byte, error) { return []byte(c.String()), nil }

// A Comparison is what changed from run A to run B.
type Comparison struct {
	A            Side       `json:"a"`
	B            Side       `json:"b"`
	Alpha        float64    `json:"alpha"`
	Least        float64    `json:"least"`
	Claims       []Claim    `json:"claims,omitempty"`   // that changed
	New          []string   `json:"new,omitempty"`      // scenarios of B alone
	Lost         []string   `json:"lost,omitempty"`     // scenarios of A alone
	NewRules     []string   `json:"newRules,omitempty"` // of scenarios of both
	LostRules    []string   `json:"lostRules,omitempty"`
	Scenarios    []Scenario `json:"scenarios"` // of both
	Rules        []Rule     `json:"rules"`     // of both
	Tested       int        `json:"tested"`    // rules whose values were compared
	Enough       int        `json:"enough"`    // trials a side below which no shift could have been found
	Notes        []string   `json:"notes,omitempty"`
	Regression   bool       `json:"regression"`
	Undetermined bool       `json:"undetermined"` // no regression was found, and something could not be compared
}

// A Side is one of the two runs.
type Side struct {
	Run      string `json:"run"`
	Board    string `json:"board"`
	Firmware string `json:"firmware"`
	Digest   string `json:"firmwareDigest,omitempty"`
	Seed     uint64 `json:"seed,string"`
	Trials   int    `json:"trials"`
	Verdict  string `json:"verdict"`
}

// A Claim is one that changed, or that only one of the runs has.
type Claim struct {
	Name string `json:"name"`
	Was  string `json:"was,omitempty"`
	Is   string `json:"is,omitempty"`
}

// A Scenario is the verdict of one on both sides.
type Scenario struct {
	Name   string `json:"name"`
	Was    string `json:"was"`
	Is     string `json:"is"`
	Change Change `json:"change"`
}

// A Rule is one rule on both sides. Figures are in the unit of its findings.
type Rule struct {
	Scenario string  `json:"scenario"`
	Name     string  `json:"name"`
	Was      string  `json:"was"` // verdict over all trials
	Is       string  `json:"is"`
	Unit     string  `json:"unit,omitempty"`
	Sense    string  `json:"sense,omitempty"`
	Limit    int64   `json:"limit,omitempty"`    // of B
	LimitWas int64   `json:"limitWas,omitempty"` // of A, where it was another
	Loosened bool    `json:"loosened,omitempty"` // the limit allows more than it did
	TrialsA  int     `json:"trialsA"`            // that measured something
	TrialsB  int     `json:"trialsB"`
	Compared bool    `json:"compared"` // the values were
	MedianA  int64   `json:"medianA,omitempty"`
	MedianB  int64   `json:"medianB,omitempty"`
	Shift    int64   `json:"shift,omitempty"` // Hodges and Lehmann, B less A
	Low      int64   `json:"low,omitempty"`   // its interval
	High     int64   `json:"high,omitempty"`
	Covered  bool    `json:"covered"` // there is such an interval
	P        float64 `json:"p,omitempty"`
	Adjusted float64 `json:"adjusted,omitempty"` // after Holm
	Exact    bool    `json:"exact,omitempty"`
	Eroded   float64 `json:"eroded,omitempty"` // part of A's margin that has gone; less than 0: more margin
	Change   Change  `json:"change"`
	Why      string  `json:"why,omitempty"` // it was not compared

	a, b      []int64
	other     bool // it asks for something else than it did
	unit      rule.Unit
	sense     rule.Sense
	wasV, isV rule.Verdict
}

// Compare compares two runs.
func Compare(a, b *reports.Run, o Options) *Comparison {
	o = o.filled()
	c := &Comparison{A: side(a), B: side(b), Alpha: o.Alpha, Least: o.Least}
	if a.Bench.Simulated != b.Bench.Simulated {
		c.Undetermined = true // what a simulated controller does says nothing of a real one
		c.Notes = append(c.Notes, "one of the runs was performed with a simulated controller, and the other was not: nothing is said of any change of the hardware")
	}
	if silent(b.Verdict) {
		c.Undetermined = true // it may have been cut short after the last trial that is here
		c.Notes = append(c.Notes, strings.TrimSuffix("run B as a whole is "+b.Verdict.String()+": "+b.Reason, ": "))
	}
	c.claims(a, b)
	c.scenarios(a, b)
	c.test()
	for i := range c.Rules {
		c.Rules[i].judge(o)
	}
	c.conclude()
	return c
}

func side(r *reports.Run) Side {
	return Side{Run: r.ID, Board: r.Controller.Board, Firmware: r.Controller.Firmware, Digest: r.Controller.Digest, Seed: r.Seed,
		Trials: r.Trials, Verdict: r.Verdict.String()}
}

func (c *Comparison) claims(a, b *reports.Run) {
	was := map[string]string{}
	for _, x := range a.Controller.Claims {
		was[x.Name] = x.Value
	}
	for _, x := range b.Controller.Claims {
		if old, had := was[x.Name]; !had || old != x.Value {
			c.Claims = append(c.Claims, Claim{x.Name, old, x.Value})
		}
		delete(was, x.Name)
	}
	for _, x := range a.Controller.Claims {
		if _, lost := was[x.Name]; lost {
			c.Claims = append(c.Claims, Claim{x.Name, x.Value, ""})
		}
	}
}

// scenarios pairs scenarios and rules by their names.
func (c *Comparison) scenarios(a, b *reports.Run) {
	for i := range a.Scenarios {
		s := &a.Scenarios[i]
		t := b.Scenario(s.Name)
		if t == nil {
			c.Lost = append(c.Lost, s.Name)
			continue
		}
		c.Scenarios = append(c.Scenarios, Scenario{s.Name, s.Verdict.String(), t.Verdict.String(), verdictChange(s.Verdict, t.Verdict)})
		c.pair(s, t)
	}
	for i := range b.Scenarios {
		if a.Scenario(b.Scenarios[i].Name) == nil {
			c.New = append(c.New, b.Scenarios[i].Name)
		}
	}
}

func (c *Comparison) pair(s, t *reports.Scenario) {
	index := func(all []reports.Rule, name string) int {
		return slices.IndexFunc(all, func(r reports.Rule) bool { return r.Name == name })
	}
	for i, r := range s.Rules {
		j := index(t.Rules, r.Name)
		if j < 0 {
			c.LostRules = append(c.LostRules, s.Name+": "+r.Name)
			continue
		}
		c.Rules = append(c.Rules, ruleOf(s, t, i, j))
	}
	for _, r := range t.Rules {
		if index(s.Rules, r.Name) < 0 {
			c.NewRules = append(c.NewRules, t.Name+": "+r.Name)
		}
	}
}

func ruleOf(s, t *reports.Scenario, i, j int) Rule {
	r := Rule{Scenario: s.Name, Name: s.Rules[i].Name, other: another(&s.Rules[i], &t.Rules[j])}
	was, is := gather(s, i), gather(t, j)
	r.wasV, r.isV, r.a, r.b = was.verdict, is.verdict, was.values, is.values
	r.Was, r.Is, r.TrialsA, r.TrialsB = was.verdict.String(), is.verdict.String(), len(was.values), len(is.values)
	r.unit, r.sense, r.Limit = is.unit, is.sense, is.limit
	if is.unit == rule.NoUnit {
		r.unit, r.sense, r.Limit = was.unit, was.sense, was.limit
	}
	if was.limit != is.limit && len(was.values) > 0 && len(is.values) > 0 {
		r.LimitWas = was.limit
	}
	r.Unit, r.Sense = r.unit.Symbol(), senseName(r.sense)
	r.Loosened = was.sense == is.sense && was.unit == is.unit && looser(was.limit, is.limit, is.sense)
	switch {
	case r.unit == rule.NoUnit || r.sense == rule.NoSense:
		r.Why = "nothing is measured"
	case r.unit == rule.Times:
		r.Why = "it is counted"
	case len(r.a)+len(r.b) == 0:
		r.Why = "neither side measured anything"
	case len(r.a) == 0 || len(r.b) == 0:
		r.Why = "one side measured nothing"
	default:
		r.Compared = true
	}
	return r
}

// another says that two rules of one name ask for different things.
func another(a, b *reports.Rule) bool {
	return a.Pattern != b.Pattern || a.Of != b.Of || a.Then != b.Then || a.Scope != b.Scope
}

// looser says that a limit allows more than it did.
func looser(was, is int64, s rule.Sense) bool {
	return s == rule.AtMost && is > was || s == rule.AtLeast && is < was
}

// gathered is what the trials of one side say of a rule.
type gathered struct {
	verdict rule.Verdict
	values  []int64
	unit    rule.Unit
	sense   rule.Sense
	limit   int64
}

func gather(s *reports.Scenario, r int) gathered {
	var g gathered
	any := false
	for i := range s.Trials {
		t := &s.Trials[i]
		for _, f := range t.Findings {
			if f.Rule != r {
				continue
			}
			v := reports.Standing(t, f)
			if !any || rule.Worst(g.verdict, v) != g.verdict {
				g.verdict, any = v, true
			}
			g.unit, g.sense, g.limit = f.Unit, f.Sense, f.Limit
			if f.Measured && v != rule.Void {
				g.values = append(g.values, f.Best())
			}
		}
	}
	slices.Sort(g.values)
	return g
}

func senseName(s rule.Sense) string {
	switch s {
	case rule.AtMost:
		return "at most"
	case rule.AtLeast:
		return "at least"
	}
	return ""
}

// test compares the values of every rule that has some on both sides, and corrects
// for there being so many.
func (c *Comparison) test() {
	var ps []float64
	var of []*Rule
	hopeless := 0
	for i := range c.Rules {
		r := &c.Rules[i]
		if !r.Compared {
			continue
		}
		r.values()
		ps, of = append(ps, r.P), append(of, r)
	}
	c.Tested = len(ps)
	if c.Tested == 0 {
		return
	}
	for i, p := range shift.Holm(ps) {
		of[i].Adjusted = p
		if shift.Smallest(len(of[i].a), len(of[i].b))*float64(c.Tested) > c.Alpha {
			of[i].Why = "so few trials that no shift could have been found"
			hopeless++
		}
	}
	c.Enough = shift.Fewest(c.Tested, c.Alpha)
	if hopeless > 0 {
		c.Notes = append(c.Notes, fmt.Sprintf("%d of the %d rules compared by value have so few trials that no shift of them could have been found: it takes %d a side", hopeless, c.Tested, c.Enough))
	}
}

// values works out medians, shift and probability.
func (r *Rule) values() {
	r.MedianA, r.MedianB = median(r.a), median(r.b)
	t := shift.MannWhitney(r.a, r.b)
	r.P, r.Exact = t.P, t.Exact
	e := shift.HodgesLehmann(r.a, r.b, 0.95)
	r.Shift, r.Low, r.High, r.Covered = e.Shift, e.Low, e.High, e.Covered
}

func median(sorted []int64) int64 {
	n := len(sorted)
	if n%2 == 1 {
		return sorted[n/2]
	}
	return sorted[n/2-1] + (sorted[n/2]-sorted[n/2-1])/2
}

// judge says what became of the rule.
func (r *Rule) judge(o Options) {
	if r.Compared && r.LimitWas == 0 {
		r.erode()
	}
	significant := r.Compared && r.Adjusted <= o.Alpha
	switch v := verdictChange(r.wasV, r.isV); {
	case v == Worse:
		r.Change = v
	case silent(r.isV) || silent(r.wasV) && r.isV != rule.Pass:
		r.Change, r.Why = Unknown, "nothing was found out on one side"
	case r.other:
		r.Change, r.Why = Unknown, "a rule of this name asks for something else than it did"
	case v != Same:
		r.Change = v
	case !r.Compared && r.Why == "one side measured nothing", r.Compared && r.Why != "":
		r.Change = Unknown
	case significant && r.LimitWas != 0:
		r.Change = Moved
	case significant && r.Eroded >= o.Least:
		r.Change = Eroded
	case significant && r.Eroded <= -o.Least:
		r.Change = Gained
	case significant:
		r.Change = Moved
	default:
		r.Change = Same
	}
}

// silent says that a verdict says nothing of the controller.
func silent(v rule.Verdict) bool { return v != rule.Pass && v != rule.Fail && v != rule.Inconclusive }

// erode works out which part of A's margin has gone. The margin is from the median
// to the limit; where A had none, there is nothing that could go.
func (r *Rule) erode() {
	margin, moved := r.Limit-r.MedianA, r.Shift
	if r.sense == rule.AtLeast {
		margin, moved = -margin, -moved
	}
	if margin > 0 {
		r.Eroded = float64(moved) / float64(margin)
	}
}

// verdictChange says whether one verdict is worse than another. Between those that
// say nothing of the controller there is no better or worse.
func verdictChange(was, is rule.Verdict) Change {
	switch {
	case was == is:
		return Same
	case was == rule.Pass, is == rule.Fail:
		return Worse
	case is == rule.Pass, was == rule.Fail:
		return Better
	}
	return Different
}

// conclude sums up.
func (c *Comparison) conclude() {
	for _, s := range c.Scenarios {
		c.Regression = c.Regression || s.Change == Worse
	}
	var looser []string
	for i := range c.Rules {
		switch r := &c.Rules[i]; {
		case r.Change == Worse, r.Change == Eroded:
			c.Regression = true
		case r.Change == Unknown:
			c.Undetermined = true
		case r.Loosened && r.isV != rule.Fail: // that a lower bar is passed says nothing of the old one
			c.Undetermined, looser = true, append(looser, r.Scenario+": "+r.Name)
		}
	}
	if len(looser) > 0 {
		c.Notes = append(c.Notes, "these allow more in B than in A, so that B keeps them does not say that it would have kept A's: "+strings.Join(looser, "; "))
	}
	c.Undetermined = !c.Regression && (c.Undetermined || len(c.Lost)+len(c.LostRules) > 0)
	if c.A.Seed == c.B.Seed && c.A.Trials > 1 {
		c.Notes = append(c.Notes, "both runs drew their trials from the same seed: where nothing but chance differs their values are equal, not only alike")
	}
	slices.SortStableFunc(c.Rules, func(x, y Rule) int { return cmp.Compare(concern(x.Change), concern(y.Change)) })
}

// concern orders what is to be read first.
func concern(c Change) int {
	return slices.Index([]Change{Worse, Eroded, Unknown, Different, Moved, Better, Gained, Same}, c)
}
