package scenarios

import (
	"fmt"
	"math"

	"pintle/rig/gate"
	"pintle/rig/signal"
	"pintle/scenarios/quantity"
	"pintle/scenarios/yamlfile"
)

// A GateFile is gate.yaml: the mechanism that the controller will move.
type GateFile struct {
	Title        yamlfile.Text            `key:"title" need:"yes" doc:"what the gate is"`
	Opening      TravelFile               `key:"opening" need:"yes" unless:"machine" apart:"machine" doc:"how it moves from the closed stop to the open one, by measurement"`
	Closing      TravelFile               `key:"closing" need:"yes" unless:"machine" apart:"machine" doc:"how it moves from the open stop to the closed one, by measurement"`
	StallCurrent quantity.Amperage        `key:"stall current" need:"yes" unless:"machine" apart:"machine" limit:"positive" doc:"what the motor draws when it is held fast, by measurement"`
	Machine      *MachineFile             `key:"machine" doc:"the gate as a machine, in place of opening, closing and stall current, which are worked out of it"`
	ClosedStop   StopFile                 `key:"closed stop" doc:"what the gate does when it runs onto the closed stop"`
	OpenStop     StopFile                 `key:"open stop" doc:"what the gate does when it runs onto the open stop"`
	Parts        yamlfile.Map[PartFile]   `key:"parts" names:"part" doc:"what the controller's bridge and the motor stand of heating current"`
	Duty         quantity.Measure         `key:"duty" unit:"number" limit:"0.001 to 1" doc:"the part of the time that the motor runs for in the busiest hour, all of it where this is not given; for working claims out"`
	BeamDelay    quantity.Duration        `key:"beam delay" limit:"positive" doc:"from the photo-beam's interruption until its output shows it; for working claims out"`
	Varies       VariesFile               `key:"varies" doc:"what nature changes from trial to trial; the first trial of each scenario is as the files say"`
	Sensors      yamlfile.Map[SensorFile] `key:"sensors" need:"yes" names:"sensor" doc:"the limits and Hall switches: the name of a line, and where on the way it makes"`

	Spec gate.Spec
}

// A VariesFile is how far from the ordinary day trials go.
type VariesFile struct {
	Battery quantity.Measure `key:"battery" unit:"number" limit:"0 to 0.5" default:"0 %" doc:"its voltage may be lower by this part"`
	Load    quantity.Measure `key:"load" unit:"number" limit:"0 to 1" default:"0 %" doc:"the gate may go heavier by this part"`
	Cold    quantity.Measure `key:"colder" unit:"temperature" limit:"0 to 100" default:"0degC" doc:"it may be colder by so many degrees; of a gate that is given as a machine"`
}

// A TravelFile is how the gate moves in one direction.
type TravelFile struct {
	Time    quantity.Duration `key:"time" need:"yes" limit:"positive" doc:"from stop to stop, from the motor's start"`
	Slowest quantity.Duration `key:"slowest" doc:"the same on the worst honest day, cold and on a battery that is nearly empty; for working claims out"`
	RunUp   quantity.Duration `key:"run up" default:"300ms" doc:"from standstill to full speed"`
	Coast   quantity.Duration `key:"coast" default:"100ms" doc:"from full speed to standstill, once the motor stops"`
	Current quantity.Amperage `key:"current" need:"yes" limit:"positive" doc:"what the motor draws at full speed"`
}

// A StopFile is one end of the travel.
type StopFile struct {
	Rebound quantity.Measure `key:"rebound" unit:"number" limit:"0 to 0.95" default:"0" doc:"speed after meeting the stop over speed before it"`
	Return  quantity.Measure `key:"return" unit:"number" limit:"0.001 to 1000" default:"1" doc:"acceleration back to the stop, in travels per second squared"`
}

// A SensorFile is a sensor: over which stretch of the way it makes, or which
// magnets pass it.
type SensorFile struct {
	yamlfile.Where
	Kind       yamlfile.Text     `key:"kind" names:"sensor kind" default:"lever"`
	From       quantity.Measure  `key:"from" need:"yes" unless:"wheel" apart:"wheel" unit:"number" limit:"0 to 1" doc:"where it makes, as a part of the way from closed (0 %) to open (100 %)"`
	To         quantity.Measure  `key:"to" need:"yes" unless:"wheel" apart:"wheel" unit:"number" limit:"0 to 1" doc:"where it breaks again, as a part of the way"`
	Hysteresis quantity.Measure  `key:"hysteresis" apart:"wheel" unit:"number" limit:"0 to 0.5" default:"0" doc:"how much further back the gate must go before it breaks, as a part of the way"`
	Wheel      *WheelFile        `key:"wheel" doc:"the wheel whose magnets pass it, in place of from, to and hysteresis"`
	Bounce     quantity.Duration `key:"bounce" limit:"0 to 1" doc:"the longest burst with which the contact makes or breaks; 6200us where it is not given, the most of an ordinary switch; a hall switch has none"`
	Delay      quantity.Duration `key:"delay" limit:"0 to 1" doc:"from the gate's coming to a place until the line shows it; 400ns of a hall switch where it is not given"`
}

// A WheelFile is a wheel that carries magnets past a sensor.
type WheelFile struct {
	Radius  quantity.Measure   `key:"radius" need:"yes" unit:"length" limit:"0.0001 to 10" doc:"of the magnets' path"`
	Turns   quantity.Measure   `key:"turns" need:"yes" unit:"number" limit:"0.0001 to 10000" doc:"that the wheel makes from closed to open"`
	Arc     quantity.Measure   `key:"arc" need:"yes" unit:"length" limit:"0.0001 to 10" doc:"the stretch of the path over which a magnet holds the sensor; the magnet's width where that is not known"`
	Release quantity.Measure   `key:"release" unit:"angle" limit:"0 to 90" default:"0deg" doc:"how much further a magnet must go, on either side, before the sensor lets go"`
	Magnets []quantity.Measure `key:"magnets" need:"yes" unit:"angle" limit:"any" doc:"of each magnet the angle by which the wheel has turned from closed when it faces the sensor"`
}

// build makes the gate's specification, and says what does not fit together.
func (g *GateFile) build() yamlfile.Mistakes {
	g.Spec = gate.Spec{Title: g.Title.Text, Closed: g.ClosedStop.spec(), Open: g.OpenStop.spec()}
	bad := g.motion()
	bad = append(bad, g.checkParts()...)
	for _, e := range g.Sensors {
		l, wrong := lineOfKey(e.Name)
		bad = append(bad, wrong...)
		if wrong == nil && !isSensor(l) {
			bad = append(bad, e.Name.Wrong(fmt.Sprintf("the gate cannot move the line %q", l), yamlfile.Expected(yamlfile.OneOf(sensorNames()))))
		}
		sensors, wrong := e.Value.sensors(l)
		bad = append(bad, wrong...)
		g.Spec.Sensors = append(g.Spec.Sensors, sensors...)
	}
	return bad
}

// motion takes over how the gate moves: by measurement, or as a machine.
func (g *GateFile) motion() yamlfile.Mistakes {
	var bad yamlfile.Mistakes
	if g.Machine != nil {
		if bad = g.Machine.check(); bad != nil || !g.Machine.whole() {
			return bad
		}
		if err := g.Spec.Fit(g.Machine.machine()); err != nil {
			return yamlfile.Mistakes{g.Machine.Wrong(err.Error(), yamlfile.Expected("a machine that opens and closes the gate"))}
		}
		return nil
	}
	bad = append(g.Opening.check(g.StallCurrent), g.Closing.check(g.StallCurrent)...)
	g.Spec.Opening, g.Spec.OpeningCurrent = g.Opening.spec(), g.Opening.Current.Value
	g.Spec.Closing, g.Spec.ClosingCurrent = g.Closing.spec(), g.Closing.Current.Value
	g.Spec.StallCurrent = g.StallCurrent.Value
	return bad
}

func (t TravelFile) spec() gate.Travel {
	return gate.Travel{Time: t.Time.Value, RunUp: t.RunUp.Value, Coast: t.Coast.Value}
}

func (s StopFile) spec() gate.Stop {
	return gate.Stop{Restitution: s.Rebound.Value, Return: s.Return.Value}
}

func (t TravelFile) check(stall quantity.Amperage) yamlfile.Mistakes {
	var bad yamlfile.Mistakes
	if t.Slowest.Read() && t.Slowest.Value < t.Time.Value {
		bad = append(bad, t.Slowest.Wrong("the slowest travel is quicker than the usual one", yamlfile.Expected("at least "+t.Time.Text)))
	}
	if t.Time.Value > 0 && !t.RunUp.Given() && t.RunUp.Value >= t.Time.Value {
		bad = append(bad, t.Time.Wrong("the run up takes the whole travel: it is "+t.RunUp.Value.String()+" where the file does not say", yamlfile.Expected("a shorter run up, or a longer time")))
	}
	if t.Time.Value > 0 && t.RunUp.Read() && t.RunUp.Value >= t.Time.Value {
		bad = append(bad, t.RunUp.Wrong("the run up takes the whole travel", yamlfile.Expected("less than the travel's time of "+t.Time.Text)))
	}
	if t.Time.Value > 0 && t.Coast.Read() && t.Coast.Value >= t.Time.Value {
		bad = append(bad, t.Coast.Wrong("the coast takes the whole travel", yamlfile.Expected("less than the travel's time of "+t.Time.Text)))
	}
	if t.Current.Read() && stall.Read() && t.Current.Value >= stall.Value {
		bad = append(bad, t.Current.Wrong("the running current is no less than the stall current of "+stall.Text, yamlfile.Expected("less than "+stall.Text)))
	}
	return bad
}

// isSensor says whether a line is moved by the gate itself.
func isSensor(l signal.Line) bool { return gate.SensorLines.Has(l) }

func sensorNames() []string {
	var names []string
	for _, info := range signal.Lines {
		if isSensor(info.Line) {
			names = append(names, info.Name)
		}
	}
	return names
}

// sensors gives the stretches over which the sensor makes its line.
func (f *SensorFile) sensors(l signal.Line) ([]gate.Sensor, yamlfile.Mistakes) {
	var bad yamlfile.Mistakes
	kind, _ := gate.KindNamed(f.Kind.Text)
	s := gate.Sensor{Line: l, Kind: kind, From: f.From.Value, To: f.To.Value, Hysteresis: f.Hysteresis.Value,
		Bounce: f.Bounce.Value, Delay: f.Delay.Value}
	f.asMost(&s)
	if f.Bounce.Value > 0 && !kind.Info().Bounces {
		bad = append(bad, f.Bounce.Wrong(fmt.Sprintf("a %s switch does not bounce", kind), yamlfile.Expected("no bounce, or another kind")))
	}
	if f.Wheel != nil && !f.Wheel.whole() {
		return nil, bad
	}
	if f.Wheel != nil {
		windows, err := gate.HallWindows(f.Wheel.Model())
		switch {
		case err != nil:
			return nil, append(bad, f.Wheel.Arc.Wrong(err.Error(), ""))
		case len(windows) == 0:
			return nil, append(bad, f.Wheel.Turns.Wrong(fmt.Sprintf("no magnet comes to %q on the whole way", l), yamlfile.Expected("a magnet within the angle that the wheel turns")))
		}
		return s.Over(windows...), bad
	}
	if f.To.Read() && f.From.Read() && s.From >= s.To {
		bad = append(bad, f.To.Wrong(fmt.Sprintf("%q breaks at %s, not after it makes at %s", l, f.To.Text, f.From.Text), yamlfile.Expected("from below to")))
	}
	return []gate.Sensor{s}, bad
}

// asMost gives a sensor what most of its kind have, where the file does not say.
func (f *SensorFile) asMost(s *gate.Sensor) {
	if !f.Bounce.Given() {
		s.Bounce = s.Kind.Info().MostBounce
	}
	if !f.Delay.Given() {
		s.Delay = s.Kind.Info().Delay
	}
}

// whole says whether every figure that there must be was read. One that was not has
// been complained of already.
func (w *WheelFile) whole() bool {
	return w.Radius.Value > 0 && w.Turns.Value > 0 && w.Arc.Value > 0 && len(w.Magnets) > 0
}

// Model is the wheel in SI units.
func (w *WheelFile) Model() gate.Wheel {
	const radian = math.Pi / 180 // of a degree
	out := gate.Wheel{Radius: w.Radius.Value, Turns: w.Turns.Value, Arc: w.Arc.Value, Release: w.Release.Value * radian}
	for _, m := range w.Magnets {
		out.Magnets = append(out.Magnets, m.Value*radian)
	}
	return out
}

// senses says whether the gate has a sensor on the line.
func (g *GateFile) senses(l signal.Line) bool {
	for _, s := range g.Spec.Sensors {
		if s.Line == l {
			return true
		}
	}
	return false
}
