package scenarios

import (
	"slices"

	"pintle/rig/signal"
	"pintle/scenarios/condition"
	"pintle/scenarios/quantity"
	"pintle/scenarios/yamlfile"
)

// A ScenarioFile is one file of scenarios/: what happens to the controller, and
// the rules that it is held to.
type ScenarioFile struct {
	Title  yamlfile.Text  `key:"title" need:"yes" doc:"what happens, in a few words"`
	Why    yamlfile.Text  `key:"why" need:"yes" doc:"why it matters on a real gate"`
	Group  yamlfile.Text  `key:"group" need:"yes" words:"people|mechanism|electronics|battery|convenience" doc:"what it protects"`
	Hazard yamlfile.Text  `key:"hazard" need:"yes" doc:"what a controller that fails it does to the world"`
	Start  Place          `key:"start" default:"closed" doc:"where the gate stands: closed, open, half open, or a part of the way such as 40 %"`
	Needs  []LineName     `key:"needs" doc:"lines without which it makes no sense, beside those that it speaks of"`
	Faults []FaultFile    `key:"faults" doc:"what is wrong with the lines"`
	Script []StepFile     `key:"script" need:"yes" limit:"some" doc:"what happens, one thing after the other"`
	Varies yamlfile.Text  `key:"varies" words:"all|phases" default:"all" doc:"what nature changes from trial to trial: all that gate.yaml says, or phases alone where the script rests on the usual battery, load and temperature"`
	Repeat yamlfile.Count `key:"repeat" limit:"1 to 10000" doc:"how often the script is performed, one time after the other, in one trial"`
	Rules  []RuleFile     `key:"rules" need:"yes" limit:"some" doc:"what the controller must do"`
}

// A FaultFile is one thing that is wrong with a line.
type FaultFile struct {
	yamlfile.Where
	Line LineName `key:"line" need:"yes" limit:"faulty" doc:"the line"`

	Kind         yamlfile.Chosen
	Word         yamlfile.Text    // of a kind that is a key and its word
	Time         quantity.Formula // the kind's main figure
	Other        LineName
	Every, After quantity.Formula
}

// A StepFile is one step of a script.
type StepFile struct {
	yamlfile.Where
	Press    LineName            `key:"press" choice:"yes" limit:"button" doc:"push a button and let go"`
	Hold     LineName            `key:"hold" choice:"yes" limit:"button" doc:"push a button and keep it pushed"`
	Release  LineName            `key:"release" choice:"yes" limit:"button" doc:"let go of a button"`
	Make     LineName            `key:"make" choice:"yes" limit:"driven" doc:"make a line, whatever the gate says"`
	Break    LineName            `key:"break" choice:"yes" limit:"driven" doc:"break a line, whatever the gate says"`
	Supply   yamlfile.Text       `key:"supply" choice:"yes" words:"on|off" doc:"put the controller's supply on or take it off; where the first supply step is on, the supply is off until then"`
	Await    condition.Condition `key:"await" choice:"yes" doc:"go on once this holds"`
	Wait     quantity.Formula    `key:"wait" choice:"yes" unit:"time" limit:"positive" doc:"go on after this time"`
	Obstruct Place               `key:"obstruct" choice:"yes" limit:"here" doc:"something stops the gate: here, or at a place on its way such as 40 %"`
	Clear    yamlfile.Text       `key:"clear" choice:"yes" words:"the way" doc:"the way: take away what stops the gate"`
	For      quantity.Formula    `key:"for" with:"press|make|break|supply" unit:"time" limit:"positive" doc:"how long, before it goes back; a press without it is an ordinary one"`
	Within   quantity.Formula    `key:"within" with:"await" need:"await" unit:"time" limit:"positive" doc:"the script ends if it takes longer"`
}

// A RuleFile is one rule. The key that is chosen is its pattern: rule.Patterns says
// which keys there are, and which of the parts below they go to.
type RuleFile struct {
	yamlfile.Where
	Name    yamlfile.Text   `key:"name" doc:"the requirement in words; made of the rule where it is not given"`
	Decides []yamlfile.Text `key:"decides" doc:"claims that it puts to the test without naming them, such as one that the script is made from"`

	Pattern                yamlfile.Chosen
	P, S                   condition.Condition
	Limit, Current, Window quantity.Formula
	Count                  yamlfile.Count
	Load, Beginning        quantity.Measure
	Heated                 yamlfile.Text

	Before  condition.Condition `key:"before" apart:"after|between" doc:"scope: only up to the first time that this holds"`
	After   condition.Condition `key:"after" apart:"between" doc:"scope: only from the first time that this holds; with until, from each time"`
	Until   condition.Condition `key:"until" beside:"after" doc:"scope, with after: up to the next time that this holds, or to the end"`
	Between condition.Condition `key:"between" beside:"and" doc:"scope, with and: from each time that this holds"`
	And     condition.Condition `key:"and" beside:"between" doc:"scope, with between: to the next time that this holds, if that comes"`
}

// lines is the set of lines that the scenario speaks of or needs.
func (s *ScenarioFile) lines() signal.LineSet {
	set := signal.SetOf(signal.Supply)
	add := func(names ...LineName) {
		for _, n := range names {
			if n.Line != signal.NoLine {
				set |= signal.SetOf(n.Line)
			}
		}
	}
	add(s.Needs...)
	for _, f := range s.Faults {
		add(f.Line, f.Other)
	}
	for _, st := range s.Script {
		add(st.Press, st.Hold, st.Release, st.Make, st.Break)
		set |= st.Await.Lines()
		if st.Obstruct.Given() {
			set |= signal.SetOf(signal.StallLoad)
		}
	}
	for i := range s.Rules {
		for _, c := range s.Rules[i].conditions() {
			set |= c.Lines()
		}
	}
	return set
}

// claims is the list of claims that the scenario refers to, each once.
func (s *ScenarioFile) claims() []string {
	var names []string
	for i := range s.Faults {
		names = append(names, s.Faults[i].claims()...)
	}
	for _, st := range s.Script {
		names = append(names, st.Await.Claims()...)
		for _, f := range []quantity.Formula{st.Wait, st.For, st.Within} {
			names = append(names, claimsOf(f)...)
		}
	}
	for i := range s.Rules {
		names = append(names, s.Rules[i].claims()...)
	}
	return unique(names)
}

// claims is the list of claims that the rule refers to, each once.
func (r *RuleFile) claims() []string {
	var names []string
	for _, c := range r.conditions() {
		names = append(names, c.Claims()...)
	}
	for _, f := range []quantity.Formula{r.Current, r.Limit, r.Window} {
		names = append(names, claimsOf(f)...)
	}
	for _, d := range r.Decides {
		names = append(names, d.Text)
	}
	return unique(names)
}

func (r *RuleFile) conditions() []condition.Condition {
	return []condition.Condition{r.P, r.S, r.Before, r.After, r.Until, r.Between, r.And}
}

// claims is the list of claims that the fault's times refer to.
func (f *FaultFile) claims() []string {
	return slices.Concat(claimsOf(f.Time), claimsOf(f.Every), claimsOf(f.After))
}

func claimsOf(f quantity.Formula) []string {
	var names []string
	for _, ref := range f.Expression.Claims() {
		names = append(names, ref.Name)
	}
	return names
}
