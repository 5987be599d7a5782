package proof

import (
	"reflect"
	"time"

	"pintle/reports/schema"
)

// Format is the number of the form that programs read.
const Format = "pintle proof 1"

// A Told is a proof for other programs to read: everything by its name.
type Told struct {
	Format    string         `json:"format" const:"pintle proof 1"`
	Holds     bool           `json:"holds" doc:"no defect escapes, and the sound controller passes every scenario"`
	Caught    int            `json:"caught" doc:"controllers with a defect, or a pair of them, that some scenario fails"`
	Escaped   []string       `json:"escaped" doc:"defects that no scenario catches"`
	Scenarios []ToldScenario `json:"scenarios"`
	Defects   []ToldDefect   `json:"defects"`
	Shortest  ToldCover      `json:"shortest"`
}

// A ToldScenario is one scenario, with what it said of the sound controller.
type ToldScenario struct {
	Name   string        `json:"name"`
	Group  string        `json:"group" doc:"what it protects"`
	Took   time.Duration `json:"took_ns" doc:"nanoseconds of bench time, one trial with the sound controller"`
	Sound  string        `json:"sound" enum:"pass,fail,inconclusive,void,unsettled" doc:"verdict on the controller without a defect"`
	Reason string        `json:"sound_reason,omitempty"`
	Only   []string      `json:"only" doc:"defects that nothing else catches"`
}

// A ToldDefect is one controller with a defect, or with a pair of them.
type ToldDefect struct {
	Name     string        `json:"name"`
	Means    string        `json:"means"`
	Pair     bool          `json:"pair,omitempty" doc:"two defects that come together"`
	Cheapest string        `json:"cheapest,omitempty" doc:"scenario that catches it in the least bench time; left out where none does"`
	By       []string      `json:"caught_by" doc:"scenarios"`
	Said     []ToldVerdict `json:"verdicts" doc:"of the scenarios that were performed"`
	Not      []string      `json:"not_performed" doc:"scenarios that say nothing: they are long, and the defect was caught already"`
}

// A ToldVerdict is what a scenario's trials came to.
type ToldVerdict struct {
	Scenario string `json:"scenario"`
	Verdict  string `json:"verdict" enum:"pass,fail,inconclusive,void,unsettled" doc:"the worst of its trials; only fail catches the defect"`
	Reason   string `json:"reason,omitempty"`
}

// A ToldCover is a part of the scenarios that catches what the whole set catches.
type ToldCover struct {
	Scenarios []string      `json:"scenarios"`
	Took      time.Duration `json:"took_ns" doc:"nanoseconds of bench time, one trial each"`
	Smallest  bool          `json:"smallest" doc:"it is certain that no fewer would do, nor as many in less time"`
}

// Schema is the JSON Schema of a Told.
func Schema() ([]byte, error) {
	return schema.Of(reflect.TypeFor[Told](), "What a set of scenarios is worth ("+Format+")")
}

// Tell gives the proof for other programs to read.
func (p *Proof) Tell() *Told {
	c := p.Shortest()
	t := &Told{Format: Format, Holds: p.Holds(), Caught: len(p.Rows) - len(p.Escaped()), Escaped: p.defects(p.Escaped()),
		Scenarios: []ToldScenario{}, Defects: []ToldDefect{}, Shortest: ToldCover{p.scenarios(c.Scenarios), c.Took, c.Smallest}}
	for i, s := range p.Scenarios {
		t.Scenarios = append(t.Scenarios, ToldScenario{Name: s.Name, Group: s.Group, Took: s.Took,
			Sound: p.Sound[i].Verdict.String(), Reason: p.Sound[i].Reason, Only: p.defects(p.Only(i))})
	}
	for i := range p.Rows {
		t.Defects = append(t.Defects, p.tellDefect(i))
	}
	return t
}

func (p *Proof) tellDefect(row int) ToldDefect {
	r := &p.Rows[row]
	d := ToldDefect{Name: r.Name, Means: r.Means, Pair: r.Pair, By: p.scenarios(r.By()), Said: []ToldVerdict{}, Not: []string{}}
	if c, ok := p.Cheapest(row); ok {
		d.Cheapest = p.Scenarios[c].Name
	}
	for i, c := range r.Cells {
		if c.Performed() {
			d.Said = append(d.Said, ToldVerdict{p.Scenarios[i].Name, c.Verdict.String(), c.Reason})
		} else {
			d.Not = append(d.Not, p.Scenarios[i].Name)
		}
	}
	return d
}

// scenarios gives the names of scenarios by their numbers.
func (p *Proof) scenarios(numbers []int) []string {
	names := []string{}
	for _, i := range numbers {
		names = append(names, p.Scenarios[i].Name)
	}
	return names
}

// defects gives the names of rows by their numbers.
func (p *Proof) defects(rows []int) []string {
	names := []string{}
	for _, i := range rows {
		names = append(names, p.Rows[i].Name)
	}
	return names
}
