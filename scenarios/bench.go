package scenarios

import (
	"fmt"

	"pintle/rig/signal"
	"pintle/rig/uncertainty"
	"pintle/scenarios/quantity"
	"pintle/scenarios/yamlfile"
)

// A BenchFile is bench.yaml: what the controller is put to the test on.
type BenchFile struct {
	Title   yamlfile.Text          `key:"title" need:"yes" doc:"what this job is"`
	Place   yamlfile.Text          `key:"place" doc:"where the gate stands"`
	House   LaboratoryFile         `key:"laboratory" doc:"who performs the trials and answers for them; what is not given here is left as a line to fill in by hand"`
	At      yamlfile.Text          `key:"performed at" doc:"where the trials are performed: in the laboratory, at the customer's, or elsewhere"`
	Kind    yamlfile.Text          `key:"bench" names:"bench" default:"virtual"`
	Chip    yamlfile.Text          `key:"chip" doc:"of pi: the label of the GPIO chip, where it is not that of a Raspberry Pi"`
	Lead    quantity.Duration      `key:"lead" default:"50ms" limit:"positive" doc:"of pi: how far ahead the bench plans, so that a busy computer makes no edge late"`
	Late    quantity.Duration      `key:"late" doc:"of pi: an edge that is later than this makes a trial void; 1 ms, or 10 ms without real-time priority, where it is not given"`
	Lines   yamlfile.Map[LineFile] `key:"lines" need:"yes" names:"line" doc:"the lines between bench and controller, and how they are wired"`
	InUse   []yamlfile.Text        `key:"in use" names:"bus" doc:"parts of the board that are switched on, and take their pins for themselves"`
	Meter   MeterFile              `key:"meter" need:"yes" doc:"the meter of the motor current"`
	Motor   MotorFile              `key:"motor" doc:"when a current counts as a running motor"`
	Clock   quantity.Measure       `key:"clock error" unit:"number" limit:"0 to 0.01" default:"0.005 %" doc:"by how much of a time the bench's clock may be off"`
	Decides DecisionFile           `key:"decision" doc:"how a verdict is reached from an uncertain value"`
	Guard   GuardFile              `key:"guard" need:"yes" doc:"the bench's own protection, which no scenario can change"`
	Settle  quantity.Duration      `key:"settle" default:"1s" doc:"how long the supply is on before a script begins"`
	Longest quantity.Duration      `key:"longest trial" default:"10min" limit:"positive" doc:"a trial that reaches this ends there"`
	Virtual VirtualFile            `key:"virtual" doc:"the simulated motor, battery and controller"`
}

// A LaboratoryFile is who performs the trials.
type LaboratoryFile struct {
	Name    yamlfile.Text `key:"name" doc:"what the workshop or laboratory is called"`
	Address yamlfile.Text `key:"address" doc:"where it is, in one line"`
}

// A LineFile is how one line is wired. A virtual bench needs none of it.
type LineFile struct {
	Pin       Pin              `key:"pin" doc:"the pin of the bench that it is wired to, such as GPIO17, or 11 for the 11th pin of the connector"`
	Active    yamlfile.Text    `key:"active" words:"high|low" default:"high" doc:"the level of the pin that closes the contact"`
	Pull      yamlfile.Text    `key:"pull" words:"none|up|down" default:"none" doc:"the resistor at the pin"`
	Drive     yamlfile.Text    `key:"drive" words:"push-pull|open drain" default:"push-pull" doc:"open drain leaves the pin's high voltage to a pull-up"`
	Contact   yamlfile.Text    `key:"contact" words:"normally open|normally closed" default:"normally open" doc:"what the controller takes for a contact at rest"`
	Direction yamlfile.Text    `key:"direction" words:"output|input" doc:"as the bench sees it: output where it drives the line, input where it only sees it; the line's name says so too, and the two must agree"`
	Through   yamlfile.Text    `key:"through" words:"optocoupler|relay|transistor|direct" doc:"what stands between pin and controller; where it is not given, a relay for supplies and loads, else an optocoupler"`
	Voltage   quantity.Measure `key:"voltage" unit:"voltage" limit:"0 to 1000" doc:"the highest on the controller's side of that; needed where it is direct, and then at most 3.3V"`
	Connector yamlfile.Text    `key:"connector" doc:"where the wire ends at the controller, such as J4.2"`
	ReadBy    LineName         `key:"read back by" limit:"seen" doc:"another line, whose input this one is looped back to for pintle check --bench; for runs the loop comes off"`
	Note      yamlfile.Text    `key:"note" doc:"what else whoever wires it up should know"`
}

// A MotorFile says when a current counts as a running motor.
type MotorFile struct {
	RunsAbove  quantity.Amperage `key:"runs above" default:"1.5A" limit:"positive" doc:"at or above this a standing motor has started"`
	StopsBelow quantity.Amperage `key:"stops below" default:"1A" limit:"positive" doc:"below this a running motor has stopped"`
	Settle     quantity.Duration `key:"settle" default:"20ms" doc:"how long a change must last before it counts"`
	Swing      quantity.Duration `key:"swing" default:"500us" doc:"how long the current takes from running to nothing, or the other way; some electrical time constants of the motor"`
}

// A DecisionFile is how a verdict is reached from an uncertain value.
type DecisionFile struct {
	Rule     yamlfile.Text    `key:"rule" names:"decision rule" default:"four-way"`
	Guard    quantity.Measure `key:"guard band" unit:"number" limit:"0.01 to 10" default:"100 %" doc:"as a part of the expanded uncertainty; simple acceptance has none"`
	Coverage quantity.Measure `key:"coverage" unit:"number" limit:"0.5 to 0.9999" default:"95 %" doc:"probability that the stated interval holds the true value"`
}

// Kind is the decision rule that is asked for.
func (d *DecisionFile) Kind() uncertainty.RuleKind { return uncertainty.RuleKindOf(d.Rule.Text) }

// A GuardFile is the bench's own protection.
type GuardFile struct {
	MostCurrent  quantity.Amperage `key:"most current" need:"yes" limit:"positive" doc:"at this current the supply is taken off"`
	LongestDrive quantity.Duration `key:"longest drive" need:"yes" limit:"positive" doc:"the motor may run this long without a pause"`
	MeterSilence quantity.Duration `key:"meter silence" need:"yes" limit:"positive" doc:"the longest time without a reading"`
}

// A VirtualFile is what the virtual bench simulates.
type VirtualFile struct {
	Motor      VirtualMotor      `key:"motor" doc:"the simulated motor"`
	Battery    VirtualBattery    `key:"battery" doc:"the simulated battery"`
	Controller VirtualController `key:"controller" doc:"the simulated controller"`
}

// A VirtualMotor is a brushed motor. The torque that the gate asks of it comes
// from the currents in gate.yaml unless it is given here.
type VirtualMotor struct {
	Resistance  quantity.Measure `key:"resistance" unit:"resistance" limit:"0.001 to 1000" doc:"of the winding; worked out of the stall current where it is not given"`
	Inductance  quantity.Measure `key:"inductance" unit:"inductance" limit:"0.000001 to 10" default:"0.8mH" doc:"of the winding"`
	Constant    quantity.Measure `key:"constant" unit:"constant" limit:"0.0001 to 100" default:"0.07Vs/rad" doc:"voltage over speed, and torque over current"`
	Inertia     quantity.Measure `key:"inertia" unit:"inertia" limit:"0.0000001 to 100" default:"0.0008kgm2" doc:"of all that turns, at the motor's shaft"`
	Friction    quantity.Measure `key:"friction" unit:"friction" limit:"0 to 10" default:"0.0004Nms/rad" doc:"viscous, at the motor's shaft"`
	OpeningLoad quantity.Measure `key:"opening load" unit:"torque" limit:"0 to 1000" doc:"at the motor's shaft; worked out of the opening current where it is not given"`
	ClosingLoad quantity.Measure `key:"closing load" unit:"torque" limit:"0 to 1000" doc:"at the motor's shaft; worked out of the closing current where it is not given"`
	Drag        quantity.Measure `key:"drag" unit:"number" limit:"0 to 10" default:"35 %" doc:"part by which the loads are heavier while drag-load drags"`
	Short       quantity.Measure `key:"short" unit:"resistance" limit:"0.001 to 1000" doc:"of what motor-short puts across the motor; where it is not given, such that an opening motor reads 7 % above the short-circuit current"`
}

// A VirtualBattery is a voltage behind a resistance.
type VirtualBattery struct {
	Voltage    quantity.Measure `key:"voltage" unit:"voltage" limit:"1 to 1000" default:"24V" doc:"with nothing drawn"`
	Resistance quantity.Measure `key:"resistance" unit:"resistance" limit:"0 to 100" default:"50mohm" doc:"inside the battery and along its wires"`
	Sagging    quantity.Measure `key:"sagging" unit:"voltage" limit:"0 to 1000" doc:"with nothing drawn, while supply-sag sags; 70 % of the voltage where it is not given"`
	Dipped     quantity.Measure `key:"dipped" unit:"voltage" limit:"0 to 1000" doc:"with nothing drawn, while supply-dip is dipped; 40 % of the voltage where it is not given"`
}

// A VirtualController is the simulated controller: it keeps its claims with room
// to spare, as much as Keeps says, except for figures given here.
type VirtualController struct {
	Loop     quantity.Duration              `key:"loop" default:"1ms" limit:"positive" doc:"time from one turn of its program to the next"`
	Keeps    quantity.Measure               `key:"keeps" unit:"number" limit:"0.05 to 3" default:"70 %" doc:"its own figures as a part of what it claims; above 100 % it breaks its claims"`
	BrownOut quantity.Measure               `key:"brown-out" unit:"voltage" limit:"0 to 1000" doc:"its logic resets below this; 35 % of the battery's voltage where it is not given"`
	HoldUp   quantity.Duration              `key:"hold-up" default:"20ms" doc:"how long its logic lives on below that"`
	Really   yamlfile.Map[quantity.Formula] `key:"really" names:"claim" doc:"figures of its own by the name of the claim, in place of that part"`

	Figures []Claim // Really worked out
}

// LineSet is the set of lines that the bench has.
func (b *BenchFile) LineSet() signal.LineSet {
	var set signal.LineSet
	for _, e := range b.Lines {
		if l, ok := signal.LineNamed(e.Name.Text); ok {
			set |= signal.SetOf(l)
		}
	}
	return set
}

// check says what does not fit together.
func (b *BenchFile) check(with *Equipment) yamlfile.Mistakes {
	bad := append(b.checkLines(), b.Meter.check(with)...)
	if with.bench(b.Kind.Text).Pins {
		bad = append(bad, b.checkReal()...)
	}
	if runs, stops := b.Motor.RunsAbove, b.Motor.StopsBelow; stops.Value > runs.Value && (runs.Given() || stops.Given()) {
		at, other := stops, runs
		if !at.Given() {
			at, other = runs, stops
		}
		bad = append(bad, at.Wrong(fmt.Sprintf("the motor would stop below %v and run only above %v", stops.Value, runs.Value), yamlfile.Expected("stops below at most runs above, which is "+other.Text)))
	}
	if d := b.Decides; d.Kind() == uncertainty.SimpleAcceptance && d.Guard.Given() {
		bad = append(bad, d.Guard.Wrong("simple acceptance has no guard band", yamlfile.Expected("rule: guarded acceptance, or no guard band")))
	}
	if g := b.Guard; g.MostCurrent.Given() && g.MostCurrent.Value <= b.Motor.RunsAbove.Value && g.MostCurrent.Value > 0 {
		bad = append(bad, g.MostCurrent.Wrong("the guard would trip before the motor counts as running", yamlfile.Expected("more than "+b.Motor.RunsAbove.Value.String())))
	}
	return bad
}

// checkReal wants a real bench to say where its lines and its meter are.
func (b *BenchFile) checkReal() yamlfile.Mistakes {
	var bad yamlfile.Mistakes
	for _, e := range b.Lines {
		if !e.Value.Pin.Given() {
			bad = append(bad, e.Name.Wrong(fmt.Sprintf("%q has no pin, and this bench has real ones", e.Name.Text), yamlfile.Expected("pin: such as GPIO17")))
		}
	}
	if b.Meter.Kind.Text == "virtual" {
		bad = append(bad, b.Meter.Kind.Wrong("a real bench needs a real meter", yamlfile.Expected("kind: serial, with its port")))
	}
	return bad
}

// checkLines knows the lines, and says what their wiring cannot be.
func (b *BenchFile) checkLines() yamlfile.Mistakes {
	var bad yamlfile.Mistakes
	for _, e := range b.Lines {
		_, wrong := lineOfKey(e.Name)
		bad = append(bad, wrong...)
	}
	bad = append(bad, b.checkWiring()...)
	for _, l := range []signal.Line{signal.Supply, signal.Remote} {
		if b.Lines != nil && !b.LineSet().Has(l) {
			bad = append(bad, b.Lines[0].Name.Wrong(fmt.Sprintf("the line %q is missing: no scenario can do without it", l), yamlfile.Expected(l.String()+":")))
		}
	}
	return bad
}
