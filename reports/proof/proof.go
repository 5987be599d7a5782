package proof

import (
	"time"

	"pintle/rig/rule"
)

// A Proof is what each scenario said of each controller.
type Proof struct {
	Scenarios []Scenario
	Sound     []Cell // of the controller without a defect, one for each scenario
	Rows      []Row
}

// A Scenario is a column.
type Scenario struct {
	Name  string
	Group string
	Took  time.Duration // of bench time, one trial with the sound controller
}

// A Row is one controller with a defect, or with a pair of them.
type Row struct {
	Name  string
	Means string
	Pair  bool
	Cells []Cell
}

// A Cell is the worst verdict of one scenario's trials. The zero Cell was not
// performed, which catches nothing.
type Cell struct {
	Verdict rule.Verdict
	Reason  string
}

// Performed says whether there is a verdict.
func (c Cell) Performed() bool { return c.Verdict != rule.Unsettled }

// By lists the scenarios that catch the row's defect, by number.
func (r *Row) By() []int {
	var by []int
	for i, c := range r.Cells {
		if c.Verdict == rule.Fail {
			by = append(by, i)
		}
	}
	return by
}

// Wrong lists the scenarios that the sound controller does not pass.
func (p *Proof) Wrong() []int {
	var wrong []int
	for i, c := range p.Sound {
		if c.Verdict != rule.Pass {
			wrong = append(wrong, i)
		}
	}
	return wrong
}

// Escaped lists the rows that no scenario catches.
func (p *Proof) Escaped() []int {
	var out []int
	for i := range p.Rows {
		if len(p.Rows[i].By()) == 0 {
			out = append(out, i)
		}
	}
	return out
}

// Holds says whether everything is caught, and the sound controller passes all.
// A proof of nothing does not hold.
func (p *Proof) Holds() bool {
	return len(p.Rows) > 0 && len(p.Scenarios) > 0 && len(p.Sound) == len(p.Scenarios) &&
		len(p.Wrong()) == 0 && len(p.Escaped()) == 0
}

// Cheapest is the scenario that catches a row in the least bench time.
func (p *Proof) Cheapest(row int) (scenario int, ok bool) {
	for _, i := range p.Rows[row].By() {
		if !ok || p.Scenarios[i].Took < p.Scenarios[scenario].Took {
			scenario, ok = i, true
		}
	}
	return scenario, ok
}

// Only lists the rows that nothing but this scenario catches. Of a row for which
// some scenarios were not performed it cannot be said, unless they were left out
// because this one had caught it already; it is said all the same.
func (p *Proof) Only(scenario int) []int {
	var rows []int
	for i := range p.Rows {
		if by := p.Rows[i].By(); len(by) == 1 && by[0] == scenario {
			rows = append(rows, i)
		}
	}
	return rows
}
