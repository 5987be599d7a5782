package scenarios

import (
	"fmt"
	"math"
	"slices"

	"pintle/rig/gate"
	"pintle/rig/thermal"
	"pintle/scenarios/quantity"
	"pintle/scenarios/yamlfile"
)

// A MachineFile is the gate as a machine: from its figures the bench works out how
// long a travel takes, what the motor draws, how far the gate coasts.
type MachineFile struct {
	yamlfile.Where
	Swing    quantity.Measure `key:"swing" choice:"yes" unit:"angle" limit:"0.001 to 36000000" doc:"how far the shaft turns from closed to open, where the gate swings or lifts"`
	Length   quantity.Measure `key:"length" choice:"yes" unit:"length" limit:"0.001 to 1000" doc:"how far the gate goes from closed to open, where it slides"`
	Wheel    quantity.Measure `key:"wheel" unit:"length" limit:"0.0001 to 10" with:"length" need:"length" doc:"radius of the wheel or pinion that moves a sliding gate"`
	Mass     quantity.Measure `key:"mass" unit:"mass" limit:"0.01 to 1000000" with:"length" need:"length" doc:"of a sliding gate"`
	Inertia  quantity.Measure `key:"inertia" unit:"inertia" limit:"0 to 1000000" with:"swing" need:"swing" doc:"of all that swings, about the shaft"`
	Gear     quantity.Measure `key:"gear" unit:"number" limit:"1 to 100000" need:"yes" doc:"turns of the motor for one turn of the shaft or wheel"`
	Pull     []PullFile       `key:"pull" doc:"the torque at the shaft that pulls towards closed, at places on the way; straight lines in between"`
	Friction ShaftFriction    `key:"friction" need:"yes" doc:"of the whole mechanism, at the shaft"`
	Motor    GateMotor        `key:"motor" need:"yes" doc:"the motor, by its data sheet or by measurement"`
	Battery  GateBattery      `key:"battery" need:"yes" doc:"the battery and its wires"`
}

// A PullFile is what pulls at one place: the weight of the boom less its
// counterweight, or a spring.
type PullFile struct {
	At     quantity.Measure `key:"at" need:"yes" unit:"number" limit:"0 to 1" doc:"the place, as a part of the way from closed (0 %) to open (100 %)"`
	Torque quantity.Measure `key:"torque" need:"yes" unit:"torque" limit:"any" doc:"towards closed; negative: towards open"`
}

// A ShaftFriction is what resists.
type ShaftFriction struct {
	Static  quantity.Measure `key:"static" unit:"torque" limit:"0 to 1000000" doc:"the torque below which a gate at rest stays at rest; the sliding one where it is not given"`
	Sliding quantity.Measure `key:"sliding" need:"yes" unit:"torque" limit:"0 to 1000000" doc:"the torque that resists any motion"`
	Viscous quantity.Measure `key:"viscous" unit:"friction" limit:"0 to 1000000" default:"0Nms/rad" doc:"what grows with the speed"`
}

// A GateMotor is a brushed motor.
type GateMotor struct {
	Resistance quantity.Measure `key:"resistance" need:"yes" unit:"resistance" limit:"0.001 to 1000" doc:"of winding, brushes and leads"`
	Inductance quantity.Measure `key:"inductance" need:"yes" unit:"inductance" limit:"0.000001 to 10" doc:"of the winding"`
	Constant   quantity.Measure `key:"constant" need:"yes" unit:"constant" limit:"0.0001 to 100" doc:"voltage over speed, and torque over current"`
	Inertia    quantity.Measure `key:"inertia" need:"yes" unit:"inertia" limit:"0.0000001 to 100" doc:"of the rotor"`
	Viscous    quantity.Measure `key:"viscous" unit:"friction" limit:"0 to 10" default:"0Nms/rad" doc:"drag of the rotor that grows with its speed"`
}

// A GateBattery is a voltage behind resistances.
type GateBattery struct {
	Voltage    quantity.Measure `key:"voltage" need:"yes" unit:"voltage" limit:"1 to 1000" doc:"with nothing drawn, at 25 degC"`
	Resistance quantity.Measure `key:"resistance" need:"yes" unit:"resistance" limit:"0 to 100" doc:"inside the battery, at 25 degC"`
	Cable      quantity.Measure `key:"cable" unit:"resistance" limit:"0 to 100" default:"0ohm" doc:"of the wires, there and back"`
	VoltageBy  quantity.Measure `key:"voltage per degree" unit:"voltage" limit:"any" default:"0V" doc:"how much the voltage rises for each degree above 25 degC; negative: it falls"`
	OhmsBy     quantity.Measure `key:"resistance per degree" unit:"resistance" limit:"any" default:"0ohm" doc:"how much the resistance inside rises for each degree above 25 degC; a lead-acid battery's falls"`
	Warmth     quantity.Measure `key:"temperature" unit:"temperature" limit:"-60 to 90" default:"25degC" doc:"on the day of the trials"`
	Coldest    quantity.Measure `key:"coldest" unit:"temperature" limit:"-60 to 90" default:"-10degC" doc:"that the gate must still work at"`
	Lowest     quantity.Measure `key:"lowest" unit:"number" limit:"0.3 to 1" default:"85 %" doc:"the voltage of a battery that is nearly empty, as a part of the full one's"`
}

// machine makes the model. What a file says of a sliding gate is said of its
// wheel's shaft; the model counts it along the way.
func (m *MachineFile) machine() *gate.Machine {
	travel, inertia, lever := m.Swing.Value*math.Pi/180, m.Inertia.Value, 1.0
	if m.Length.Given() {
		travel, inertia, lever = m.Length.Value, m.Mass.Value, m.Wheel.Value
	}
	out := &gate.Machine{Travel: travel, Radius: m.Wheel.Value, Gear: m.Gear.Value, Inertia: inertia,
		Friction: gate.Friction{Static: max(m.Friction.Static.Value, m.Friction.Sliding.Value) / lever,
			Coulomb: m.Friction.Sliding.Value / lever, Viscous: m.Friction.Viscous.Value / (lever * lever)},
		Motor: gate.Motor{Resistance: m.Motor.Resistance.Value, Inductance: m.Motor.Inductance.Value, Constant: m.Motor.Constant.Value,
			Inertia: m.Motor.Inertia.Value, Viscous: m.Motor.Viscous.Value, PerCelsius: copper},
		Battery: gate.Battery{Volts: m.Battery.Voltage.Value, Ohms: m.Battery.Resistance.Value,
			VoltsPerCelsius: m.Battery.VoltageBy.Value, OhmsPerCelsius: m.Battery.OhmsBy.Value},
		Cable: m.Battery.Cable.Value, Celsius: m.Battery.Warmth.Value}
	for _, p := range m.Pull {
		out.Load = append(out.Load, gate.LoadPoint{Position: p.At.Value, Torque: p.Torque.Value / lever})
	}
	return out
}

// whole says whether every figure that there must be was read. One that was not has
// been complained of already.
func (m *MachineFile) whole() bool {
	for _, p := range m.Pull {
		if !p.At.Read() || !p.Torque.Read() {
			return false
		}
	}
	way := m.Swing.Value > 0 || m.Length.Value > 0 && m.Wheel.Value > 0 && m.Mass.Value > 0
	return way && m.Gear.Value > 0 && m.Battery.Voltage.Value > 0 && m.Motor.Resistance.Value > 0 &&
		m.Motor.Inductance.Value > 0 && m.Motor.Constant.Value > 0 && m.Motor.Inertia.Value > 0
}

// copper is the share by which the resistance of a winding rises per degree
// (IEC 60028: 0.00393 at 20 °C).
const copper = 0.00393

// check says what does not fit together.
func (m *MachineFile) check() yamlfile.Mistakes {
	var bad yamlfile.Mistakes
	for i := 1; i < len(m.Pull); i++ {
		if was, is := m.Pull[i-1].At, m.Pull[i].At; was.Read() && is.Read() && is.Value <= was.Value {
			bad = append(bad, is.Wrong("the places do not follow one another", yamlfile.Expected("more than "+was.Text)))
		}
	}
	if f := m.Friction; f.Static.Read() && f.Sliding.Read() && f.Static.Value < f.Sliding.Value {
		bad = append(bad, f.Static.Wrong("a gate at rest would be held by less than a moving one", yamlfile.Expected("at least sliding, which is "+f.Sliding.Text)))
	}
	return bad
}

// A PartFile is what a part stands of heating current, by two points of its data
// sheet.
type PartFile struct {
	Continuous quantity.Amperage `key:"continuous" need:"yes" limit:"positive" doc:"the current that it stands for ever"`
	Short      quantity.Amperage `key:"short" need:"yes" limit:"positive" doc:"a larger current that it stands for a time, from cold"`
	Stands     quantity.Duration `key:"stands" need:"yes" limit:"positive" doc:"that time"`
	Switching  quantity.Duration `key:"switching" doc:"of a bridge: the time that it needs between one direction and the other"`
}

// ratedParts is the table of parts that a gate file may rate.
var ratedParts = []struct{ name, means string }{
	{"bridge", "the controller's switch of the motor current"},
	{"motor", "the motor's winding"},
}

func partNames() []string {
	var names []string
	for _, p := range ratedParts {
		names = append(names, p.name)
	}
	return names
}

// checkParts knows the parts, and says which ratings cannot be.
func (g *GateFile) checkParts() yamlfile.Mistakes {
	var bad yamlfile.Mistakes
	names := partNames()
	for _, e := range g.Parts {
		if !slices.Contains(names, e.Name.Text) {
			bad = append(bad, e.Name.Wrong(fmt.Sprintf("no part is called %q", yamlfile.Short(e.Name.Text)), yamlfile.DidYouMean(e.Name.Text, names)))
		}
		p := e.Value
		if !p.Short.Read() || !p.Continuous.Read() {
			continue
		}
		if p.Short.Value <= p.Continuous.Value {
			bad = append(bad, p.Short.Wrong("the short rating is no more than the continuous one", yamlfile.Expected("more than "+p.Continuous.Text)))
		} else if _, err := thermal.Fit(p.Continuous.Value, p.Short.Value, p.Stands.Value); err != nil && p.Stands.Read() {
			bad = append(bad, p.Stands.Wrong(err.Error(), ""))
		}
	}
	return bad
}

// Rating gives how a part heats, where the file rates it.
func (g *GateFile) Rating(name string) (thermal.Curve, bool) {
	p, ok := g.Part(name)
	if !ok {
		return thermal.Curve{}, false
	}
	c, err := thermal.Fit(p.Continuous.Value, p.Short.Value, p.Stands.Value)
	return c, err == nil
}

// Part gives what the file says of a part.
func (g *GateFile) Part(name string) (PartFile, bool) {
	for _, e := range g.Parts {
		if e.Name.Text == name {
			return e.Value, true
		}
	}
	return PartFile{}, false
}
