package scenarios

import (
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
	Line        LineName         `key:"line" need:"yes" limit:"faulty" doc:"the line"`
	Never       yamlfile.Text    `key:"never" choice:"yes" words:"makes" doc:"makes: the contact stays broken"`
	Stuck       yamlfile.Text    `key:"stuck" choice:"yes" words:"made|broken" doc:"made: made from the start; broken: never makes again once broken"`
	Late        quantity.Formula `key:"late" choice:"yes" unit:"time" limit:"positive" doc:"each change comes this much later"`
	Early       quantity.Formula `key:"early" choice:"yes" unit:"time" limit:"positive" doc:"each change comes this much earlier"`
	BreaksLate  quantity.Formula `key:"breaks late" choice:"yes" unit:"time" limit:"positive" doc:"it makes as it should and breaks this much later"`
	BreaksEarly quantity.Formula `key:"breaks early" choice:"yes" unit:"time" limit:"positive" doc:"it makes as it should and breaks this much earlier, but never before it made"`
	Bounces     quantity.Formula `key:"bounces" choice:"yes" unit:"time" limit:"positive" doc:"each change is followed by a burst of contact bounce of up to this length"`
	BouncesOff  quantity.Formula `key:"bounces on release" choice:"yes" unit:"time" limit:"positive" doc:"each breaking is followed by a burst of contact bounce of up to this length"`
	Chatters    quantity.Formula `key:"chatters" choice:"yes" unit:"time" limit:"positive" doc:"while made, the contact opens for this long, again and again"`
	DropsOut    quantity.Formula `key:"drops out" choice:"yes" unit:"time" limit:"positive" doc:"once made, the contact opens for this long"`
	Pulses      quantity.Formula `key:"pulses" choice:"yes" unit:"time" limit:"positive" doc:"where it should stay made, it is made for this long only; it is broken from the start"`
	Glitches    quantity.Formula `key:"glitches" choice:"yes" unit:"time" limit:"positive" doc:"it goes to its other level for moments of 1 µs up to this"`
	Drifts      quantity.Formula `key:"drifts" choice:"yes" unit:"time" limit:"positive" doc:"each making comes this much later than the one before it did"`
	SwappedWith LineName         `key:"swapped with" choice:"yes" limit:"faulty" doc:"the other line that it is exchanged with"`
	Every       quantity.Formula `key:"every" with:"chatters|glitches" need:"chatters|glitches" unit:"time" limit:"positive" doc:"how often it chatters or glitches"`
	After       quantity.Formula `key:"after" with:"drops out" need:"drops out" unit:"time" limit:"positive" doc:"how long after making it drops out"`
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

// A RuleFile is one rule. Its first key is the pattern.
type RuleFile struct {
	yamlfile.Where
	Name    yamlfile.Text   `key:"name" doc:"the requirement in words; made of the rule where it is not given"`
	Decides []yamlfile.Text `key:"decides" doc:"claims that it puts to the test without naming them, such as one that the script is made from"`

	Absence           condition.Condition `key:"absence" choice:"yes" doc:"this never holds"`
	Universality      condition.Condition `key:"universality" choice:"yes" limit:"state" doc:"this always holds"`
	Existence         condition.Condition `key:"existence" choice:"yes" doc:"this holds at some time"`
	BoundedExistence  condition.Condition `key:"bounded existence" choice:"yes" doc:"this comes to hold a number of times at most"`
	Precedence        condition.Condition `key:"precedence" choice:"yes" doc:"this does not hold before something else has held"`
	Response          condition.Condition `key:"response" choice:"yes" doc:"whenever this holds, something else holds then or later"`
	MinimumDuration   condition.Condition `key:"minimum duration" choice:"yes" limit:"state" doc:"once this holds it holds for a time at least"`
	MaximumDuration   condition.Condition `key:"maximum duration" choice:"yes" limit:"state" doc:"once this holds it holds for a time at most"`
	BoundedRecurrence condition.Condition `key:"bounded recurrence" choice:"yes" doc:"this holds at least once in every stretch of a time"`
	BoundedResponse   condition.Condition `key:"bounded response" choice:"yes" doc:"whenever this holds, something else holds within a time"`
	BoundedInvariance condition.Condition `key:"bounded invariance" choice:"yes" doc:"whenever this holds, something else holds from then on for a time at least"`
	CurrentUnder      quantity.Formula    `key:"current under" choice:"yes" unit:"current" limit:"positive" doc:"the motor current stays at or under this"`
	CurrentOver       quantity.Formula    `key:"current over" choice:"yes" unit:"current" doc:"the motor current stays at or over this"`
	AverageUnder      quantity.Formula    `key:"average current under" choice:"yes" unit:"current" limit:"positive" doc:"the mean motor current stays at or under this"`
	ThermalUnder      quantity.Measure    `key:"thermal load under" choice:"yes" unit:"number" limit:"0.01 to 100" doc:"the heat in a part that gate.yaml rates stays at or under this part of what it stands for ever"`
	AverageOver       quantity.Formula    `key:"average current over" choice:"yes" unit:"current" doc:"the mean motor current stays at or over this"`

	Is        quantity.Formula    `key:"is" with:"minimum duration|maximum duration" need:"minimum duration|maximum duration" unit:"time" limit:"positive" doc:"the time"`
	AtMost    yamlfile.Count      `key:"at most" with:"bounded existence" need:"bounded existence" limit:"0 to 1000000" doc:"how many times"`
	OnlyAfter condition.Condition `key:"only after" with:"precedence" need:"precedence" doc:"what must have held before"`
	Then      condition.Condition `key:"then" with:"response|bounded response|bounded invariance" need:"response|bounded response|bounded invariance" doc:"what must follow"`
	Within    quantity.Formula    `key:"within" with:"bounded response" need:"bounded response" unit:"time" limit:"positive" doc:"how soon it must follow"`
	For       quantity.Formula    `key:"for" with:"bounded invariance" need:"bounded invariance" unit:"time" limit:"positive" doc:"how long it must hold"`
	Every     quantity.Formula    `key:"every" with:"bounded recurrence" need:"bounded recurrence" unit:"time" limit:"positive" doc:"the stretch of time"`
	Over      quantity.Formula    `key:"over" with:"average current under|average current over" need:"average current under|average current over" unit:"time" limit:"positive" doc:"the time that the mean is taken over"`

	Of        yamlfile.Text    `key:"of" with:"thermal load under" need:"thermal load under" words:"bridge|motor" doc:"the part"`
	Beginning quantity.Measure `key:"beginning at" with:"thermal load under" unit:"number" limit:"0 to 100" default:"0 %" doc:"its load at the beginning of the trial; cold where it is not given"`

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
		add(f.Line, f.SwappedWith)
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
	for _, f := range []quantity.Formula{r.CurrentUnder, r.CurrentOver, r.AverageUnder, r.AverageOver, r.Is, r.Within, r.For, r.Every, r.Over} {
		names = append(names, claimsOf(f)...)
	}
	for _, d := range r.Decides {
		names = append(names, d.Text)
	}
	return unique(names)
}

func (r *RuleFile) conditions() []condition.Condition {
	return []condition.Condition{r.Absence, r.Universality, r.Existence, r.BoundedExistence, r.Precedence, r.Response,
		r.MinimumDuration, r.MaximumDuration, r.BoundedRecurrence, r.BoundedResponse, r.BoundedInvariance,
		r.OnlyAfter, r.Then, r.Before, r.After, r.Until, r.Between, r.And}
}

// claims is the list of claims that the fault's times refer to.
func (f *FaultFile) claims() []string {
	var names []string
	for _, d := range []quantity.Formula{f.Late, f.Early, f.BreaksLate, f.BreaksEarly, f.Bounces, f.BouncesOff, f.Chatters,
		f.DropsOut, f.Pulses, f.Glitches, f.Drifts, f.Every, f.After} {
		names = append(names, claimsOf(d)...)
	}
	return names
}

func claimsOf(f quantity.Formula) []string {
	var names []string
	for _, ref := range f.Expression.Claims() {
		names = append(names, ref.Name)
	}
	return names
}
